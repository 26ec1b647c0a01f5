"""The household's page in the browser, over the same functions as the commands."""
