"""Soaking, in cold water or brine: within the session, or from the evening before."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.settings import Settings, Told
from harvestplan.kitchen.steps.step_kind import Amount, ChainStep, StepTime, done_in, work_seconds
from harvestplan.kitchen.steps.wash import Wash
from harvestplan.plan.models import Task
from harvestplan.words import plural, span, volume

LONGEST_HERE = 2 * 3600
"""Seconds: what soaks for longer is put to soak before the session (own judgement)."""


@dataclass(frozen=True, kw_only=True)
class SoakSettings(Settings):
    """Minutes of soaking, in the session or `ahead` of it; cold water in mL; in how many goes."""

    minutes: float | None
    ahead: str | None = None
    water_ml: int | None
    goes: int | None = None

    def timer(self) -> float:
        """Until it is lifted out, where it soaks in the session."""
        return 0.0 if self.ahead else 60 * (self.minutes or 0.0)

    def water(self) -> float:
        """What it soaks in."""
        return float(self.water_ml or 0)


AHEAD = "ahead"


class Soak(ChainStep):
    """All of a run's food in a basin, before it is cut. What soaks for hours is put to soak before
    the session, where only its draining is a task."""

    name = "soak"
    scope = "run"
    vessel = "bath"
    settings = SoakSettings
    own_time = True
    unattended = True

    def flaw(self, step: Step) -> str | None:
        """It needs its time and its water."""
        return None if step.time and step.water else "soak needs time and water"

    def misplaced(self, steps: Sequence[Step], index: int) -> str | None:
        """It is of the whole food, as washing is."""
        before = {step.step for step in steps[:index]}
        return "soak comes before everything but wash" if before - {Wash.name} else None

    def vessels(
        self, kitchen: Kitchen, crop: Crop, product: Product, *, step: Step
    ) -> dict[str, float]:
        """The baths; what is more than one takes is soaked in several goes."""
        if not kitchen.baths:
            raise CannotBeMade("there is no [[bath]] to soak in")
        return {bath.name: math.inf for bath in kitchen.baths}

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """The soaking; ahead of the session only the work that the crop file gives."""
        assert step.time is not None and step.water is not None
        work, water = work_seconds(step, amount.grams), step.water.value * amount.grams
        ahead = step.time.value > LONGEST_HERE
        rooms = {bath.name: bath.volume for bath in process.kitchen.baths}
        # Food takes up about its own mass in mL beside its water.
        goes = math.ceil((water + amount.grams) / min(rooms[n] for n in process.vessels[self.name]))
        settings = SoakSettings(
            minutes=step.time.value / 60,
            ahead=AHEAD if ahead else None,
            water_ml=round(water),
            goes=goes if goes > 1 and not ahead else None,
        )
        return StepTime(work + (0.0 if ahead else max(1, goes) * step.time.value), settings)

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Basin, water and time; of what soaked already, that it is drained."""
        known = SoakSettings.of(task)
        time = "" if known.minutes is None else span(60 * known.minutes)
        if known.ahead:
            least = f", at least {time}" if time else ""
            return f"Drain and rinse {what}{done_in(task)}, soaked since the evening before{least}"
        words = f"Soak {what}{done_in(task)} in cold water"
        if known.water_ml is not None:
            words += f", {volume(known.water_ml, measures)}"
        if known.goes is not None:
            words += f", in {plural(known.goes, 'go', 'goes')}"
        return words + (f": {time}{' each' if known.goes else ''}" if time else "")


def soaked_ahead(task: Told) -> SoakSettings | None:
    """What is to be put to soak before the session of a task, or None."""
    known = SoakSettings.of(task)
    return known if task.step == Soak.name and known.ahead else None
