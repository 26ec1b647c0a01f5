"""What a choice is worth, part by part, reckoned by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from ortools.sat.python import cp_model
from schedule.small_problems import (
    BEANS,
    LIBRARY,
    ONIONS,
    RAW,
    bean_lots,
    choice,
    lot,
    problem,
    window,
)
from schedule.small_seasons import FIRST, kitchen_season

from harvestplan.household import Household
from harvestplan.schedule.goals.part import MICRO, TIE
from harvestplan.schedule.goals.portions_put_by import portions_short
from harvestplan.schedule.goals.worth import Goal, worth_of_season
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.problem import Problem

A_DAY = 0.07
"""Of their worth snap beans lose so much a day in the fridge; what is picked waits there."""


def with_toil(**toil: float) -> Problem:
    """Beans for ten on Monday, six wanted; Monday, an extra Tuesday evening of two hours, and
    Wednesday."""
    windows = [window(0), window(1, 2, extra=True), window(2)]
    picked = [each.model_copy(update={"picked": True}) for each in bean_lots(10 * RAW)]
    stated = problem(picked, windows, (BEANS, 6))
    span = stated.season.season.model_copy(update=toil)
    return replace(stated, season=stated.season.model_copy(update={"season": span}))


TOIL: dict[str, Any] = {
    "evening_is_worth": 2.0,
    "food_is_worth": 0.5,
    "late_hour_is_worth": 1.0,
}


def goal_of(stated: Problem) -> Goal:
    return worth_of_season(state_rules(stated))


def parts_of(stated: Problem, *made: tuple[int, int]) -> dict[str, float]:
    """Portions of each part that counts, below nought what it takes."""
    costs = {part.name: part.cost(choice(stated, *made)) for part in goal_of(stated).parts}
    return {name: -cost / MICRO for name, cost in costs.items() if cost}


def test_the_parts_of_a_choice() -> None:
    """Two pouches on Tuesday and three on Wednesday, of Monday's beans."""
    stated = with_toil(**TOIL)
    assert [option.first for option in stated.options] == [0, 1, 2]
    found = parts_of(stated, (1, 2), (2, 3))
    lost = A_DAY * (2 * 1 + 3 * 2)
    # Of the first batch a pouch is missing to three, for which it would be worth beginning: that
    # costs twice what a beginning does.
    assert found == pytest.approx(
        {"portions": 5, "freshness": -lost, "evenings": -4, "foods started": -2}
        | {"extra hours": -2},
        abs=1e-3,
    )
    whole = goal_of(stated).worth(choice(stated, (1, 2), (2, 3))) / MICRO
    assert whole == pytest.approx(sum(found.values()), abs=1e-6)
    assert portions_short(stated, choice(stated, (1, 2), (2, 3))) == 1


def test_toil_that_is_worth_nothing_breaks_ties_alone() -> None:
    stated = with_toil(evening_is_worth=0.0, food_is_worth=0.0, late_hour_is_worth=0.0)
    found = parts_of(stated, (1, 3))
    ties = {"evenings": 1, "foods started": 1, "extra hours": 2}
    assert {name: round(-found[name] * MICRO / TIE) for name in ties} == ties


@pytest.mark.parametrize("made", [[(0, 6)], [(1, 2)], [(1, 2), (2, 3)], [(0, 1), (1, 1), (2, 1)]])
def test_the_solver_counts_the_same(made: list[tuple[int, int]]) -> None:
    stated = with_toil(**TOIL)
    chosen = choice(stated, *made)
    model = SeasonModel(stated, ())
    goal = worth_of_season(model.season)
    model.minimize(goal.total)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model.copy(None, model.but_for((), chosen))) == cp_model.OPTIMAL
    assert solver.objective_value == goal.cost(chosen)


def test_an_evening_and_the_visit_after_it() -> None:
    visit = replace(window(1, 0.5, start=12), kind="visit")
    season = kitchen_season([{"product": ONIONS, "portions": 9, "portion": "340 g"}])
    span = season.season.model_copy(update={"evening_is_worth": 3.0, "visit_is_worth": 0.75})
    season = season.model_copy(update={"season": span})
    household = Household(season, LIBRARY, (window(0),), visits=(visit,))
    stated = build_problem(household, [lot("onion", FIRST, 9, grams=9000)], FIRST)
    (option,) = stated.options
    assert option.second is not None
    found = parts_of(stated, (option.number, 4))
    assert (found["evenings"], found["visits"]) == (-3.0, -0.75)
