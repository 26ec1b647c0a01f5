"""The plan for calendar programs, and on calendar servers."""
