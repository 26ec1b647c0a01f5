"""What is printed or opened in a browser: the book, run sheets, labels."""
