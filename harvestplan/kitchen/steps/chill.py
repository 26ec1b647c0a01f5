"""Chilling cooked or puréed food in shallow pans that stand in ice water."""

from __future__ import annotations

import math
from dataclasses import dataclass

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.heat import stirred_cooling_seconds
from harvestplan.kitchen.ice import ice_grams
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.cool import ice_words
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import Amount, ChainStep, StepTime, done_in, work_seconds
from harvestplan.plan.models import Task
from harvestplan.words import span, temperature

CHILL_SHARE = 0.5
"""Share of a cooling bath the pan takes; the rest is ice water (common practice, no source)."""
CHILL_DEPTH, CHILL_TO, CHILL_BATH = 0.05, 5.0, 0.5
"""Shallow pan 2 in deep, stirred in ice water (two-stage rule: Southern Nevada Health District)."""
HOT, ROOM = 95.0, 20.0
"""Temperature in °C of food that was cooked, and of food that only stood in the room."""


@dataclass(frozen=True, kw_only=True)
class ChillSettings(Settings):
    """Time in min, the temperature in °C to reach, ice in g."""

    minutes: float | None
    to_c: float | None
    ice_g: int | None

    def timer(self) -> float:
        """Until it is cold."""
        return 60 * (self.minutes or 0.0)

    def ice(self) -> int:
        """What melts in the bath."""
        return int(self.ice_g or 0)


class Chill(ChainStep):
    """Cold enough for the fridge or the chamber; a second sitting may follow another day."""

    name = "chill"
    vessel = "bath"
    settings = ChillSettings
    controlled = True
    cools = True
    own_time = True
    unattended = True

    def vessels(
        self, kitchen: Kitchen, crop: Crop, product: Product, *, step: Step
    ) -> dict[str, float]:
        """The baths, as far as the pan takes them up."""
        if not kitchen.baths:
            raise CannotBeMade("there is no [[bath]] to chill in")
        return {bath.name: CHILL_SHARE * bath.volume for bath in kitchen.baths}

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """The computed time is the least; a crop file may ask for longer."""
        start = HOT if process.cooked else ROOM
        least = stirred_cooling_seconds(CHILL_DEPTH, start, CHILL_TO, bath=CHILL_BATH)
        chill = max(least, work_seconds(step, amount.grams))
        ice = ice_grams(amount.grams, process.crop.water_share.value, start, end=CHILL_TO)
        return StepTime(
            chill, ChillSettings(minutes=math.ceil(chill / 60), to_c=CHILL_TO, ice_g=ice)
        )

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Bath, temperature, time and ice."""
        known = ChillSettings.of(task)
        down = "" if known.to_c is None else f" down to {temperature(known.to_c, measures)}"
        time = "" if known.minutes is None else f", about {span(60 * known.minutes)}"
        return (
            f"Chill {what} in shallow pans in ice water{done_in(task)}, stirring{down}{time}"
            f"{ice_words(known.ice_g, measures)}"
        )


def waits_chilled(product: Product) -> bool:
    """Whether what a first sitting made waits in the fridge for the second."""
    return any(step.step == Chill.name and step.pause_limit for step in product.steps)


def chilled_volume(process: Process) -> float:
    """mL in the fridge between two sittings, per raw g; 0 where it does not wait there."""
    pause = process.pause
    if pause is None or not waits_chilled(process.product):
        return 0.0
    return process.share_before(pause + 1) / process.product.density.value
