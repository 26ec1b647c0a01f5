"""Amounts as a kitchen measures them: half ounces, quarter pounds, 5 g and 50 g, cups as cups.

The same amount reads the same wherever it stands. The steps are those of a kitchen scale and a
measuring jug (common practice, no source). What is a limit is rounded to the safe side: `at_most`
down, `at_least` and `ice_mass` up.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction
from typing import TYPE_CHECKING

from harvestplan.inputs.quantities import show

if TYPE_CHECKING:
    from harvestplan.inputs.season import Measures

OUNCE, POUND = 28.349523125, 453.59237
Rounded = Callable[[float], float]
"""How a number of steps becomes whole: to the nearest, down or up."""
WHOLE_GRAM = 0.5
"""g by which a plan's whole grams may miss what they stand for: 340 g is 12 oz to the safe side of
a limit as well."""
_IN_PARTS = frozenset({"lb", "oz", "cups", "qt", "pints", "gal", "fl oz", "sq ft", "in"})
"""Units of which people say halves and quarters."""

_Rows = tuple[tuple[float, str, float, float], ...]
# From this value on: the unit written, what it holds, and the step in it. The largest first.
_MASS: dict[Measures, _Rows] = {
    "metric": (
        (99_500, "kg", 1000, 1), (9_950, "kg", 1000, 0.1), (997.5, "kg", 1000, 0.05),
        (20, "g", 1, 5), (0, "g", 1, 1),
    ),
    "US": (
        (99.5 * POUND, "lb", POUND, 1), (24.75 * POUND, "lb", POUND, 0.5),
        (1.97 * POUND, "lb", POUND, 0.25), (15.75 * OUNCE, "oz", OUNCE, 1),
        (1.875 * OUNCE, "oz", OUNCE, 0.5), (0, "oz", OUNCE, 0.25),
    ),
}  # fmt: skip
_MASS["UK"] = _MASS["US"]
_VOLUME: dict[Measures, _Rows] = {
    "metric": (
        (24_500, "L", 1000, 1), (9_950, "L", 1000, 0.5), (987.5, "L", 1000, 0.1),
        (97.5, "mL", 1, 25), (0, "mL", 1, 5),
    ),
    "US": (
        (22_000, "cu ft", 28316.846592, 0.1), (9_300, "qt", 946.352946, 0.5),
        (946, "qt", 946.352946, 0.25), (230, "cups", 236.5882365, 0.25),
        (0, "fl oz", 29.5735295625, 0.5),
    ),
    "UK": (
        (60_000, "L", 1000, 1), (4_540, "gal", 4546.09, 0.25), (560, "pints", 568.26125, 0.25),
        (0, "fl oz", 28.4130625, 0.5),
    ),
}  # fmt: skip
_LIQUID: dict[Measures, _Rows] = {
    **_VOLUME, "US": ((3_700, "gal", 3785.411784, 0.25), *_VOLUME["US"][1:]),
}  # fmt: skip
"""Of what is bought by the jug."""
_AREA: dict[Measures, _Rows] = {
    "metric": ((0.995, "m2", 1, 0.1), (0, "cm2", 1e-4, 50)),
    "US": ((0.0929, "sq ft", 0.09290304, 0.5), (0, "sq in", 0.00064516, 5)),
}
_AREA["UK"] = _AREA["US"]
_SINGLE = {"cups": "cup", "pints": "pint"}


def _nearest(steps: float) -> float:
    """The nearest whole number of steps, halves up."""
    return math.floor(steps + 0.5)


def _measured(value: float, rows: _Rows, rounded: Rounded) -> str:
    """A value in the unit and step of its row; what would be nothing is one step."""
    if value == 0:
        return f"0 {rows[-1][1]}"
    _, unit, holds, step = next(row for row in rows if abs(value) >= row[0])
    steps = rounded(abs(value) / holds / step)
    number = math.copysign(max(steps, 0 if rounded is math.floor else 1) * step, value)
    return f"{_number(number, unit)} {_SINGLE.get(unit, unit) if 0 < number <= 1 else unit}"


def _number(value: float, unit: str) -> str:
    """ "10 1/2" for halves and quarters of units that have them, else in decimals."""
    part = Fraction(abs(value)).limit_denominator(1000) % 1
    if unit in _IN_PARTS and part.denominator in (2, 4):
        whole = str(int(abs(value))) if abs(value) >= 1 else ""
        return ("-" if value < 0 else "") + f"{whole} {part}".strip()
    return f"{round(value, 6):g}"


def mass(grams: float, measures: Measures) -> str:
    """Grams as a kitchen scale tells them: "10 1/2 lb", "6 1/2 oz", "350 g", "2.35 kg"."""
    return _mass(grams, measures, _nearest)


def at_most(grams: float, measures: Measures) -> str:
    """A limit, such as a potful: never more than it is."""
    return _mass(grams + WHOLE_GRAM, measures, math.floor)


def at_least(grams: float, measures: Measures) -> str:
    """What must be had, such as what to buy: never less than it is."""
    return _mass(max(grams - WHOLE_GRAM, 0), measures, math.ceil)


def _mass(grams: float, measures: Measures, rounded: Rounded) -> str:
    text = _measured(grams, _MASS[measures], rounded)
    if measures != "metric" and text.endswith(" oz") and grams >= 15.75 * OUNCE:
        ounces = int(text.split()[0])  # whole ounces; "1 1/2 lb" where they are quarter pounds
        return f"{_number(ounces / 16, 'lb')} lb" if ounces % 4 == 0 else text
    return text


def ice_mass(grams: float, measures: Measures) -> str:
    """Ice: whole pounds or half kilograms, and rather more."""
    unit = "kg" if measures == "metric" else "lb"
    steps = _ice_steps(grams, measures)
    return f"{_number(steps * (0.5 if unit == 'kg' else 1), unit)} {unit}"


def as_ice(grams: float, measures: Measures) -> float:
    """Grams of ice as `ice_mass` tells them: what is to be had is the sum of these, so that it is
    never less than what is told of its parts."""
    return _ice_steps(grams, measures) * _ICE[measures] if grams > 0 else 0.0


_ICE: dict[Measures, float] = {"metric": 500.0, "US": POUND, "UK": POUND}
"""Steps of ice, in g: half kilograms and pounds."""


def _ice_steps(grams: float, measures: Measures) -> int:
    return max(math.ceil((grams - WHOLE_GRAM) / _ICE[measures]), 1)


def about(grams: float, measures: Measures) -> str:
    """Like `mass`, to the two figures that a forecast is good for: "14 oz", "3 1/2 lb"."""
    if not grams:
        return mass(grams, measures)
    places = 1 - math.floor(math.log10(abs(grams)))
    if measures != "metric":
        unit = POUND if grams >= 15.75 * OUNCE else OUNCE
        number = grams / unit
        if number >= 10:
            places = 1 - math.floor(math.log10(number))
            return mass(round(number, places) * unit, measures)
        return mass((_nearest(2 * number) or 1) / 2 * unit, measures)
    return mass(round(grams, places), measures)


def volume(millilitres: float, measures: Measures) -> str:
    """Millilitres as a jug tells them: "1 1/2 cups", "4 qt", "475 mL"."""
    return _measured(millilitres, _VOLUME[measures], _nearest)


def liquid(millilitres: float, measures: Measures) -> str:
    """Millilitres as cider and the like are bought: "2 gal", "7.5 L"."""
    return _measured(millilitres, _LIQUID[measures], _nearest)


def area(square_cm: float, measures: Measures) -> str:
    """Square centimetres of tray: "1 1/2 sq ft", "80 sq in"."""
    return _measured(square_cm / 1e4, _AREA[measures], _nearest)


LEAST_WEIGHED = 10.0
"""g below which a kitchen scale of whole grams is too coarse (common practice, no source)."""
_SPOONS: dict[str, tuple[tuple[str, float, float], ...]] = {
    "metric": (("tsp", 5.0, 0),),
    "US": (("cup", 236.5882365, 0.25), ("tbsp", 14.78676478, 2), ("tsp", 4.928921594, 0)),
    "UK": (("pint", 568.26125, 0.25), ("tbsp", 15.0, 2), ("tsp", 5.0, 0)),
}
"""Measures with mL and the least of each that is told in it."""


def spooned(grams: float, millilitres: float | None, measures: Measures) -> str:
    """What is measured out in a kitchen: "1 1/2 cups", "3/4 tsp"; a mass where the volume is
    unknown, and for metric households, but for what no kitchen scale tells."""
    if millilitres is None or (measures == "metric" and grams >= LEAST_WEIGHED):
        return mass(grams, measures)
    rows, amount = _SPOONS[measures], millilitres
    name, size, _ = next(row for row in rows if amount >= row[1] * (row[2] - 0.05))
    quarters = round(4 * amount / size)
    if not quarters:
        return "a pinch"
    many = name in ("cup", "pint") and quarters > 4
    return f"{_number(quarters / 4, 'cups')} {name}{'s' if many else ''}"


def inches(millimetres: float, measures: Measures) -> str:
    """A short length: "1 1/2 in" to the quarter inch, or "38 mm" with metric measures."""
    if measures == "metric":
        return f"{millimetres:.0f} mm"
    return f"{_number(round(millimetres / 6.35) / 4, 'in')} in"


def temperature(celsius: float, measures: Measures) -> str:
    """°C in the household's measures."""
    return show(celsius, "temperature", measures).replace(" ", " °")
