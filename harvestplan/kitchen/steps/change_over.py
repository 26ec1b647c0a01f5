"""From one food to the next: board, bowls, basin and machine made ready for it."""

from __future__ import annotations

from harvestplan.inputs.season import Measures
from harvestplan.kitchen.steps.step_kind import SessionStep
from harvestplan.plan.models import Task

CHANGE_OVER = 3 * 60
"""Seconds to wipe and rinse what the food before was worked with (common practice, no source)."""


class ChangeOver(SessionStep):
    """Nothing of one food gets into the next."""

    name = "change over"

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """What is wiped and rinsed for which food."""
        ready = f" for {what}" if what else ""
        return f"Clean board, knife, bowls and basin, wiped and rinsed{ready}"
