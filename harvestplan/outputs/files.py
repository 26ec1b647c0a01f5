"""Names of what stands in the out folder."""

from __future__ import annotations

PLAN, SESSIONS, TASKS = "plan.json", "sessions.ics", "tasks.ics"
SHOPPING_CSV, SHOPPING_MD, RUNSHEETS = "shopping.csv", "shopping.md", "runsheets"
BOOK, LABELS = "book.html", "labels"
SEASON_ID, LEDGER = "season-id.json", "published.json"
