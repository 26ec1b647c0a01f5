"""How the search goes about it: the whole season is looked at, and nothing counts as proven that is
not."""

from __future__ import annotations

import math
import random
from contextlib import nullcontext
from dataclasses import replace
from typing import Any

import pytest
from each_case import each
from ortools.sat.python import cp_model
from schedule.small_problems import (
    BEANS,
    DRY,
    RAW,
    bean_lots,
    choice,
    lot,
    problem,
    solve_small,
    window,
)
from schedule.small_seasons import FIRST
from schedule.tiny_seasons import tiny

from harvestplan.errors import NoValidPlan
from harvestplan.schedule.goals.part import MICRO
from harvestplan.schedule.goals.portions_put_by import portions_short
from harvestplan.schedule.goals.worth import worth_of_season
from harvestplan.schedule.search import season_search as searching
from harvestplan.schedule.search.bandit import LEAST_CHANCE, Bandit
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.linear import in_parts
from harvestplan.schedule.search.neighbourhoods import KINDS, Around, kinds_for
from harvestplan.schedule.search.scip import Branching, Least
from harvestplan.schedule.search.season_search import SeasonSearch
from harvestplan.schedule.search.solve_season import Known, Solved, solve_season
from harvestplan.schedule.session.tasks import DoesNotFit, SessionTimes
from harvestplan.schedule.session.timed_sessions import FIT_EFFORT, TimedSessions, WindowRun
from harvestplan.schedule.solver_call import one_worker, solve
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.opening import Opening
from harvestplan.schedule.statement.problem import Pinned, Problem

USUAL = Effort()


def test_a_start_that_keeps_no_rule_is_not_taken_up() -> None:
    """Nine pouches of food for six; and six on an evening with time for two or three."""
    stated = problem(bean_lots(6 * RAW), [window(0, 6), window(1, 1.5)], (BEANS, 9))
    for start in (Choice({0: 9}, {0: {0: 6 * RAW}}), choice(stated, (1, 6))):
        found = solve_small(stated, start=start)
        assert SeasonModel(stated, ()).holds(found.choice)
        assert portions_short(stated, found.choice) == 3


def test_where_the_freezer_is_too_full_already_there_is_no_plan() -> None:
    stated = problem(bean_lots(4 * RAW), [window(0, 6)], (BEANS, 9))
    for there, possible in ((100_000, True), (100_001, False)):
        full = replace(stated, opening=Opening({}, {"chest": there}))
        with nullcontext() if possible else pytest.raises(NoValidPlan):
            assert solve_small(full).choice.pouches == {}


# Where it looks.


def search(stated: Problem, best: Choice | None = None, effort: Effort = USUAL) -> SeasonSearch:
    model = SeasonModel(stated, ())
    goal = worth_of_season(model.season)
    return SeasonSearch(
        model,
        TimedSessions(stated, 1),
        goal,
        best=best or Choice({}, {}),
        effort=effort,
        bound=-math.inf,
        heard=lambda search: None,
    )


def drawn(stated: Problem, kind: str, share: float, seed: int) -> frozenset[int]:
    around = Around(stated, Choice({}, {}), {}, random.Random(seed))
    return KINDS[kind](around, share)


@pytest.mark.parametrize("kind", KINDS)
def test_every_run_is_freed_sooner_or_later(kind: str) -> None:
    """By each kind of neighbourhood, a small one; and all at once by the largest."""
    roots = [lot(crop, FIRST, 60, grams=9000) for crop in ("carrot", "beet")]
    stated = problem(
        [*bean_lots(*[9 * RAW] * 5, keeps=6), *roots],
        [window(d, 6) for d in range(0, 35, 3)],
        *((product, 9) for product in (BEANS, "carrot, sliced", "beet, sliced")),
    )
    every = {option.number for option in stated.options}
    freed = [drawn(stated, kind, 0.2, seed) for seed in range(200)]
    assert set().union(*freed) == every
    assert any(free != every for free in freed)
    whole = [drawn(stated, kind, 1.0, seed) for seed in range(50)]
    assert every in whole


def test_one_freezer_is_looked_at_alone_only_where_there_are_several() -> None:
    one = problem(bean_lots(9 * RAW), [window(0)], (BEANS, 9))
    assert kinds_for(one) == [kind for kind in KINDS if kind != "freezer"]
    two = next(p for p in map(tiny, range(80)) if len(p.kitchen.freezers) == 2)
    assert kinds_for(two) == list(KINDS)


def test_what_gains_more_is_drawn_more_often_and_nothing_is_given_up() -> None:
    bandit = Bandit(["good", "poor"], random.Random(1))
    drawn = {"good": 0, "poor": 0}
    for _ in range(2000):
        kind, _ = bandit.next()
        drawn[kind] += 1
        bandit.learn(kind, gained=1.0 if kind == "good" else 0.0, spent=1.0, solved=True)
    share = drawn["poor"] / 2000
    assert LEAST_CHANCE / 2 < share < 2 * LEAST_CHANCE


def test_a_neighbourhood_that_is_solved_grows_and_one_that_is_not_shrinks() -> None:
    bandit = Bandit(["one"], random.Random(1))
    shares = [bandit.next()[1]]
    for solved in (True, True, False, False, False, False):
        bandit.learn("one", gained=0.0, spent=1.0, solved=solved)
        shares.append(bandit.next()[1])
    assert shares[0] < shares[1] < shares[2] > shares[3] > shares[4]
    for solved, end in ((True, 1.0), (False, 0.05)):
        for _ in range(60):
            bandit.learn("one", gained=0.0, spent=1.0, solved=solved)
        assert bandit.next()[1] == end


@each("seed", range(12))
def test_in_parts_no_plan_is_worth_more(seed: int) -> None:
    """The linear relaxation is no worse than the best plan of a tiny season."""
    stated = tiny(seed)
    model = SeasonModel(stated, ())
    goal = worth_of_season(model.season)
    model.minimize(goal.total)
    values = in_parts(model.program())
    assert values is not None
    total = goal.total
    least = total.constant + sum(weight * values[n] for n, weight in total.terms.items())
    found = solve_season(stated, TimedSessions(stated, 1), Effort())
    assert least / MICRO <= -found.worth + 1e-6


# What is proven.


def proving(monkeypatch: pytest.MonkeyPatch, bound: float) -> list[int]:
    """Branch and bound proves the bound and finds nothing; the nodes that it was allowed."""
    asked: list[int] = []

    class Nowhere(Branching):
        def __init__(self, program: object, nodes: int, seed: int, **more: object) -> None:
            asked.append(nodes)

        def run(self) -> Least:
            return Least(bound, None, False, impossible=False, nodes=3)

    monkeypatch.setattr(searching, "Branching", Nowhere)
    return asked


@pytest.mark.parametrize("proven", [-math.inf, math.inf, math.nan, -5e6, -3.9e6])
def test_only_what_is_proven_is_a_bound(proven: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """What says nothing proves nothing."""
    proving(monkeypatch, proven)
    looking = search(problem(bean_lots(4 * RAW), [window(0, 6)], (BEANS, 9)))
    looking.run()
    assert looking.bound == (proven if math.isfinite(proven) else -math.inf)


def test_of_a_larger_season_fewer_nodes_are_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """A node of it takes longer: twice as large with the power of one and a half, as measured."""
    effort = Effort(nodes=400)
    sizes = (1000, 2000, 4000, 2_000_000)
    assert [effort.nodes_for(size) for size in sizes] == [400, 400, 141, 1]
    asked = proving(monkeypatch, -math.inf)
    stated = problem(bean_lots(4 * RAW), [window(0, 6)], (BEANS, 9))
    search(stated, effort=replace(effort, rounds=1)).run()
    assert set(asked) == {400} and len(asked) == searching.SMALL_ROUNDS


def test_where_nothing_can_be_better_nothing_is_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four of nine are all there is food for, and that is known."""
    stated = problem(bean_lots(4 * RAW), [window(0, 6)], (BEANS, 9))
    looking = search(stated, best=choice(stated, (0, 4)))
    assert not looking.settled
    looking.bound = looking.cost
    monkeypatch.setattr(searching, "Branching", None)
    monkeypatch.setattr(searching, "solve", None)
    assert looking.settled
    looking.run()


def test_where_the_plan_by_hand_breaks_a_rule_another_is_the_first() -> None:
    """By hand all is made on Monday; the household put it on Wednesday."""
    stated = problem(bean_lots(3 * RAW), [window(0, 6), window(2, 6)], (BEANS, 3))
    looking = search(replace(stated, pinned=(Pinned(1, 0, False, pouches=3),)))
    looking.begin()
    assert looking.best.pouches == {1: 3}


class Busy(TimedSessions):
    """Two pouches an evening, all told; whether that is proven is said beforehand."""

    proven = True

    def fits(
        self, window: int, runs: tuple[WindowRun, ...], effort: float = FIT_EFFORT
    ) -> SessionTimes | DoesNotFit:
        if sum(run.pouches for run in runs) > 2:
            return DoesNotFit(self.proven)
        return super().fits(window, runs, effort)


def two_busy_evenings(proven: bool, effort: Effort = USUAL, **known: Any) -> Solved:
    """Food for nine, which are wanted, and two evenings."""
    stated = problem(bean_lots(9 * RAW), [window(0, 6), window(1, 6)], (BEANS, 9))
    book = Busy(stated, 1)
    book.proven = proven
    return solve_season(stated, book, effort, known=Known(**known))


def test_what_an_evening_proves_bounds_the_season_and_what_it_does_not_prove_does_not() -> None:
    for proven in (True, False):
        found = two_busy_evenings(proven)
        assert sorted(found.choice.pouches.values()) == [2, 2]
        assert found.proven == proven
        assert (found.bound < 4.5) == proven
        assert found.gap == pytest.approx((found.bound - found.worth) / found.worth)
        assert found.cuts and all(cut.proven == proven for cut in found.cuts)


def test_what_has_time_of_a_choice_counts_at_once() -> None:
    """Two pouches fit an evening: the larger run stays, and both where they fit together. Nothing
    is mended, so that it is all there is."""
    lots = [*bean_lots(9 * RAW, keeps=3), lot("dry bean", FIRST, 30, grams=9000)]
    stated = problem(lots, [window(0, 6), window(1, 6)], (BEANS, 9), (DRY, 9))
    number = {
        (stated.demands[o.demand].process.name, o.first): o.number
        for o in stated.options
        if o.second is None
    }
    made = {
        (BEANS, 0): 1,
        (DRY, 0): 2,  # one too many
        (BEANS, 1): 1,
        (DRY, 1): 1,
    }
    portions = [demand.process.raw_per_portion for demand in stated.demands]
    pouches = {number[key]: n for key, n in made.items()}
    shares = {
        o: {stated.options[o].lots[0]: n * portions[stated.options[o].demand]}
        for o, n in pouches.items()
    }
    looking = search(stated)
    looking.timed = Busy(stated, 1)
    part = looking.timed.fitting_part(Choice(pouches, shares))
    assert part.pouches == {number[key]: made[key] for key in made if key != (BEANS, 0)}
    assert part.shares.keys() == part.pouches.keys()
    looking._mended = lambda choice, bad: None  # type: ignore[method-assign]
    looking._take_up(Choice(pouches, shares))
    assert looking.best == part


def test_what_is_known_beforehand_need_not_be_proven_again() -> None:
    """No effort at all: a bound, or the cuts from before; without them nothing is proven."""
    cuts = tuple(two_busy_evenings(True).cuts)
    nothing = Effort(rounds=0)
    for known, bound in (({}, math.inf), ({"most": 6.0}, 6.0), ({"most": 0.0}, None)):
        found = two_busy_evenings(True, nothing, **known)
        assert sum(found.choice.pouches.values()) == 4
        assert found.bound == (found.worth if bound is None else bound)
    found = two_busy_evenings(True, Effort(nodes=1), cuts=cuts)
    assert found.proven and found.cuts == []


def test_the_same_effort_does_the_same_work() -> None:
    """Four sums to be missed by as little as can be, which takes long: after as much effort as much
    was tried, whatever else the machine does."""
    draw = random.Random(1)
    model = cp_model.CpModel()
    switches = [model.new_bool_var("") for _ in range(40)]
    missed = [model.new_int_var(-2000, 2000, "") for _ in range(4)]
    for miss in missed:
        weights = [draw.randrange(100) for _ in switches]
        total = cp_model.LinearExpr.weighted_sum(switches, weights)
        model.add(total + miss == sum(weights) // 2)
    most = model.new_int_var(0, 2000, "")
    model.add_max_equality(most, [*missed, *(-miss for miss in missed)])
    model.minimize(most)

    def work() -> tuple[float, ...]:
        solver = one_worker(0.1)
        assert solve(solver, model) == cp_model.FEASIBLE
        return solver.objective_value, solver.best_objective_bound, solver.num_branches

    assert work() == work()


@each("seed", range(0, 60, 6))
def test_the_same_files_give_the_same_plan(seed: int) -> None:
    """Though branch and bound and the looks nearby run side by side, whichever is quicker."""
    stated = tiny(seed)
    first, again = (solve_season(stated, TimedSessions(stated, 1), Effort()) for _ in range(2))
    assert (first.choice, first.worth, first.bound) == (again.choice, again.worth, again.bound)


def test_one_who_waits_hears_how_far_it_is() -> None:
    """The best so far with its bound, never worse, and how much of the effort is spent."""
    told: list[Solved] = []
    stated = problem(bean_lots(9 * RAW), [window(0, 6), window(1, 6)], (BEANS, 9))
    solve_season(stated, Busy(stated, 1), Effort(), heard=told.append)
    assert len(told) >= 2
    assert [so_far.worth for so_far in told] == sorted(so_far.worth for so_far in told)
    bounds = [so_far.bound for so_far in told]
    assert bounds == sorted(bounds, reverse=True)
    assert [so_far.done for so_far in told] == sorted(so_far.done for so_far in told)
