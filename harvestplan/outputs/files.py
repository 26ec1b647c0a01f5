"""Writing a file so that it is either the old one or the new one, never half of each."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

PLAN, SESSIONS, TASKS = "plan.json", "sessions.ics", "tasks.ics"
SHOPPING_CSV, SHOPPING_MD, RUNSHEETS = "shopping.csv", "shopping.md", "runsheets"
BOOK, LABELS = "book.html", "labels"
"""Names of what stands in the out folder."""


def write_atomic(path: Path, data: bytes) -> None:
    """Put `data` in `path` by way of a temporary file beside it, synced to disk.

    Raises OSError where the folder is missing or cannot be written; then `path` is as it was.
    """
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".tmp", dir=path.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(_usual_mode())
        temporary.replace(path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    _sync_folder(path.parent)


def _usual_mode() -> int:
    """The mode an ordinary new file gets; temporary files are made private."""
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _sync_folder(folder: Path) -> None:
    # Some systems cannot open or sync a folder; the file itself is safe by then.
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
