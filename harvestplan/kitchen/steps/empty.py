"""Emptying a pot: of water that has served, or of food that was cooked in it."""

from __future__ import annotations

from dataclasses import dataclass

from harvestplan.inputs.season import Measures
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.kitchen.steps.step_kind import SessionStep
from harvestplan.plan.models import Task

FOOD_OUT = 5 * 60
"""Seconds to ladle cooked food into pans and bowls and to wash the pot (common practice, no
source)."""
WATER, FOOD = "water", "food"


@dataclass(frozen=True, kw_only=True)
class EmptySettings(Settings):
    """What was in the pot, "water" or "food"."""

    held: str | None


class Empty(SessionStep):
    """The pot empty and clean for what comes next."""

    name = "empty"
    vessel = "pot"
    settings = EmptySettings
    own_time = True

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """How it is emptied of what it holds."""
        pot = ", ".join(task.equipment) or "the pot"
        if EmptySettings.of(task).held == FOOD:
            return f"Lift or ladle {what or 'the food'} out of {pot}, and wash the pot"
        return f"Empty {pot} with a jug where it stands, burner off; wipe it out"
