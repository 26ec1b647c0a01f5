"""Load a season folder: read, merge, validate and cross-check, with every flaw named at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.checks import Draft, check_draft
from harvestplan.inputs.crops import Library
from harvestplan.inputs.explain import explain
from harvestplan.inputs.ids import planting_ids
from harvestplan.inputs.merge import LISTS, MODELS, SeasonFiles, heading, read_folder
from harvestplan.inputs.season import Planting, Season


@dataclass(frozen=True)
class LoadedSeason:
    """A season that passed every check, and the folder it was read from."""

    season: Season
    folder: Path


Change = Callable[[SeasonFiles, Library], None]
"""Changes the tables as they were written, before anything is judged."""


def load_season(folder: Path, library: Library, change: Change | None = None) -> LoadedSeason:
    """Read the season in `folder` against the crops of `library`.

    Crops and products come back under the library's own names, and every planting has an id.
    Raises FilesNeedMending with all flaws found, in the order of files and lines.
    """
    files = read_folder(folder)
    if change is not None:
        change(files, library)
    draft = Draft(files, library, files.measures)
    for number, (name, content) in enumerate(files.tables):
        _validate(draft, number, name, content=content)
    if not files.torn:
        _require(files)
    check_draft(draft)
    if files.flaws:
        order = dict.fromkeys(files.flaws)
        raise FilesNeedMending(sorted(order, key=lambda flaw: (flaw.file, flaw.line or 0)))
    return LoadedSeason(_assemble(draft), folder)


def _validate(draft: Draft, number: int, name: str, *, content: dict[str, Any]) -> None:
    """Add the table to the draft, or its flaws to the files."""
    model = MODELS[name]
    context = {"measures": draft.measures, "by_hand": draft.library.by_hand}
    try:
        entry = model.model_validate(_as_tuples(content), strict=True, context=context)
    except ValidationError as refused:
        for error in refused.errors(include_url=False):
            if draft.files.torn and (error["type"] == "missing" or not error["loc"]):
                continue
            draft.files.add_flaw(number, error["loc"], *explain(error, model, heading(name)))
    else:
        draft.entries.append((number, entry))


def _as_tuples(value: Any) -> Any:
    """Lists as tuples, which strict models want."""
    if isinstance(value, list):
        return tuple(_as_tuples(item) for item in value)
    if isinstance(value, dict):
        return {key: _as_tuples(item) for key, item in value.items()}
    return value


def _require(files: SeasonFiles) -> None:
    written = {name for name, _ in files.tables}
    examples = {
        "household": 'Add [household] with name = "..." and timezone = "America/New_York".',
        "season": "Add [season] with start = 2027-05-01 and end = 2027-10-31.",
    }
    for name, hint in examples.items():
        if name not in written:
            files.add_flaw(None, (), f"The table [{name}] is missing.", hint=hint)


def _assemble(draft: Draft) -> Season:
    """The season from validated tables, with the library's names and the plantings' ids."""
    tables: dict[str, Any] = {}
    for name, model in MODELS.items():
        entries = [_renamed(entry, draft.library) for _, entry in draft.many(model)]
        if name in LISTS:
            tables[name] = tuple(entries)
        elif entries:
            tables[name] = entries[0]
    tables["planting"] = _with_ids(tables["planting"])
    return Season.model_construct(**tables)


def _renamed(entry: Any, library: Library) -> Any:
    """The entry with its crop or product under the library's own name."""
    changes: dict[str, str] = {}
    for key in ("crop", "item"):
        if (written := getattr(entry, key, None)) and (crop := library.find_crop(written)):
            changes[key] = crop.name
    if written := getattr(entry, "product", None):
        changes["product"] = library.full_name(written)
    return entry.model_copy(update=changes) if changes else entry


def _with_ids(plantings: Iterable[Planting]) -> tuple[Planting, ...]:
    plantings = tuple(plantings)
    ids = planting_ids([(planting.crop, planting.id) for planting in plantings])
    return tuple(p.model_copy(update={"id": i}) for p, i in zip(plantings, ids, strict=True))
