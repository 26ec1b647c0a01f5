"""Portioning into pouches."""

from __future__ import annotations

from dataclasses import dataclass

from harvestplan.inputs.crops import Step
from harvestplan.inputs.season import Measures
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import Amount, ChainStep, StepTime, work_seconds
from harvestplan.plan.models import Task
from harvestplan.words import plural, portion_mass


@dataclass(frozen=True, kw_only=True)
class PortionSettings(Settings):
    """How many pouches of which size, with g each."""

    pouches: int | None
    portion_g: int | None
    pouch: str | None


class Portion(ChainStep):
    """Weighed and filled; food from the fridge warms meanwhile."""

    name = "portion"
    scope = "table"
    settings = PortionSettings
    warms = True
    by_hand = True
    also = ("fill",)

    def time(self, process: Process, step: Step, amount: Amount) -> StepTime:
        """As the crop file says."""
        settings = PortionSettings(
            pouches=amount.pouches,
            portion_g=process.portion_grams,
            pouch=process.packing.pouch.name,
        )
        return StepTime(work_seconds(step, amount.grams, amount.rounds), settings)

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """How many pouches, and how much in each."""
        known = PortionSettings.of(task)
        words = f"Portion {what}"
        if known.pouches is not None:
            words += f" into {plural(known.pouches, 'pouch', 'pouches')}"
            words += "" if known.pouch is None else f" {known.pouch}"
        if known.portion_g is not None:
            words += f", {portion_mass(known.portion_g, measures)} each"
        return words + ", flat, rims clean and dry"
