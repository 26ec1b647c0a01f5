"""What food loses of its worth between the day it is ready and the day it is put by."""

from __future__ import annotations

from harvestplan.kitchen.process import MILLI
from harvestplan.kitchen.worth_lost import share_lost
from harvestplan.schedule.goals.part import GoalPart, in_micro
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Option, Problem


def freshness_lost(season: SeasonRows) -> GoalPart:
    """Each gram takes the share of its portion's worth that was lost while it waited."""
    problem = season.problem
    costs = {
        share: cost
        for (o, lot), share in season.share.items()
        if (cost := cost_of_gram(problem, problem.options[o], lot))
    }
    return GoalPart("freshness", Sum(costs), lambda choice: _lost(problem, choice))


def _lost(problem: Problem, choice: Choice) -> int:
    return sum(
        cost_of_gram(problem, problem.options[o], lot) * grams
        for o, shares in choice.shares.items()
        for lot, grams in shares.items()
    )


def cost_of_gram(problem: Problem, option: Option, lot: int) -> int:
    """Millionths of a portion that a gram of the lot has lost by the option's first sitting.

    It stands on its plant as long as it can, and is picked for the session.
    """
    food, demand = problem.lots[lot], problem.demands[option.demand]
    crop = demand.process.crop
    waited = max(0, (problem.windows[option.first].start.date() - food.ready).days)
    can_stand = 0 if food.picked or food.planting is None else crop.stands
    standing = min(waited, can_stand)
    lost = share_lost(
        crop,
        cellar=problem.season.cold.cellar,
        standing=standing,
        waiting=waited - standing,
        keeps=(food.keep_until - food.ready).days - can_stand,
    )
    return in_micro(demand.priority * lost * MILLI / demand.process.raw_milligrams)
