"""Wants: weighted portions short."""

from __future__ import annotations

from collections import Counter

from harvestplan.schedule.goals.goal import Aim, Goal
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Problem

PRIORITY = 100
"""Priorities count in hundredths, so that the solver sees whole numbers."""


def wants(season: SeasonRows) -> Goal:
    """Weighted portions short."""
    problem = season.problem
    made = Counter({season.pouches[o.number]: -_weight(problem, o.demand) for o in problem.options})
    total = Sum(made, _wanted(problem))
    return Goal("wants", Aim(total, lambda choice: short_value(problem, choice)), PRIORITY)


def short_value(problem: Problem, choice: Choice) -> int:
    """Weighted portions short, in hundredths."""
    return _wanted(problem) - sum(
        _weight(problem, problem.options[o].demand) * n for o, n in choice.pouches.items()
    )


def _wanted(problem: Problem) -> int:
    return sum(_weight(problem, i) * d.portions for i, d in enumerate(problem.demands))


def _weight(problem: Problem, demand: int) -> int:
    return round(PRIORITY * problem.demands[demand].priority)
