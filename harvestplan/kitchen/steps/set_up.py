"""Setting up the kitchen before anything else."""

from __future__ import annotations

from harvestplan.inputs.season import Measures
from harvestplan.kitchen.steps.step_kind import SessionStep
from harvestplan.plan.models import Task

SET_UP = 20 * 60
"""Seconds before every session (common practice, no source)."""


class SetUp(SessionStep):
    """Table, tools, ice and machine made ready."""

    name = "set up"

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """What is made ready."""
        return (
            "Set up: clean table and tools, mark the pouches, ice to hand, wipe gasket and bar and "
            "seal an empty pouch to try; children away from the stove, handles of pots turned in"
        )

    def words_by_hand(self, task: Task, what: str, measures: Measures) -> str:
        """No machine to check."""
        return (
            "Set up: clean table and tools, mark the bags and boxes, ice to hand; children away "
            "from the stove, handles of pots turned in"
        )
