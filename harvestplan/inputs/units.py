"""The units people write, with their factors to the program's own unit of each kind.

Pounds and ounces are avoirdupois. The household's `measures` ("US", "UK" or "metric") decides what
a cup, pint, quart, gallon, fluid ounce, peck, bushel and spoon hold; "US pint" and "UK pint" are
understood everywhere. Factors: NIST Handbook 44, appendix C, and the UK Weights and Measures Act
1985, schedule 1, both from memory. A month is 30.4375 days and a year 365.25 days (common
practice, no source).
"""

from __future__ import annotations

from functools import lru_cache
from typing import Literal

Kind = Literal["mass", "volume", "length", "area", "time", "power", "temperature"]

# Each row: the factor to the kind's own unit, then the names; a final "s" is understood.
_PLAIN: dict[Kind, tuple[tuple[float, str], ...]] = {
    "mass": (
        (1.0, "g gram gramme gm"),
        (1000.0, "kg kilo kilogram kilogramme"),
        (1e6, "tonne"),
        (28.349523125, "oz ounce"),
        (453.59237, "lb pound"),
    ),
    "volume": (
        (1.0, "ml millilitre milliliter cc cm3 cu_cm cubic_centimetre cubic_centimeter"),
        (10.0, "cl centilitre centiliter"),
        (100.0, "dl decilitre deciliter"),
        (1000.0, "l litre liter dm3"),
        (1e6, "m3 cu_m cubic_metre cubic_meter"),
        (16.387064, "in3 cu_in cubic_inch cubic_inches"),
        (28316.846592, "ft3 cu_ft cubic_foot cubic_feet"),
    ),
    "length": (
        (1.0, "m metre meter"),
        (0.01, "cm centimetre centimeter"),
        (0.001, "mm millimetre millimeter"),
        (1e-6, "um micron micrometre micrometer"),
        (0.0254, 'in inch inches "'),
        (0.0000254, "mil thou"),
        (0.3048, "ft foot feet '"),
        (0.9144, "yd yard"),
        (1000.0, "km kilometre kilometer"),
    ),
    "area": (
        (1.0, "m2 sq_m square_metre square_meter"),
        (1e-4, "cm2 sq_cm square_centimetre square_centimeter"),
        (0.00064516, "in2 sq_in square_inch square_inches"),
        (0.09290304, "ft2 sq_ft square_foot square_feet"),
        (0.83612736, "yd2 sq_yd square_yard"),
        (4046.8564224, "acre"),
        (10000.0, "ha hectare"),
    ),
    "time": (
        (1.0, "s sec second"),
        (60.0, "min minute"),
        (3600.0, "h hr hour"),
        (86400.0, "d day"),
        (604800.0, "wk week"),
        (30.4375 * 86400, "month"),
        (365.25 * 86400, "yr year"),
    ),
    "power": (
        (1.0, "w watt"),
        (1000.0, "kw kilowatt"),
        (1055.05585262 / 3600, "btu/h btu/hr btu/hour btu_per_hour btu_per_hr"),
    ),
    "temperature": (
        (1.0, "c celsius deg_c degree_c degrees_c degrees_celsius °c ° c"),
        (5 / 9, "f fahrenheit deg_f degree_f degrees_f degrees_fahrenheit °f"),
    ),
}
FAHRENHEIT = frozenset(_PLAIN["temperature"][1][1].replace("_", " ").split())

_MEASURE_NAMES = {
    "fl oz": "fl_oz floz fluid_ounce fluid_oz",
    "cup": "cup",
    "pint": "pint pt",
    "quart": "quart qt",
    "gallon": "gallon gal",
    "tbsp": "tbsp tablespoon",
    "tsp": "tsp teaspoon",
    "peck": "peck",
    "bushel": "bushel bu",
}
# The UK's cup is half an imperial pint; UK and metric spoons hold 15 and 5 mL (common practice,
# no source). A metric household has no pint of its own, so there the word must say whose.
_MEASURES: dict[str, dict[str, float]] = {
    "US": {
        "fl oz": 29.5735295625, "cup": 236.5882365, "pint": 473.176473, "quart": 946.352946,
        "gallon": 3785.411784, "tbsp": 14.78676478125, "tsp": 4.92892159375,
        "peck": 8809.76754172, "bushel": 35239.07016688,
    },
    "UK": {
        "fl oz": 28.4130625, "cup": 284.130625, "pint": 568.26125, "quart": 1136.5225,
        "gallon": 4546.09, "tbsp": 15.0, "tsp": 5.0, "peck": 9092.18, "bushel": 36368.72,
    },
    "metric": {"cup": 250.0, "tbsp": 15.0, "tsp": 5.0},
}  # fmt: skip


def _spread(names: str) -> list[str]:
    return [name.replace("_", " ") for name in names.split()]


@lru_cache
def units_for(measures: str) -> dict[str, tuple[Kind, float]]:
    """Every unit name a household with these measures may write: its kind and factor."""
    if measures not in _MEASURES:
        raise ValueError(f"measures are US, UK or metric, not {measures}")
    units: dict[str, tuple[Kind, float]] = {}
    for kind, rows in _PLAIN.items():
        for factor, names in rows:
            units.update(dict.fromkeys(_spread(names), (kind, factor)))
    for prefix, whose in (("us ", "US"), ("uk ", "UK"), ("imperial ", "UK"), ("", measures)):
        for unit, factor in _MEASURES[whose].items():
            for name in _spread(_MEASURE_NAMES[unit]):
                units[prefix + name] = ("volume", factor)
    return units


def differs_by_country(name: str) -> bool:
    """Whether `name` is a measure that holds more in one country than in another."""
    return any(name in _spread(names) for names in _MEASURE_NAMES.values())
