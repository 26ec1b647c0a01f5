"""Whether what is to be written down can hardly be: food picked days after it was sown.

Read from the files without the figures that are not needed, as the names are.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from harvestplan.errors import HarvestPlanError
from harvestplan.inputs.ids import fold, planting_ids
from harvestplan.inputs.quantities import QuantityError, read_quantity
from harvestplan.inputs.toml_file import read_toml
from harvestplan.records.events import Emerged, Event, Flowering, Picked
from harvestplan.records.names import crop_files, names_in, season_tables
from harvestplan.words import day, plural

SHARE = {Picked: 0.5, Flowering: 0.2, Emerged: 0.0}
"""The share of the quickest crop's days to maturity before which a thing can hardly be (own
judgement, wide: an entry is only asked about)."""


def too_early(folder: Path, event: Event) -> str | None:
    """Why the event can hardly be of this day, as a sentence; None where it may be, or where
    nothing is known of it."""
    if not isinstance(event, (Picked, Flowering, Emerged)):
        return None
    begun = [date for date in _begun(folder, event) if date is not None]
    if not begun:
        return None
    first = min(begun)
    after = (event.date - first).days
    if after < 0:
        return f"{event.crop} was begun on {day(first, year=True)}, after that day."
    quickest = _days_to_maturity(folder, event.crop)
    if quickest is None or after >= SHARE[type(event)] * quickest:
        return None
    return (
        f"That is {plural(after, 'day')} after {event.crop} was begun on {day(first)}; "
        f"even quick kinds are picked after some {quickest:.0f} days."
    )


def _begun(folder: Path, event: Picked | Flowering | Emerged) -> Iterator[dt.date | None]:
    """When the plantings meant were sown or set out."""
    names = names_in(folder)
    tables = [table for name, table in season_tables(folder) if name == "planting"]
    crops = [names.crops.get(fold(str(t.get("crop"))), str(t.get("crop"))) for t in tables]
    own = [str(t["id"]) if t.get("id") else None for t in tables]
    ids = planting_ids(list(zip(crops, own, strict=True)))
    for table, crop, planting in zip(tables, crops, ids, strict=True):
        if crop == event.crop and event.planting in (None, planting):
            begun = table.get("sown") or table.get("set_out")
            yield begun if isinstance(begun, dt.date) else None


def _days_to_maturity(folder: Path, crop: str) -> float | None:
    """The fewest that the crop's file has; the household's own file counts first."""
    for path in reversed(list(crop_files(folder))):
        try:
            if f'name = "{crop}"' not in path.read_text(encoding="utf-8-sig"):
                continue
            data = read_toml(path, path.name).data
        except (OSError, UnicodeError, HarvestPlanError):
            continue
        growth = data.get("growth")
        figure: Any = growth.get("days_to_maturity") if isinstance(growth, dict) else None
        if data.get("name") != crop or not isinstance(figure, dict):
            continue
        try:
            days = figure.get("low") or figure.get("value")
            return read_quantity(days, "time", "US").value / 86400
        except QuantityError:
            return None
    return None
