"""Evenings: how many sessions."""

from __future__ import annotations

from collections import Counter

from harvestplan.schedule.goals.goal import Aim, Goal
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.choice import windows_used


def evenings(season: SeasonRows) -> Goal:
    """Sessions."""
    problem = season.problem
    used = Sum(Counter(season.used))
    return Goal("evenings", Aim(used, lambda choice: len(windows_used(problem, choice))), 1)
