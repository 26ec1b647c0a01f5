"""What a goal is: a sum that solvers make least, and the same recomputed from a choice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from harvestplan.plan.models import Level
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.statement.choice import Choice


@dataclass(frozen=True)
class Aim:
    """A sum as the solver sees it and as recomputed from a choice, never trusting the solver.

    Attributes
    ----------
    slight
        A gap of no more than this share of the value is worth no more effort.
    open_choice
        Whether the goals before it leave much to choose, so that a season that does not fit is
        worth branching on again.
    part
        A part of it that counts in larger steps: its least is looked for first, since what is
        proven of it makes the whole's bound tighter.
    """

    total: Sum
    value: Callable[[Choice], int]
    slight: float = 0.0
    open_choice: bool = True
    part: Aim | None = None


@dataclass(frozen=True)
class Goal:
    """A level's aim, None where there is nothing to aim at; `scale` divides its whole number back
    into the level's own unit."""

    level: Level
    aim: Aim | None
    scale: float
