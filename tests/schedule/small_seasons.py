"""A kitchen with one of everything, for tests that reckon by hand."""

from __future__ import annotations

import datetime as dt
from typing import Any

from harvestplan.inputs.season import Season

ZONE = "America/Denver"
FIRST = dt.date(2027, 7, 5)
"""A Monday, on which the season begins."""
NO_TOIL = {f"{toil}_is_worth": "0 portions" for toil in ("evening", "visit", "food", "late_hour")}
"""A household that would put by one portion at any price."""


def kitchen_season(
    wants: list[dict[str, Any]] | None = None,
    end: dt.date = FIRST + dt.timedelta(days=60),
    ice: str | None = None,
    **freezer: str,
) -> Season:
    """A pot, a bath, an oven, a sealing machine, one size of pouch and a chest of 100 L."""
    tables: dict[str, Any] = {
        "household": {"name": "tiny", "timezone": ZONE},
        "season": {"start": FIRST, "end": end} | NO_TOIL,
        "pot": [{"name": "pot", "volume": "8 qt", "power": "2.5 kW"}],
        "bath": [{"name": "sink", "volume": "5 gal"}],
        "oven": [{"name": "oven", "trays": 2, "tray_load": "2 kg"}],
        "sealer": {"kind": "chamber", "bar": "12 in"},
        "pouch": [{"name": "quart", "width": "8 in", "length": "12 in", "film": "3 mil"}],
        "freezer": [{"name": "chest", "volume": "100 L", "freezing_per_day": "50 kg"} | freezer],
        "want": wants or [],
        "cold": {"ice": ice} if ice else {},
    }
    return Season.model_validate(tables)
