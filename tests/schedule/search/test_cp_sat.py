"""What may differ from a choice, and what is proven and what is not."""

from __future__ import annotations

from ortools.sat.python import cp_model
from schedule.small_problems import (
    PUREE,
    RAW,
    lot,
    problem,
    three_evenings,
    two_foods,
    window,
)
from schedule.small_seasons import FIRST

from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.search.cp_sat import Fixed, SeasonModel
from harvestplan.schedule.search.neighbourhoods import touching
from harvestplan.schedule.statement.choice import Choice, Cut


def greatest(model: SeasonModel, total: Sum, fixed: Fixed) -> float:
    """The most of a sum that the rules allow with variables fixed."""
    copy = model.copy(None, fixed)
    copy.maximize(model.expression(total))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(copy) == cp_model.OPTIMAL
    return solver.objective_value


def most(model: SeasonModel, option: int, fixed: Fixed) -> float:
    """The most pouches of an option that the rules allow."""
    return greatest(model, Sum({model.season.pouches[option]: 1}), fixed)


def fewest(model: SeasonModel, option: int, fixed: Fixed) -> float:
    """The fewest pouches of an option that the rules allow."""
    return -greatest(model, Sum({model.season.pouches[option]: -1}), fixed)


def test_near_a_choice_only_the_free_evenings_differ() -> None:
    model, made = three_evenings()
    held = model.but_for(touching(model.problem, [0]), made)
    assert [most(model, option, held) for option in range(3)] == [5, 4, 0]
    assert [fewest(model, option, held) for option in range(3)] == [0, 4, 0]


def test_near_a_choice_what_touches_a_free_evening_differs_with_its_other_sitting() -> None:
    """Purée begun on Monday and packed on Tuesday, with only Monday free, or only Tuesday."""
    squash = [lot("winter squash", FIRST, 30, grams=9000)]
    stated = problem(squash, [window(d, 6) for d in range(3)], (PUREE, 4))
    model = SeasonModel(stated, ())
    options = {(o.first, o.second): o.number for o in stated.options}
    for free, pouches in ((0, 4), (1, 4), (2, 0)):
        held = model.but_for(touching(stated, [free]), Choice({}, {}))
        assert most(model, options[0, 1], held) == pouches


def test_a_choice_is_held_by_its_grams_too() -> None:
    """Grams of a run that are not those of its pouches, or more than a lot has, are no plan."""
    model, made = three_evenings()
    assert model.holds(made)
    for first, second in ((4 * RAW + 1, 4 * RAW), (4 * RAW, 4 * RAW - 1), (5 * RAW, 3 * RAW)):
        assert not model.holds(Choice(made.pouches, {0: {0: first}, 1: {0: second}}))


def test_what_is_not_proven_holds_where_plans_are_sought_and_not_where_bounds_are() -> None:
    stated = two_foods()
    for proven, bound in ((True, 3), (False, 9)):
        cut = Cut(((0, "whole", 4),), stated.length(0), 2, proven=proven)
        model = SeasonModel(stated, (cut,))
        assert most(model, 0, {}) == bound
        assert most(model, 0, model.heedful()) == 3
