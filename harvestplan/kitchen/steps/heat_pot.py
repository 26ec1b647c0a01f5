"""Bringing a pot of water to the boil, for all that a session blanches in it."""

from __future__ import annotations

from dataclasses import dataclass

from harvestplan.inputs.season import Measures
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import SessionStep
from harvestplan.plan.models import Task
from harvestplan.words import volume


@dataclass(frozen=True, kw_only=True)
class HeatSettings(Settings):
    """Water in mL."""

    water_ml: int | None


class HeatPot(SessionStep):
    """A pot brought from cold to the boil; its time is the pot's own (`Blancher`)."""

    name = "heat"
    vessel = "pot"
    settings = HeatSettings
    boils = True
    fills = True
    own_time = True

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Which pot, and how much water."""
        amount = HeatSettings.of(task).water_ml
        water = "" if amount is None else f" with {volume(amount, measures)} of water"
        return f"Put {', '.join(task.equipment) or 'the pot'} on{water}, lid on, full heat"
