"""Names of what stands in the out folder, and what its own folders must be."""

from __future__ import annotations

from pathlib import Path

from harvestplan.errors import FilesNeedMending, Flaw

PLAN = "plan.json"
SESSIONS, GARDEN, TO_BUY, TASKS = "sessions.ics", "garden.ics", "shopping.ics", "tasks.ics"
SHOPPING_CSV, SHOPPING_MD, RUNSHEETS = "shopping.csv", "shopping.md", "runsheets"
BOOK, LABELS = "book.html", "labels"
WORTH, LEDGER, SEASON_ID = "worth.json", "published.json", "season-id.json"


def must_be_folder(folder: Path) -> None:
    """Raises FilesNeedMending where `folder`, which need not be there yet, is a file or a link."""
    if folder.is_symlink():
        message = "it is a link, and what is written there would land elsewhere."
    elif folder.exists() and not folder.is_dir():
        message = "it is a file where a folder is needed."
    else:
        return
    raise FilesNeedMending(
        [Flaw(str(folder), None, "", message=message, hint="Move it away and plan again.")]
    )
