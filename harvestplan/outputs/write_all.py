"""The out folder, rebuilt whole."""

from __future__ import annotations

import contextlib
import re
import shutil
import tempfile
import time
from collections.abc import Iterable, Mapping
from pathlib import Path
from types import MappingProxyType

from harvestplan import so_far
from harvestplan.disk import put, sync_folder, write_draft
from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.foresight.worth_file import read_worth
from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.outputs.calendar.calendar_files import calendar_files
from harvestplan.outputs.calendar.record import read_record
from harvestplan.outputs.paper.book import book_bytes
from harvestplan.outputs.paper.label_grids import usual_grid
from harvestplan.outputs.paper.labels import (
    bags_text,
    by_session,
    labels_html,
    make_labels,
    tally_html,
)
from harvestplan.outputs.paper.runsheet import runsheet_text
from harvestplan.outputs.paper.runsheet_html import runsheet_html
from harvestplan.outputs.paper.shopping_list import shopping_csv, shopping_md
from harvestplan.outputs.session_names import sheet_names
from harvestplan.plan.file import plan_bytes
from harvestplan.plan.file_names import (
    BOOK,
    GARDEN,
    LABELS,
    LEDGER,
    PLAN,
    RUNSHEETS,
    SEASON_ID,
    SESSIONS,
    SHOPPING_CSV,
    SHOPPING_MD,
    TASKS,
    TO_BUY,
    WORTH,
    must_be_folder,
)
from harvestplan.plan.models import Plan
from harvestplan.plan.season_id import SeasonId

MAKING = ".making-"
YOUNG = 60.0
"""Seconds after which a half-written file is nobody's any more: writing one takes far less."""
_MAKING = re.compile(rf"{re.escape(MAKING)}[a-z0-9_]{{8}}")
_ALONE = "|".join(map(re.escape, (BOOK, PLAN, WORTH, LEDGER, SEASON_ID)))
"""What is written into `out` by itself, beside a plan."""
_TORN = re.compile(rf"\.(?:{_ALONE})\.[a-z0-9_]{{8}}\.tmp")
_SHEET = re.compile(r"\d{4}-\d\d-\d\d(-\d+)?\.(txt|html)")


def write_outputs(
    plan: Plan,
    season: Season,
    library: Library,
    *,
    out: Path,
    besides: Mapping[str, bytes] = MappingProxyType({}),
    own: SeasonId | None = None,
    draft: bool = False,
) -> list[Path]:
    """Write everything into `out`, made if missing, and return the paths written.

    `besides` holds further files by name, `own` is the season's id. Of a `draft`, soon to be
    bettered, no calendar is written: nothing in it is promised. All is made first in a folder
    inside `out` and then moved file by file, plan.json last, once every place was tried: a failure
    leaves the old files, or puts them back, and what a killed command left half made the next one
    clears away. Run sheets and labels of sessions that are gone are removed; nothing else in `out`
    is touched, and nothing outside it. Raises FilesNeedMending where `out` or a folder of its own
    is a link, not a folder or not to be written, or a file's place is taken by a folder; OSError
    where the disk refuses.
    """
    folders = (RUNSHEETS, LABELS)
    for folder in (out, *(out / name for name in folders)):
        must_be_folder(folder)
    contents = {**besides, **output_bytes(plan, season, library, out=out, own=own, draft=draft)}
    for name in folders:
        (out / name).mkdir(parents=True, exist_ok=True)
    _try_places(out, contents)
    _sweep(out)
    making = Path(tempfile.mkdtemp(prefix=MAKING, dir=out))
    try:
        for name in folders:
            (making / name).mkdir()
        for name, data in contents.items():
            write_draft(making / name, data)
        _bring(making, out, contents)
    finally:
        shutil.rmtree(making)
    so_far.note_folder(out.absolute())
    for name in folders:
        _drop_old_sheets(out / name, contents)
    return [out / name for name in contents]


def _bring(making: Path, out: Path, names: Iterable[str]) -> None:
    """Bring the files made to their places; where one cannot be, those before it are put back."""
    kept = making / "kept"
    brought: list[str] = []
    for inner in ("", RUNSHEETS, LABELS):
        (kept / inner).mkdir()
    try:
        for name in names:
            brought.append(name)
            if (out / name).exists():
                _second_name(out / name, kept / name)
            put(making / name, out / name)
    except BaseException:
        for name in brought:
            if (kept / name).exists():
                (kept / name).replace(out / name)
            elif not (making / name).exists():
                (out / name).unlink(missing_ok=True)
        so_far.forget_files(out.absolute())
        raise
    for folder in (out / RUNSHEETS, out / LABELS, out):
        sync_folder(folder)


def _second_name(path: Path, other: Path) -> None:
    """Let a file be known under another name too; a copy where the disk knows no second names."""
    try:
        other.hardlink_to(path)
    except (OSError, NotImplementedError):
        shutil.copy2(path, other)


def output_bytes(
    plan: Plan,
    season: Season,
    library: Library,
    *,
    out: Path,
    own: SeasonId | None = None,
    draft: bool = False,
) -> dict[str, bytes]:
    """Every file by its name under `out`; the calendars there are read for their memory, and of a
    `draft` none are made."""
    worths, seed = read_worth(plan, out), own.seed if own else None
    contents = {SEASON_ID: own.file_bytes()} if own else {}
    if not draft:
        contents |= calendar_files(
            plan,
            season,
            library,
            previous=_previous(out, (SESSIONS, GARDEN, TO_BUY, TASKS)),
            worths=worths,
            seed=seed,
            ticked=read_record(out).ticked,
        )
    contents |= {
        # With a byte order mark, spreadsheets read the table as UTF-8.
        SHOPPING_CSV: shopping_csv(plan).encode("utf-8-sig", "replace"),
        SHOPPING_MD: shopping_md(plan, season).encode("utf-8", "replace"),
    }
    for name, session in sheet_names(plan).items():
        text = runsheet_text(session, season, library)
        contents[f"{RUNSHEETS}/{name}"] = text.encode("utf-8", "replace")
        page = name.removesuffix(".txt") + ".html"
        contents[f"{RUNSHEETS}/{page}"] = runsheet_html(session, season, library)
    labels, grid = make_labels(plan, season, library), usual_grid(season.household.measures)
    for sheet, found in by_session(labels).items():
        contents[f"{LABELS}/{sheet}.html"] = labels_html(found, grid)
    return contents | {
        f"{LABELS}/labels.html": labels_html(labels, grid),
        f"{LABELS}/bags.txt": bags_text(labels, season).encode("utf-8", "replace"),
        f"{LABELS}/tally.html": tally_html(labels, plan, season),
        BOOK: book_bytes(plan, season, library, today=plan.as_of, worths=worths),
        PLAN: plan_bytes(plan),
    }


def _drop_old_sheets(folder: Path, contents: Mapping[str, bytes]) -> None:
    for sheet in folder.iterdir():
        stale = _SHEET.fullmatch(sheet.name) and f"{folder.name}/{sheet.name}" not in contents
        if stale and not sheet.is_dir():
            sheet.unlink()


def _previous(out: Path, names: Iterable[str]) -> dict[str, bytes]:
    return {name: (out / name).read_bytes() for name in names if (out / name).is_file()}


def _try_places(out: Path, contents: Mapping[str, bytes]) -> None:
    """Raises FilesNeedMending where a file could not be put, before the first one is."""
    flaws = []
    for folder in dict.fromkeys((out / name).parent for name in contents):
        try:
            tempfile.TemporaryFile(dir=folder).close()
        except PermissionError as error:
            message = f"nothing can be written in it ({error.strerror})."
            hint = "See who may write there, and plan again."
            flaws.append(Flaw(str(folder), None, "", message=message, hint=hint))
    for path in (out / name for name in contents):
        if path.is_dir() and not path.is_symlink():
            message = "it is a folder where a file is needed."
            hint = "Move it away and plan again."
            flaws.append(Flaw(str(path), None, "", message=message, hint=hint))
    if flaws:
        raise FilesNeedMending(flaws)


def _sweep(out: Path) -> None:
    """Removes what a command that was killed while writing left behind, known by its name: where
    `out` is a link, others keep their things beside it."""
    for left in out.glob(f"{MAKING}*"):
        if _MAKING.fullmatch(left.name) and left.is_dir() and not left.is_symlink():
            shutil.rmtree(left)
    for torn in (path for path in out.glob(".*.tmp") if _TORN.fullmatch(path.name)):
        # The book is written beside a plan: a file that it is just writing is gone or young.
        with contextlib.suppress(FileNotFoundError):
            if time.time() - torn.stat().st_mtime > YOUNG:
                torn.unlink()
