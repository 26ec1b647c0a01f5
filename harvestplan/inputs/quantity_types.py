"""Field types for quantities written with units, for use in pydantic models.

Inside the program every quantity is a float in one fixed unit per kind:
mass g, volume mL, length m, area m², time s, power W, temperature °C; a size (``6x10 in``)
is a tuple of lengths in m. Which reading of pint, cup and fluid ounce applies is passed as
pydantic validation context: ``{"measures": "US" | "UK" | "metric"}``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator, ValidationInfo

from harvestplan.inputs.quantities import (
    Kind,
    Quantity,
    read_parts,
    read_quantity,
    read_rate,
    read_size,
)


def _measures(info: ValidationInfo) -> str:
    return str((info.context or {}).get("measures", "US"))


def _reader(*kinds: Kind) -> BeforeValidator:
    def read(value: Any, info: ValidationInfo) -> float:
        return read_quantity(value, kinds, _measures(info)).value

    return BeforeValidator(read)


Mass = Annotated[float, _reader("mass")]
Volume = Annotated[float, _reader("volume")]
Length = Annotated[float, _reader("length")]
Area = Annotated[float, _reader("area")]
Duration = Annotated[float, _reader("time")]
Power = Annotated[float, _reader("power")]
Temperature = Annotated[float, _reader("temperature")]


def _read_size(value: Any, info: ValidationInfo) -> tuple[float, ...]:
    return read_size(value, _measures(info))


Size = Annotated[tuple[float, ...], BeforeValidator(_read_size)]


def _rate(numerator: Kind, denominator: Kind) -> BeforeValidator:
    def read(value: Any, info: ValidationInfo) -> float:
        return read_rate(value, numerator, denominator, measures=_measures(info))

    return BeforeValidator(read)


Density = Annotated[float, _rate("mass", "volume")]
"""g/mL, written as "0.51 kg per L" or "0.51 kg/L"."""

MassPerLength = Annotated[float, _rate("mass", "length")]
"""g/m, written as "120 lb per 100 ft"."""

MassPerArea = Annotated[float, _rate("mass", "area")]
"""g/m², written as "0.5 lb per ft2"."""

VolumePerMass = Annotated[float, _rate("volume", "mass")]
"""mL/g, written as "1 gal per lb"."""

TimePerMass = Annotated[float, _rate("time", "mass")]
"""s/g, written as "12 min per kg"."""


def _read_mass_or_volume(value: Any, info: ValidationInfo) -> Quantity:
    if isinstance(value, Quantity):
        return value
    return read_quantity(value, ("mass", "volume"), _measures(info))


MassOrVolume = Annotated[Quantity, BeforeValidator(_read_mass_or_volume)]
"""A portion: keeps its kind, since a volume of food needs the product's density to become grams."""


@dataclass(frozen=True)
class Rate:
    """So much of a thing for each g or mL of another: `value` in g or mL, as `of` and `per` say."""

    value: float
    of: Kind
    per: Kind


def _read_amount_rate(value: Any, info: ValidationInfo) -> Rate:
    if isinstance(value, Rate):
        return value
    kinds: tuple[Kind, ...] = ("mass", "volume")
    top, bottom = read_parts(value, kinds, kinds, measures=_measures(info))
    return Rate(top.value / bottom.value, top.kind, bottom.kind)


AmountRate = Annotated[Rate, BeforeValidator(_read_amount_rate)]
"""Mass or volume of an ingredient by mass of food or volume of water: "4 tsp per gal"."""
