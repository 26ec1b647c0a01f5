"""Filling a pot with water where it stands."""

from __future__ import annotations

from dataclasses import dataclass

from harvestplan.inputs.season import Measures
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import SessionStep
from harvestplan.plan.models import Task
from harvestplan.words import volume

JUG = 4.0 / 60
"""Litres in a second, by the jug, into a pot where it stands or out of it (own judgement)."""


@dataclass(frozen=True, kw_only=True)
class FillSettings(Settings):
    """Water in mL."""

    water_ml: int | None


class Fill(SessionStep):
    """A pot filled where it stands; a pot of water is too heavy to carry."""

    name = "fill"
    vessel = "pot"
    settings = FillSettings
    own_time = True
    fills = True

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """Which pot, and how much water."""
        amount = FillSettings.of(task).water_ml
        water = "water" if amount is None else f"{volume(amount, measures)} of water"
        return f"Fill {', '.join(task.equipment) or 'the pot'} with {water}, by the jug"


def jug_seconds(water: float) -> float:
    """Seconds to fill a pot with `water` mL by the jug, or to empty it."""
    return water / 1000 / JUG
