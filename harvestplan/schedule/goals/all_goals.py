"""The goals of a season plan, the most important first.

A new goal is a module beside this one, and a line here.
"""

from __future__ import annotations

from collections.abc import Callable

from harvestplan.schedule.goals.goal import Goal
from harvestplan.schedule.goals.late_minutes import overtime
from harvestplan.schedule.goals.moved_pouches import change
from harvestplan.schedule.goals.portions_short import wants
from harvestplan.schedule.goals.session_count import evenings
from harvestplan.schedule.goals.waiting_time import waiting
from harvestplan.schedule.rules.season_rows import SeasonRows

GOALS: tuple[Callable[[SeasonRows], Goal], ...] = (wants, change, evenings, overtime, waiting)


def season_goals(season: SeasonRows) -> list[Goal]:
    """Each level's goal, to be minimised in this order; what it needs of rows is added."""
    return [goal(season) for goal in GOALS]
