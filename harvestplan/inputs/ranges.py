"""What a household's figures may be: a slip of unit or digit shows as a value out of range.

The limits are wide: the smallest and largest of anything found in a home, from memory.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from harvestplan.inputs.quantities import Kind, Quantity, show
from harvestplan.inputs.season import (
    Calendars,
    Fresh,
    Home,
    Planting,
    Purchase,
    SeasonSpan,
    Stored,
    Want,
)
from harvestplan.inputs.season_kitchen import (
    Bath,
    Cold,
    Dryer,
    Freezer,
    Oven,
    Pot,
    Pouch,
    Sealer,
    SeasonTable,
    Stove,
)
from harvestplan.plan.spans import far_off

HOUR, DAY = 3600.0, 86400.0

# model: key, kind, lowest, highest in the program's units (g, mL, m, m², s, W)
_RANGES: dict[type[SeasonTable], tuple[tuple[str, Kind, float, float], ...]] = {
    Home: (("altitude", "length", 0, 5000),),
    SeasonSpan: (("smallest_batch", "mass", 10, 100_000),),
    Pot: (("volume", "volume", 500, 200_000), ("power", "power", 200, 50_000),
          ("batch", "mass", 10, 100_000), ("basket", "area", 0.005, 1)),
    Stove: (("power", "power", 200, 100_000),),
    Bath: (("volume", "volume", 500, 1_000_000),),
    Oven: (("tray_load", "mass", 10, 50_000),),
    Dryer: (("tray_area", "area", 0.005, 10),),
    Sealer: (("bar", "length", 0.05, 2), ("handling", "time", 0, 600),
             ("service_after", "time", 60, 100_000 * HOUR), ("chamber", "length", 0.03, 3)),
    Pouch: (("width", "length", 0.03, 1.5), ("length", "length", 0.03, 3),
            ("film", "length", 15e-6, 1e-3), ("volume", "volume", 30, 20_000),
            ("height", "length", 0.02, 0.6)),
    Freezer: (("volume", "volume", 2_000, 10_000_000), ("tray_area", "area", 0.005, 20),
              ("freezing_per_day", "mass", 10, 1_000_000)),
    Cold: (("fridge", "volume", 500, 10_000_000),),
    Planting: (("row", "length", 0.05, 10_000), ("area", "area", 0.005, 1_000_000),
               ("yield", "mass", 1, 100_000_000)),
    Purchase: (("keeps", "time", HOUR, 1500 * DAY), ("amount", "mass", 1, 10_000_000)),
    Want: (("portion", "mass", 1, 50_000),),
    Fresh: (("per_week", "mass", 0, 1_000_000),),
    Stored: (("portion", "mass", 1, 50_000),),
    Calendars: (("travel", "time", 0, 12 * HOUR),),
}  # fmt: skip


def check_ranges(entry: SeasonTable, measures: str) -> Iterator[tuple[str, str, str]]:
    """Yield key, sentence and hint for each figure of `entry` that is out of range."""
    yield from _odd_times(entry)
    for key, kind, low, high in _RANGES.get(type(entry), ()):
        name = "yield_" if key == "yield" else key
        if name not in entry.model_fields_set:
            continue  # what nobody wrote is no slip
        value = getattr(entry, name)
        if isinstance(value, Quantity):
            kind, value = value.kind, value.value  # the same limits in g and in mL
        for each in value if isinstance(value, tuple) else (value,):
            if each is None or low <= each <= high:
                continue
            hint = f"Allowed: {show(low, kind, measures)} to {show(high, kind, measures)}."
            yield key, f'"{key}": {show(each, kind, measures)} is out of range.', hint


def _odd_times(entry: SeasonTable) -> Iterator[tuple[str, str, str]]:
    """Dates of years that nobody means, and times of day with parts of a second."""
    for key in entry.model_fields_set:
        value = getattr(entry, key)
        if isinstance(value, dt.date) and (why := far_off(value)):
            yield key, f"{why}.", "Look at the year."
        elif isinstance(value, dt.time) and value.microsecond:
            yield key, f'"{key}": clocks show whole seconds.', f"Write {value:%H:%M}."
