"""Portions put by, each counted by its want's priority."""

from __future__ import annotations

from collections import Counter

from harvestplan.schedule.goals.part import GoalPart, in_micro
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Problem


def portions_put_by(season: SeasonRows) -> GoalPart:
    """A portion of a want is worth its priority."""
    problem = season.problem
    made = {season.pouches[o.number]: -_worth(problem, o.demand) for o in problem.options}
    return GoalPart("portions", Sum(Counter(made)), lambda choice: -_put_by(problem, choice))


def portions_short(problem: Problem, choice: Choice) -> float:
    """Portions short of what is still wanted, by priority."""
    wanted = sum(demand.priority * demand.portions for demand in problem.demands)
    made = sum(
        problem.demands[problem.options[o].demand].priority * n for o, n in choice.pouches.items()
    )
    return round(wanted - made, 6)


def _put_by(problem: Problem, choice: Choice) -> int:
    return sum(_worth(problem, problem.options[o].demand) * n for o, n in choice.pouches.items())


def _worth(problem: Problem, demand: int) -> int:
    return in_micro(problem.demands[demand].priority)
