"""Cleaning and sanitising after raw meat, poultry or fish, before other food."""

from __future__ import annotations

from harvestplan.inputs.season import Measures
from harvestplan.kitchen.steps.step_kind import SessionStep
from harvestplan.plan.models import Task

SANITISE = 10 * 60
"""Seconds to wash, rinse and sanitise, the standing time of the bleach among them (own
judgement)."""


class Sanitise(SessionStep):
    """Washed hot with soap, rinsed, flooded with a weak solution of bleach, dried by the air."""

    name = "sanitise"

    def words(self, task: Task, what: str, measures: Measures) -> str:
        """What is cleaned, and how."""
        spoon = "15 mL in 4 L" if measures == "metric" else "1 tablespoon in a gallon"
        return (
            "Wash boards, knives, scales, counter, sink and machine with hot soapy water and "
            f"rinse; flood with unscented bleach, {spoon} of water, leave it for several minutes, "
            "rinse, air dry; wash your hands"
        )
