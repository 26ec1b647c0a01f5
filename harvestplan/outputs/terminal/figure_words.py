"""Figures of the crop library in words: each by the kind of quantity its field holds."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import get_args

from pydantic import BaseModel

from harvestplan.forecast.thermal import show_degree_days
from harvestplan.inputs import quantity_types as kinds
from harvestplan.inputs.measured_text import MeasuredText, in_measures
from harvestplan.inputs.quantities import Kind, show
from harvestplan.inputs.raw_food import LostADay
from harvestplan.inputs.season import Measures

Shower = Callable[..., str]
"""Takes a value and `measures`."""

CUP, POUND, KILOGRAM, GALLON = 236.5882365, 453.59237, 1000.0, 3785.411784
"""mL, g, g, mL."""

SHARES = ("water_share", "leaves")
"""Fields that hold a share of a mass."""


def shower(owner: type[BaseModel], field: str) -> Shower:
    """How a value of this field is written in a household's measures."""
    if field in SHARES:
        return _percent
    if field == "keeps":
        return _months
    if field == "weekly":
        return _weekly
    if field == "thermal_time":
        return show_degree_days
    annotation = owner.model_fields[field].annotation
    for figure in (annotation, *get_args(annotation)):
        metadata = getattr(figure, "__pydantic_generic_metadata__", {"args": ()})
        for inner in metadata["args"]:
            for kind, write in _BY_KIND:
                if inner == kind:
                    return write
    return _plain


def _quantity(kind: Kind, value: float, measures: Measures) -> str:
    text = show(value, kind, measures)
    return text.replace(" ", " °") if kind == "temperature" else text


def span(value: str, low: str, high: str) -> str:
    """A range in words, the unit said once where all three share it: "35 to 140"."""
    units = {text.partition(" ")[2] for text in (value, low, high)}
    if len(units) == 1 and "," not in value:
        return f"{low.partition(' ')[0]} to {high.partition(' ')[0]}"
    return f"{low} to {high}"


def _months(value: float, measures: Measures) -> str:
    days = value / 86400
    return f"{days / 30.44:.2g} months" if days >= 58 else show(value, "time", measures)


def _density(value: float, measures: Measures) -> str:
    if measures == "US":
        return f"{value * CUP / POUND * 16:.3g} oz to the cup"
    return f"{value:.3g} kg to the litre"


def _per_length(value: float, measures: Measures) -> str:
    if measures == "metric":
        return f"{show(value, 'mass', measures)} per m of row"
    return f"{show(value * 30.48, 'mass', measures)} per 100 ft of row"


def _per_area(value: float, measures: Measures) -> str:
    if measures == "metric":
        return f"{show(value, 'mass', measures)} per m2"
    return f"{show(value * 0.09290304, 'mass', measures)} per sq ft"


def _water_per_mass(value: float, measures: Measures) -> str:
    if measures == "US":
        return f"{value * POUND / GALLON:.3g} gal of water per lb"
    return f"{value:.3g} L of water per kg"


def _time_per_mass(value: float, measures: Measures) -> str:
    unit, mass = ("kg", KILOGRAM) if measures == "metric" else ("lb", POUND)
    minutes = float(f"{value * mass / 60:.2g}")
    return f"{minutes:g} min per {unit}"


TEASPOON, TABLESPOON = CUP / 48, CUP / 16


def _added(value: kinds.Rate, measures: Measures) -> str:
    """Like "4 tsp per gal of its water", "300 g per kg"."""
    metric = measures == "metric"
    below = {"mass": (POUND, "lb"), "volume": (GALLON, "gal of its water")}
    if metric:
        below = {"mass": (KILOGRAM, "kg"), "volume": (KILOGRAM, "L of its water")}
    size, per = below[value.per]
    amount = value.value * size
    if value.of == "mass" or metric:
        return f"{show(amount, value.of, measures)} per {per}"
    if amount >= CUP / 4:
        return f"{amount / CUP:.2g} cup per {per}"
    spoon, unit = (TABLESPOON, "tbsp") if amount >= 2 * TABLESPOON else (TEASPOON, "tsp")
    return f"{amount / spoon:.2g} {unit} per {per}"


def _percent(value: float, measures: Measures) -> str:
    return f"{100 * value:.3g}%"


def _percent_a_day(value: float, measures: Measures) -> str:
    return f"{100 * value:.2g}% a day"


def _weekly(value: tuple[float, ...], measures: Measures) -> str:
    return ", ".join(f"{100 * share:.2g}%" for share in value)


def _plain(value: object, measures: Measures) -> str:
    return f"{value:.3g}" if isinstance(value, float) else str(value)


_BY_KIND: tuple[tuple[object, Shower], ...] = (
    (kinds.Mass, partial(_quantity, "mass")),
    (kinds.Volume, partial(_quantity, "volume")),
    (kinds.Length, partial(_quantity, "length")),
    (kinds.Area, partial(_quantity, "area")),
    (kinds.Duration, partial(_quantity, "time")),
    (kinds.Power, partial(_quantity, "power")),
    (kinds.Temperature, partial(_quantity, "temperature")),
    (kinds.Density, _density),
    (kinds.MassPerLength, _per_length),
    (kinds.MassPerArea, _per_area),
    (kinds.VolumePerMass, _water_per_mass),
    (kinds.TimePerMass, _time_per_mass),
    (kinds.AmountRate, _added),
    (LostADay, _percent_a_day),
    (MeasuredText, in_measures),
)
