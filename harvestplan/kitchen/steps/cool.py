"""Cooling blanched food in ice water."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.ice import COOLED, ice_grams
from harvestplan.kitchen.pot import blanch_seconds
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.soaked import water_share
from harvestplan.kitchen.steps.blanch import Blanch
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import Amount, ChainStep, StepTime, done_in, work_seconds
from harvestplan.kitchen.water import boiling_point
from harvestplan.plan.models import Task
from harvestplan.words import ice_mass, span


@dataclass(frozen=True, kw_only=True)
class CoolSettings(Settings):
    """Time in s, ice in g."""

    cool_s: int | float | None
    ice_g: int | None

    def timer(self) -> float:
        """The cooling."""
        return self.cool_s or 0.0

    def ice(self) -> int:
        """What melts in the bath."""
        return int(self.ice_g or 0)


class Cool(ChainStep):
    """As long in ice water as it was in the heat, or what the crop file says."""

    name = "cool"
    vessel = "bath"
    settings = CoolSettings
    at_once_after = (Blanch.name,)
    controlled = True
    cools = True
    own_time = True
    unattended = True

    def flaw(self, step: Step) -> str | None:
        """It needs a time, of its own or by the blanching."""
        if step.ratio or step.fixed:
            return None
        return "cool needs ratio (to the blanching time) or fixed"

    def misplaced(self, steps: Sequence[Step], index: int) -> str | None:
        """A ratio is one to a blanching."""
        blanched = any(step.step == Blanch.name for step in steps[:index])
        if steps[index].ratio and not blanched:
            return "cool with ratio needs a blanch before it; else write fixed"
        return None

    def vessels(
        self, kitchen: Kitchen, crop: Crop, product: Product, *, step: Step
    ) -> dict[str, float]:
        """The baths; a potful always fits its bath, which holds one batch at a time (V2)."""
        if not kitchen.baths:
            raise CannotBeMade("there is no [[bath]] to cool in")
        return {bath.name: math.inf for bath in kitchen.baths}

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """By the ratio, and the crop file's own."""
        cool, work = cool_seconds(process, step), work_seconds(step, amount.grams)
        hot = boiling_point(process.kitchen.altitude)
        water = water_share(process.crop, process.product, self.name)
        ice = ice_grams(amount.grams, water, hot, end=COOLED)
        return StepTime(cool + work, CoolSettings(cool_s=round(cool or work), ice_g=ice))

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Bath, time and ice."""
        known = CoolSettings.of(task)
        time = "" if known.cool_s is None else f": {span(known.cool_s)}"
        ice = ice_words(known.ice_g, measures)
        return f"Cool {what} in ice water{done_in(task)}{time}, stirring{ice}"


def cool_seconds(process: Process, step: Step) -> float:
    """Cooling time in s by the ratio to the blanching time, altitude included; 0 without one."""
    if step.ratio is None:
        return 0.0
    blanch = next(s for s in process.product.steps if s.step == Blanch.name)
    return step.ratio.value * blanch_seconds(blanch, process.kitchen.altitude)


def ice_words(grams: float | None, measures: Measures) -> str:
    """Like "; takes 2 lb of ice", or nothing."""
    return "" if grams is None else f"; takes {ice_mass(grams, measures)} of ice"
