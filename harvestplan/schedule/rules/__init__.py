"""Each rule of the season, stated once as named rows."""
