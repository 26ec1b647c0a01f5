"""What the figures of a crop file may be: a slip of unit or digit shows as a value out of range.

The limits are wide: the smallest and largest of anything put by in a home, from memory. They hold
for a figure's own value, its low and high end, and what other sources say.
"""

from __future__ import annotations

from collections.abc import Iterator

from harvestplan.inputs.crops import (
    Crop,
    Piece,
    Product,
    Steam,
    Step,
)
from harvestplan.inputs.figures import CropTable, Figure, OtherFigure
from harvestplan.inputs.growing import Growth, Habit, Picking, Yields
from harvestplan.inputs.ingredients import Ingredient, Staple
from harvestplan.inputs.quantity_types import Rate
from harvestplan.inputs.raw_food import Counted, Freshness, Keeping

Place = tuple[str | int, ...]
Range = tuple[float, float, str]
"""Lowest and highest in the program's units (g, mL, m, m², s, °C), and both in words."""

HOUR, DAY = 3600.0, 86400.0
MOST_IN_A_LIST = 100
LONGEST_TEXT = 600
_DENSITY: Range = (0.02, 3, "0.02 to 3 kg/L")
_SHELF_LIFE: Range = (HOUR, 4000 * DAY, "1 h to 4000 days")
_DISTANCE: Range = (0.005, 30, "5 mm to 30 m")
_REST: Range = (600, 400 * DAY, "10 min to 400 days")
_TO_FIRST_PICK: Range = (5 * DAY, 1500 * DAY, "5 to 1500 days")
_WARMTH: Range = (10, 10_000, "10 to 10000")
_PACKED_SHARE = (0.003, 20.0)
"""Mass packed per mass of raw food: spices dry to a tenth, stock is many times its bones."""

_RANGES: dict[type[CropTable], dict[str, Range]] = {
    Crop: {
        "water_share": (0.01, 0.99, "0.01 to 0.99"),
        "raw_density": _DENSITY,
        "least_batch": (10, 20_000, "10 g to 20 kg"),
    },
    Counted: {"weight": (1, 20_000, "1 g to 20 kg")},
    Growth: {
        "raise_days": (DAY, 300 * DAY, "1 to 300 days"),
        "days_to_maturity": _TO_FIRST_PICK,
        "base": (-5, 25, "-5 to 25 C"),
        "upper": (15, 50, "15 to 50 C"),
        "bolts_above": (10, 45, "10 to 45 C"),
        "hot_night": (10, 35, "10 to 35 C"),
        "thermal_time": _WARMTH,
        "days_after_flower": (DAY, 400 * DAY, "1 to 400 days"),
    },
    Habit: {"days_to_maturity": _TO_FIRST_PICK, "thermal_time": _WARMTH},
    Picking: {
        "weekly": (0, 1, "0 to 1"),
        "every": (HOUR, 120 * DAY, "1 h to 120 days"),
        "stands": (HOUR, 400 * DAY, "1 h to 400 days"),
    },
    Yields: {
        "per_row": (1, 200_000, "1 g to 200 kg per m"),
        "per_plant": (0.1, 2_000_000, "0.1 g to 2000 kg"),
        "per_area": (1, 200_000, "1 g to 200 kg per m2"),
        "spacing": _DISTANCE,
        "row_spacing": _DISTANCE,
    },
    Keeping: {"fridge": _SHELF_LIFE, "cellar": _SHELF_LIFE, "room": _SHELF_LIFE},
    Freshness: dict.fromkeys(("standing", "fridge", "cellar", "room"), (0, 1, "0 to 1")),
    Piece: {"size": (2e-4, 0.5, "0.2 mm to 50 cm")},
    Steam: {"time": (5, 6 * HOUR, "5 s to 6 h")},
    Step: {
        "per_kg": (0, 72, "0 to 20 h per kg"),
        "fixed": (0, 7 * DAY, "0 to 7 days"),
        "leaves": (0.01, 4, "0.01 to 4"),
        "time": (1, 30 * DAY, "1 s to 30 days"),
        "water": (0.05, 100, "0.05 to 100 L per kg"),
        "heat_to": (30, 150, "30 to 150 C"),
        "ratio": (0.05, 4, "0.05 to 4"),
        "pause_limit": _REST,
        "pause_least": _REST,
        "tray_load": (50, 100_000, "0.05 to 100 kg per m2"),
    },
    Product: {"density": _DENSITY, "keeps": _SHELF_LIFE},
    Ingredient: {"amount": (1e-6, 10, "a millionth to ten times"), "density": _DENSITY},
    Staple: {"density": _DENSITY},
}  # fmt: skip


def out_of_range(table: CropTable, place: Place = ()) -> Iterator[tuple[Place, str, str]]:
    """Place, sentence and hint for whatever in a table, and in those within it, is too large, too
    small or too long to be meant."""
    if isinstance(table, Product) and not _share(table):
        hint = 'Look at what each step "leaves".'
        yield (*place, "steps"), "Next to nothing, or far too much, is left by the steps.", hint
    for key in type(table).model_fields:
        allowed = _RANGES.get(type(table), {}).get(key)
        yield from _judged(getattr(table, key), (*place, key), allowed)


def _share(product: Product) -> bool:
    low, high = _PACKED_SHARE
    return low <= product.packed_share <= high


def _judged(value: object, place: Place, allowed: Range | None) -> Iterator[tuple[Place, str, str]]:
    key = next(part for part in reversed(place) if isinstance(part, str))
    if isinstance(value, (Figure, OtherFigure)):
        for part in type(value).model_fields:
            yield from _judged(getattr(value, part), (*place, part), allowed)
    elif isinstance(value, CropTable):
        yield from out_of_range(value, place)
    elif isinstance(value, tuple) and len(value) > MOST_IN_A_LIST:
        yield place, f'"{key}" has {len(value)} entries.', f"At most {MOST_IN_A_LIST} are read."
    elif isinstance(value, tuple):
        for number, each in enumerate(value):
            yield from _judged(each, (*place, number), allowed)
    elif isinstance(value, str) and len(value) > LONGEST_TEXT:
        yield place, f'"{key}" is longer than {LONGEST_TEXT} letters.', "Write something shorter."
    elif allowed is not None and isinstance(value, (int, float, Rate)):
        figure = value.value if isinstance(value, Rate) else float(value)
        if not isinstance(value, bool) and not allowed[0] <= figure <= allowed[1]:
            yield place, f'"{_figure_of(place)}" is out of range.', f"Allowed: {allowed[2]}."


def _figure_of(place: Place) -> str:
    """The key of the figure at, or around, a place."""
    inside = set(Figure.model_fields)
    named = (part for part in reversed(place) if isinstance(part, str) and part not in inside)
    return next(named, str(place[-1]))
