"""Turn a plan into files: calendar, shopping list, run sheets, summary, JSON."""
