"""The calendar files in a folder, for a web host or a sync."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from harvestplan.disk import write_atomic
from harvestplan.outputs.calendar.kinds import KINDS, SHOPPING_KIND, USUAL_KINDS
from harvestplan.outputs.calendar.standing import need
from harvestplan.plan.file_names import SESSIONS, TASKS


def write_folder(out: Path, folder: Path, holds: Sequence[str] = ()) -> list[Path]:
    """Copy the calendar files of `out`, of these kinds or the usual ones, into `folder`, made if
    missing; the shopping list's to-dos go with it. Raises FilesNeedMending without a plan."""
    need(out / SESSIONS)
    folder.mkdir(parents=True, exist_ok=True)
    asked = holds or USUAL_KINDS
    names = [KINDS[name].file for name in asked]
    names += [TASKS] if SHOPPING_KIND.name in asked else []
    written = []
    for name in names:
        if (out / name).is_file():
            write_atomic(folder / name, (out / name).read_bytes())
            written.append(folder / name)
    return written
