"""Waiting: kilograms times the share of their keeping time used up, in hundredths."""

from __future__ import annotations

from harvestplan.schedule.goals.goal import Aim, Goal
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Option, Problem

WAITING_SCALE = 1000
"""Waiting counts in hundredths of keeping time times grams; its unit has kilograms."""
SLIGHT = 0.005
"""Of the waiting, half a hundredth: less than anybody tastes, and long to prove (own judgement)."""


def waiting(season: SeasonRows) -> Goal:
    """Kilograms times the share of their keeping time used up, in hundredths."""
    problem = season.problem
    costs = {
        share: cost
        for (o, lot), share in season.share.items()
        if (cost := waiting_cost(problem, problem.options[o], lot))
    }
    aim = Aim(Sum(costs), lambda choice: waiting_value(problem, choice), SLIGHT, open_choice=False)
    return Goal("waiting", aim, WAITING_SCALE)


def waiting_value(problem: Problem, choice: Choice) -> int:
    """Grams times hundredths of keeping time used up."""
    return sum(
        waiting_cost(problem, problem.options[o], lot) * grams
        for o, shares in choice.shares.items()
        for lot, grams in shares.items()
    )


def waiting_cost(problem: Problem, option: Option, lot: int) -> int:
    """Hundredths of the lot's keeping time used up when it waits for the option's window."""
    food = problem.lots[lot]
    waited = (problem.windows[option.first].start.date() - food.ready).days
    keeps = max(1, (food.keep_until - food.ready).days)
    return round(100 * waited / keeps)
