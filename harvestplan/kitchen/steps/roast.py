"""Roasting in an oven."""

from __future__ import annotations

from dataclasses import dataclass

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import Amount, ChainStep, StepTime, done_in, work_seconds
from harvestplan.plan.models import Task
from harvestplan.words import span


@dataclass(frozen=True, kw_only=True)
class RoastSettings(Settings):
    """Time in min."""

    minutes: float | None

    def timer(self) -> float:
        """The time in the oven."""
        return 60 * (self.minutes or 0.0)


class Roast(ChainStep):
    """Cooked through in dry heat."""

    name = "roast"
    vessel = "oven"
    settings = RoastSettings
    controlled = True
    heats = True
    cooks = True
    own_time = True

    def flaw(self, step: Step) -> str | None:
        """It needs its time."""
        return None if step.time else "roast needs time"

    def vessels(
        self, kitchen: Kitchen, crop: Crop, product: Product, *, step: Step
    ) -> dict[str, float]:
        """The ovens, as much as their trays hold."""
        if not kitchen.ovens:
            raise CannotBeMade("there is no [[oven]] to roast in")
        return {oven.name: oven.trays * oven.tray_load for oven in kitchen.ovens}

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """As the crop file says."""
        assert step.time is not None
        settings = RoastSettings(minutes=step.time.value / 60)
        return StepTime(step.time.value + work_seconds(step, amount.grams), settings)

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Oven and time."""
        minutes = RoastSettings.of(task).minutes
        time = "" if minutes is None else f": {span(60 * minutes)}"
        return f"Roast {what}{done_in(task)}{time}"
