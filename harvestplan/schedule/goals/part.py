"""A part of what a plan is worth: a sum that solvers make least, and the same recomputed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from harvestplan.plan.models import PartName
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.statement.choice import Choice

MICRO = 1_000_000
"""Worth counts in millionths of a portion, so that a gram that waits a day has a whole number."""
TIE = 1000
"""What would cost nothing counts a thousandth of a portion: of plans worth the same, one with fewer
evenings and fewer foods on an evening."""


def in_micro(portions: float) -> int:
    """Portions as the solver counts them."""
    return round(MICRO * portions)


@dataclass(frozen=True)
class GoalPart:
    """What it takes off the plan's worth, in millionths of a portion; below nought it adds.

    `total` is the sum as the solver sees it, `cost` the same of a choice, never trusting the
    solver. `fixed` is what no choice can change.
    """

    name: PartName
    total: Sum
    cost: Callable[[Choice], int]
