"""Putting sealed food on its shelf."""

from __future__ import annotations

from dataclasses import dataclass

from harvestplan.inputs.crops import Step
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import Amount, PlainStep, StepTime, work_seconds


@dataclass(frozen=True, kw_only=True)
class StoreSettings(Settings):
    """How many pouches."""

    pouches: int | None


class Store(PlainStep):
    """Marked and put away, in the room or the fridge."""

    name = "store"
    scope = "table"
    closed = True
    settings = StoreSettings

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """As the crop file says."""
        seconds = work_seconds(step, amount.grams, amount.rounds)
        return StepTime(seconds, StoreSettings(pouches=amount.pouches))
