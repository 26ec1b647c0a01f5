"""How a crop grows, comes in and yields: tables of a crop file, and how its other kinds differ."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from harvestplan.inputs.figures import CropTable, Figure, Name
from harvestplan.inputs.quantity_types import (
    Duration,
    Length,
    Mass,
    MassPerArea,
    MassPerLength,
    Temperature,
)

ThermalMethod = Literal["mw1", "mw2", "sine"]


class Growth(CropTable):
    """When the first pick comes.

    Thermal time counts from sowing (`clock` "sown"), setting out ("set out") or, for plants that
    stay, from the month-day `biofix` of each year. `days_to_maturity` counts from the same day.
    """

    clock: Literal["sown", "set out", "biofix"]
    biofix: Annotated[str, Field(pattern=r"^\d\d-\d\d$")] | None = None
    raise_days: Figure[Duration] | None = None
    """Days from sowing under cover to setting out, for crops whose clock is "set out"."""
    days_to_maturity: Figure[Duration]
    method: ThermalMethod
    base: Figure[Temperature]
    upper: Figure[Temperature] | None = None
    thermal_time: Figure[Annotated[float, Field(gt=0)]] | None = None
    """°C·d from the clock's start to the first pick."""
    days_after_flower: Figure[Duration] | None = None
    bolts_above: Figure[Temperature] | None = None
    hot_night: Figure[Temperature] | None = None
    """Mean of ten long days in which it runs to seed; night whose flowers set little."""
    frost: Figure[Literal["tender", "half-hardy", "hardy"]]

    @model_validator(mode="after")
    def _biofix_named(self) -> Growth:
        if (self.clock == "biofix") != (self.biofix is not None):
            raise ValueError('biofix is needed with clock = "biofix", and only there')
        return self


class Picking(CropTable):
    """How the crop comes in: weekly shares of the season's yield, days between picks."""

    pattern: Literal["once-over", "determinate", "indeterminate", "cut-and-come-again", "berries"]
    weekly: Figure[tuple[Annotated[float, Field(ge=0, le=1)], ...]]
    every: Figure[Duration]
    stands: Figure[Duration]
    """How long a ripe pick may still stand on the plant or in the ground before it spoils."""

    @model_validator(mode="after")
    def _shares_sum_to_one(self) -> Picking:
        if abs(sum(self.weekly.value) - 1) > 1e-6:
            raise ValueError(f"weekly shares must sum to 1, not {sum(self.weekly.value):g}")
        return self


class Yields(CropTable):
    """Yield of a whole season. `spacing` and `row_spacing` turn one basis into another."""

    per_row: Figure[MassPerLength] | None = None
    per_plant: Figure[Mass] | None = None
    per_area: Figure[MassPerArea] | None = None
    spacing: Figure[Length] | None = None
    row_spacing: Figure[Length] | None = None
    fails: Figure[Annotated[float, Field(ge=0, le=0.5)]] | None = None  # share bringing nothing


class Habit(CropTable):
    """How plants of another habit (staked, climbing) differ from what the file says of the crop;
    what is not said is the same. A planting names it: `habit = "staked"`."""

    name: Name
    days_to_maturity: Figure[Duration] | None = None
    thermal_time: Figure[Annotated[float, Field(gt=0)]] | None = None
    picking: Picking | None = None
    yields: Yields | None = None
