"""One session laid out to the minute."""
