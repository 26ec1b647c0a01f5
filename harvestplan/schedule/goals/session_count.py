"""Evenings: how many sessions, and visits as a part of one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace

from harvestplan.schedule.goals.goal import Aim, Goal
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.choice import windows_used
from harvestplan.schedule.statement.problem import Problem

VISITS_TO_AN_EVENING = 4
"""So many visits are as much trouble as an evening (own judgement)."""
SLIGHT = 0.03
"""Of evenings with their visits: of thirty less than one, a few visits, and long to prove (own
judgement)."""


def evenings(season: SeasonRows) -> Goal:
    """Sessions; a visit counts a quarter."""
    problem = season.problem
    parts = _parts_of(problem)
    used = Sum(Counter({season.used[w]: part for w, part in enumerate(parts)}))
    aim = Aim(used, lambda choice: _counted(parts, windows_used(problem, choice)))
    if max(parts, default=1) > 1:
        aim = replace(aim, part=_without_visits(season), slight=SLIGHT)
    return Goal("evenings", aim, max(parts, default=1))


def _without_visits(season: SeasonRows) -> Aim:
    """Sessions alone."""
    windows = season.problem.windows
    evenings = {w for w, window in enumerate(windows) if not window.is_visit}
    used = Sum(Counter(season.used[w] for w in evenings))
    return Aim(used, lambda choice: len(windows_used(season.problem, choice) & evenings))


def evenings_counted(problem: Problem, windows: Iterable[int]) -> float:
    """Sessions in these windows; a visit counts a quarter."""
    parts = _parts_of(problem)
    return _counted(parts, windows) / max(parts, default=1)


def _counted(parts: list[int], windows: Iterable[int]) -> int:
    return sum(parts[w] for w in windows)


def _parts_of(problem: Problem) -> list[int]:
    """By window what it counts, in whole numbers: as one each where there is no visit."""
    evening = VISITS_TO_AN_EVENING if any(w.is_visit for w in problem.windows) else 1
    return [1 if window.is_visit else evening for window in problem.windows]
