"""What a new plan changes of the published one, as it is counted and as the solver sees it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from ortools.sat.python import cp_model
from planning.starter_folder import JULY, SPRING, folder_in, plan_on
from schedule.small_problems import (
    BEANS,
    PUREE,
    RAW,
    bean_lots,
    choice,
    lot,
    problem,
    window,
)
from schedule.small_seasons import FIRST

from harvestplan.planning.make import state_problem
from harvestplan.planning.read import read_household
from harvestplan.schedule.goals.moving import (
    MOVED,
    OTHER_FREEZER,
    left_to_spoil,
    moving,
    nearness,
)
from harvestplan.schedule.goals.part import GoalPart
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.search.conversion import grams_of
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.weekly_plan import quick_choice
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Earlier, EarlierRun, Problem


def moved(stated: Problem, choice: Choice) -> int:
    """What moves against the published plan, in millionths of a portion."""
    return moving(state_rules(stated)).cost(choice)


def spoiled(stated: Problem, choice: Choice) -> int:
    """What is left to spoil, in the same."""
    return left_to_spoil(state_rules(stated)).cost(choice)


@pytest.fixture(scope="module")
def summer(tmp_path_factory: pytest.TempPathFactory) -> Problem:
    folder = folder_in(tmp_path_factory.mktemp("change"))
    before = plan_on(folder, SPRING, None)
    return state_problem(read_household(folder, JULY), JULY, before)


def published(problem: Problem) -> dict[int, int]:
    """Pouches of the published plan by option, where they are still options."""
    assert problem.earlier is not None
    found = {}
    for option in problem.options:
        name = problem.demands[option.demand].process.name
        key = (problem.windows[option.first].start, name)
        if option.second is None and key in problem.earlier.pouches:
            found[option.number] = problem.earlier.pouches[key]
    return found


def test_what_is_taken_away_is_dearer_the_nearer_and_what_is_added_is_not(summer: Problem) -> None:
    kept = published(summer)
    cost = moving(state_rules(summer)).cost
    nothing_new = cost(Choice(kept, {}))
    for number, pouches in kept.items():
        days = (summer.windows[summer.options[number].first].start.date() - JULY).days
        fewer = {**kept, number: pouches - 1}
        assert cost(Choice(fewer, {})) - nothing_new == MOVED * nearness(days)
    new = [o.number for o in summer.options if o.second is None and o.number not in kept]
    assert {cost(Choice({**kept, n: 1}, {})) - nothing_new for n in new} == {MOVED}


@pytest.mark.parametrize("part", [moving, left_to_spoil])
def test_the_solver_counts_the_same(
    summer: Problem, part: Callable[[SeasonRows], GoalPart]
) -> None:
    choice = quick_choice(summer, {})
    assert choice.pouches
    model = SeasonModel(summer, ())
    counted = part(model.season)
    model.minimize(counted.total)
    fixed = model.but_for((), choice) | dict(grams_of(model.season, choice))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model.copy(None, fixed)) == cp_model.OPTIMAL
    assert solver.objective_value == counted.cost(choice)


def test_a_change_weighs_less_the_farther_it_is() -> None:
    days = [0, 6, 7, 13, 14, 62, 63, 400, -3]
    assert [nearness(d) for d in days] == [10, 10, 9, 9, 8, 2, 1, 1, 10]


def test_what_differs_from_the_plan_before() -> None:
    """Four pouches on Monday, and two in a week for which there is no food any more: those are lost
    whatever is chosen, and weigh less than two of Monday's would."""
    stated = problem(bean_lots(10 * RAW), [window(0), window(2), window(7)], (BEANS, 6))
    runs = tuple(
        EarlierRun(BEANS, stated.windows[w].start, None, freezer="chest", pouches=n, shares={})
        for w, n in ((0, 4), (2, 2))
    )
    planned = replace(stated, earlier=Earlier(runs))

    def changed(pouches: int) -> int:
        return moved(planned, choice(planned, (0, pouches)))

    lost, fewer, more = changed(4), changed(3) - changed(4), changed(5) - changed(4)
    assert lost * nearness(0) == 2 * fewer * nearness(7)
    assert changed(1) == lost + 3 * fewer
    assert 0 < more < fewer


def test_to_leave_what_a_poor_year_needs_is_dearer_than_any_move() -> None:
    """Six pouches are wanted of the ten picked, and none was planned: what is used of the six is
    not left, nor is anything of the four more that nobody wants."""
    (picked,) = bean_lots(10 * RAW)
    there = [picked.model_copy(update={"picked": True})]
    stated = problem(there, [window(0, 6)], (BEANS, 6))
    planned = replace(stated, earlier=Earlier(()))

    def left(pouches: int, grams: int) -> int:
        return spoiled(planned, Choice({0: pouches}, {0: {0: grams}}))

    assert [left(6, 6 * RAW + more) for more in (0, 1, 4 * RAW)] == [0, 0, 0]
    assert left(5, 5 * RAW) > MOVED * (nearness(0) + 1)
    assert left(6, 6 * RAW - 1) * RAW == left(5, 5 * RAW)
    assert left(2, 2 * RAW) == 4 * left(5, 5 * RAW)


def test_a_pouch_of_food_left_is_dearer_than_any_move_however_much_it_takes() -> None:
    """It counts by the gram: for squash in whole hundredths as well as for beans."""
    for product, keeps in ((BEANS, 2), (PUREE, 30), ("broccoli, florets", 5)):
        food = lot(product.split(",")[0], FIRST, keeps, grams=9000).model_copy(
            update={"picked": True}
        )
        stated = problem([food], [window(0, 6)], (product, 3))
        raw = stated.demands[0].process.raw_per_portion
        planned = replace(stated, earlier=Earlier(()))
        kept, left = (
            spoiled(planned, Choice({0: 3}, {0: {0: grams}})) for grams in (3 * raw, 2 * raw)
        )
        assert left - kept > MOVED * (nearness(0) + 1)


def test_another_freezer_breaks_ties_alone() -> None:
    """Twins: the published plan's freezer is kept where all else is equal; all of them in the
    other weigh less than one pouch more or fewer."""
    stated = problem(bean_lots(10 * RAW), [window(0)], (BEANS, 6))
    (option,) = stated.options
    twin = replace(option, number=1, freezer="upright")
    run = EarlierRun(BEANS, stated.windows[0].start, None, freezer="chest", pouches=4, shares={})
    planned = replace(stated, options=(option, twin), earlier=Earlier((run,)))

    def changed(chest: int, upright: int) -> int:
        made = {0: chest, 1: upright}
        return moved(planned, Choice({n: p for n, p in made.items() if p}, {}))

    assert (option.freezer, changed(4, 0)) == ("chest", 0)
    assert [changed(4 - n, n) for n in (1, 4)] == [OTHER_FREEZER, 4 * OTHER_FREEZER]
    assert changed(0, 4) < min(changed(5, 0), changed(3, 0))
