"""What a plan is worth, in portions: what it puts by, less what it takes.

A new part of it is a function that gives a `GoalPart`, in a module beside this one, and a line
here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

from harvestplan.schedule.goals.freshness_lost import freshness_lost
from harvestplan.schedule.goals.moving import left_to_spoil, moving
from harvestplan.schedule.goals.part import GoalPart
from harvestplan.schedule.goals.portions_put_by import portions_put_by
from harvestplan.schedule.goals.toil import evenings, extra_hours, foods_started, visits
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.choice import Choice

PARTS: tuple[Callable[[SeasonRows], GoalPart], ...] = (
    portions_put_by,
    freshness_lost,
    evenings,
    visits,
    foods_started,
    extra_hours,
    moving,
    left_to_spoil,
)


@dataclass(frozen=True)
class Goal:
    """The parts of a season's worth; all of them together are made least."""

    parts: tuple[GoalPart, ...]

    @property
    def total(self) -> Sum:
        """What is made least, in millionths of a portion: the plan's worth below nought."""
        terms: Counter[int] = Counter()
        for part in self.parts:
            for number, weight in part.total.terms.items():
                terms[number] += weight
        return Sum(terms, sum(part.total.constant for part in self.parts))

    def cost(self, choice: Choice) -> int:
        """The same of a choice."""
        return sum(part.cost(choice) for part in self.parts)

    def worth(self, choice: Choice) -> int:
        """What the choice is worth, in millionths of a portion."""
        return -self.cost(choice)


def worth_of_season(season: SeasonRows) -> Goal:
    """The season's goal; what it needs of rows is added."""
    return Goal(tuple(part(season) for part in PARTS))
