"""Cleaning up the kitchen after everything else."""

from __future__ import annotations

from harvestplan.inputs.season import Measures
from harvestplan.kitchen.steps.step_kind import SessionStep
from harvestplan.plan.models import Task

CLEAN_UP = 20 * 60
"""Seconds after every session (common practice, no source)."""


class CleanUp(SessionStep):
    """Tools and machine washed, baths emptied."""

    name = "clean up"

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """What is washed and written down."""
        return (
            "Clean up: wash tools and bar, empty the baths, note what was frozen; after wet food "
            "run a pump with oil until it is warm, as its manual says"
        )

    def words_by_hand(self, task: Task, what: str, measures: Measures) -> str:
        """No bar to wash."""
        return "Clean up: wash tools, empty the baths, note what was frozen"
