"""Overtime: minutes of extra windows used."""

from __future__ import annotations

from harvestplan.inputs.windows import FreeWindow
from harvestplan.schedule.goals.goal import Aim, Goal
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.choice import Choice, windows_used
from harvestplan.schedule.statement.problem import Problem


def overtime(season: SeasonRows) -> Goal:
    """Minutes of extra windows used."""
    problem = season.problem
    late = {season.used[w]: _minutes(problem, w) for w, x in enumerate(problem.windows) if _late(x)}
    return Goal("overtime", Aim(Sum(late), lambda choice: overtime_value(problem, choice)), 1)


def overtime_value(problem: Problem, choice: Choice) -> int:
    """Minutes of the extra windows that are used."""
    return sum(
        _minutes(problem, w) for w in windows_used(problem, choice) if _late(problem.windows[w])
    )


def _late(window: FreeWindow) -> bool:
    return window.extra and not window.is_visit


def _minutes(problem: Problem, window: int) -> int:
    span = problem.windows[window]
    return int((span.end - span.start).total_seconds() // 60)
