"""Trimming and cutting."""

from __future__ import annotations

from harvestplan.inputs.season import Measures
from harvestplan.kitchen.steps.step_kind import PlainStep
from harvestplan.plan.models import Task


class Trim(PlainStep):
    """Ends off, cut to size."""

    name = "trim"
    cuts = True
    by_hand = True
    also = ("cut", "slice", "peel")

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """What is cut."""
        return f"Trim and cut {what}"
