"""Food that is cold and waits to be packed goes into the fridge."""

from __future__ import annotations

from harvestplan.inputs.season import Measures
from harvestplan.kitchen.steps.step_kind import SessionStep
from harvestplan.plan.models import Task

IN_THE_ROOM = 10 * 60
"""Seconds for which cooled food may stand on the table before it is packed cold: a kilogram of
pieces in a colander warms by a kelvin in about four minutes (own judgement)."""


class KeepCold(SessionStep):
    """In the fridge from when it is drained until it is portioned."""

    name = "keep cold"

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """What goes into the fridge."""
        return f"Put {what or 'the food'} into the fridge, covered, until it is packed"
