"""Simmering in a pot, in water or in what the food gives."""

from __future__ import annotations

import math
from dataclasses import dataclass

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.pot import cooked_limit
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.empty import FOOD, FOOD_OUT, Empty, EmptySettings
from harvestplan.kitchen.steps.hand_work import mixed_words, said
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import (
    Amount,
    Beside,
    ChainStep,
    StepTime,
    done_in,
    work_seconds,
)
from harvestplan.plan.models import Task
from harvestplan.words import span, temperature, volume


@dataclass(frozen=True, kw_only=True)
class SimmerSettings(Settings):
    """Time in min from the boil, or from `to_c` °C where it is not boiled; s until it is that hot;
    water in mL; what to do about pieces of other sizes."""

    minutes: float | None
    heat_s: int | None
    to_c: float | None = None
    water_ml: int | None = None
    mixed: str | None = None

    def timer(self) -> float:
        """The time from the boil."""
        return 60 * (self.minutes or 0.0)

    def water(self) -> float:
        """What the food is cooked in."""
        return float(self.water_ml or 0)


class Simmer(ChainStep):
    """Cooked through in a pot."""

    name = "simmer"
    vessel = "pot"
    settings = SimmerSettings
    controlled = True
    heats = True
    cooks = True
    boils = True
    own_time = True
    any_vessel = True

    def flaw(self, step: Step) -> str | None:
        """It needs its time."""
        return None if step.time else "simmer needs time"

    def vessels(
        self, kitchen: Kitchen, crop: Crop, product: Product, *, step: Step
    ) -> dict[str, float]:
        """The pots, with head space for what boils up."""
        if not kitchen.pot_volumes:
            raise CannotBeMade("there is no [[pot]] to cook in")
        return {name: cooked_limit(volume, step) for name, volume in kitchen.pot_volumes.items()}

    def beside(self, process: Process, amount: Amount) -> tuple[Beside, ...]:
        """The food ladled out, the pot washed."""
        return (Beside(Empty.name, FOOD_OUT, 1, EmptySettings(held=FOOD), after=True),)

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """From cold to the boil, or as hot as it must be, in the slowest pot; then as long as the
        crop file says."""
        assert step.time is not None
        grams, water_share = amount.grams, process.crop.water_share.value
        pots = [process.kitchen.pot(name) for name in process.units(self.name, grams)]
        heat = max(pot.cook_up_seconds(step, grams, water_share) for pot in pots)
        settings = SimmerSettings(
            minutes=step.time.value / 60,
            heat_s=math.ceil(heat),
            to_c=None if step.heat_to is None else round(step.heat_to.value, 1),
            water_ml=None if step.water is None else round(step.water.value * grams),
            mixed=said(step.mixed),
        )
        return StepTime(heat + step.time.value + work_seconds(step, grams), settings)

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Pot, water and time."""
        known = SimmerSettings.of(task)
        words = f"{'Simmer' if known.to_c is None else 'Heat'} {what}{done_in(task)}"
        if known.water_ml is not None:
            words += f" with {volume(known.water_ml, measures)} of fresh water"
        hot = "boils"
        if known.to_c is not None:
            words += f" to {temperature(known.to_c, measures)} (stir it, then read the thermometer)"
            hot = "is that hot"
        if known.minutes is not None:
            words += f": {span(60 * known.minutes)}"
        if known.heat_s is not None:
            takes = span(60 * round(known.heat_s / 60))
            words += f" from when it {hot} (that takes about {takes})"
        return words + mixed_words(known.mixed, measures)
