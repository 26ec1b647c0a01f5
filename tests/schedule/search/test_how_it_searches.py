"""How the levels go about it: the whole season is looked at, and nothing counts as proven that is
not."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import replace
from typing import Any

import pytest
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

from harvestplan.errors import NoValidPlan
from harvestplan.schedule.goals.all_goals import season_goals
from harvestplan.schedule.goals.waiting_time import waiting_cost
from harvestplan.schedule.search import one_level as searching
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.levels import Effort, Known, Solved, solve_levels
from harvestplan.schedule.search.one_level import STRETCHES, LevelSearch
from harvestplan.schedule.search.scip import Least
from harvestplan.schedule.session.tasks import DoesNotFit, SessionTimes
from harvestplan.schedule.session.timed_sessions import FIT_EFFORT, TimedSessions, WindowRun
from harvestplan.schedule.solver_call import one_worker, solve
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.opening import Opening
from harvestplan.schedule.statement.problem import Pinned, Problem


def test_a_start_that_keeps_no_rule_is_not_taken_up() -> None:
    """Nine pouches of food for six; and six on an evening with time for two or three."""
    stated = problem(bean_lots(6 * RAW), [window(0, 6), window(1, 1.5)], (BEANS, 9))
    for start in (Choice({0: 9}, {0: {0: 6 * RAW}}), choice(stated, (1, 6))):
        found = solve_small(stated, start=start, last="wants")
        assert [level.level for level in found.levels] == ["wants"]
        assert SeasonModel(stated, ()).holds(found.choice)
        assert found.levels[0].value == 3


def test_where_the_freezer_is_too_full_already_there_is_no_plan() -> None:
    stated = problem(bean_lots(4 * RAW), [window(0, 6)], (BEANS, 9))
    for there, possible in ((100_000, True), (100_001, False)):
        full = replace(stated, opening=Opening({}, {"chest": there}))
        with nullcontext() if possible else pytest.raises(NoValidPlan):
            assert solve_small(full).choice.pouches == {}


# Where it looks.


def search(stated: Problem, level: str = "wants", best: Choice | None = None) -> LevelSearch:
    model = SeasonModel(stated, ())
    aim = next(goal.aim for goal in season_goals(model.season) if goal.level == level)
    assert aim is not None
    book = TimedSessions(stated, 1)
    return LevelSearch(model, book, aim, best=best or Choice({}, {}), effort=400, seed=1)


@pytest.mark.parametrize("windows", [1, 3, 4, 5, 8, 9, 12, 13, 27, 50])
def test_a_sweep_frees_every_window_with_its_neighbours(
    windows: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Any two that are no farther apart than half a stretch are free together once."""
    looking = search(problem([], [window(d) for d in range(windows)], (BEANS, 9)))
    for stretch in STRETCHES:
        freed: list[set[int]] = []
        monkeypatch.setattr(looking, "within", freed.append)
        looking.sweep([stretch])
        for one in range(windows):
            for other in range(one, min(windows, one + stretch // 2 + 1)):
                assert any({one, other} <= free for free in freed), (stretch, one, other)
        assert all(len(free) == stretch for free in freed)


@pytest.mark.parametrize("middle", [0, 3, 20])
def test_around_a_window_as_much_before_it_as_after(
    middle: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    looking = search(problem([], [window(d) for d in range(40)], (BEANS, 9)))
    freed: list[set[int]] = []
    monkeypatch.setattr(looking, "within", freed.append)
    looking.around([middle], [8])
    (free,) = freed
    assert len(free) == 8 and middle in free
    if middle >= 4:
        assert abs((middle - min(free)) - (max(free) - middle)) <= 1


# What is proven.


@pytest.mark.parametrize(
    ("proven", "bound"),
    [(-math.inf, 0), (math.inf, 0), (-5.0, 0), (100.0000001, 100), (100.2, 101), (300.0, 300)],
)
def test_only_what_is_proven_is_a_bound(
    proven: float, bound: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Bounds are whole, since every goal counts in whole numbers; a float may miss one by a
    millionth. What says nothing proves nothing."""
    monkeypatch.setattr(
        searching,
        "least",
        lambda *args, **more: Least(proven, None, False, impossible=False, nodes=3),
    )
    looking = search(problem(bean_lots(4 * RAW), [window(0, 6)], (BEANS, 9)))
    looking.prove()
    assert looking.bound == bound
    # It binds what is looked for from then on.
    model = looking.model
    for pouches in range(5):
        within = 900 - 100 * pouches >= bound
        assert (
            model.holds(choice(model.problem, (0, pouches)) if pouches else Choice({}, {}))
            == within
        )


@pytest.mark.parametrize(("nodes", "most"), [(0, 20), (20, 20), (100, 4), (401, 1)])
def test_effort_comes_to_an_end(nodes: int, most: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """A proof that gets nowhere is given up after 400 nodes, counting 20 a round at the least."""
    asked: list[int] = []

    def nowhere(model: object, allowed: int, seed: int, **more: object) -> Least:
        asked.append(allowed)
        return Least(-math.inf, None, False, impossible=False, nodes=nodes)

    monkeypatch.setattr(searching, "least", nowhere)
    looking = search(problem(bean_lots(4 * RAW), [window(0, 6)], (BEANS, 9)))
    for _ in range(30):
        looking.prove()
    assert len(asked) == most
    assert asked[0] == 400 and all(0 < each <= 400 for each in asked)


def test_of_a_larger_season_fewer_nodes_are_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """A node of it takes longer: twice as large with the power of one and a half, as measured."""
    asked: list[int] = []

    def nowhere(model: object, allowed: int, seed: int, **more: object) -> Least:
        asked.append(allowed)
        return Least(-math.inf, None, False, impossible=False, nodes=1)

    monkeypatch.setattr(searching, "least", nowhere)
    stated = problem(bean_lots(4 * RAW), [window(0, 6)], (BEANS, 9))
    size = SeasonModel(stated, ()).size
    for usual in (2 * size, size, size / 2):
        monkeypatch.setattr(searching, "USUAL", usual)
        search(stated).prove()
    assert asked == [400, 400, 142]


def test_where_nothing_can_be_better_nothing_is_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    """Four of nine are all there is food for: five short is the least, and is known."""
    stated = problem(bean_lots(4 * RAW), [window(0, 6)], (BEANS, 9))
    looking = search(stated, best=choice(stated, (0, 4)))
    assert not looking.settled
    looking.bound = 500
    monkeypatch.setattr(searching, "least", None)
    monkeypatch.setattr(searching, "solve", None)
    assert looking.settled
    looking.prove()
    looking.sweep(STRETCHES)


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


def two_busy_evenings(
    proven: bool, effort: int = 400, say: Callable[[str], None] = lambda text: None, **known: Any
) -> Solved:
    """Food for nine, which are wanted, and two evenings."""
    stated = problem(bean_lots(9 * RAW), [window(0, 6), window(1, 6)], (BEANS, 9))
    book = Busy(stated, 1)
    book.proven = proven
    nodes = Effort(wants=effort, evenings=effort, waiting=effort)
    return solve_levels(stated, book, nodes, say=say, known=Known(**known))


def test_what_an_evening_proves_bounds_the_season_and_what_it_does_not_prove_does_not() -> None:
    for proven, bound, status in ((True, 5, "optimal"), (False, 0, "feasible")):
        found = two_busy_evenings(proven)
        assert sorted(found.choice.pouches.values()) == [2, 2]
        wants = found.levels[0]
        assert (wants.value, wants.bound, wants.status) == (5, bound, status)
        assert wants.gap == (5 - bound) / 5
        assert found.cuts and all(cut.proven == proven for cut in found.cuts)


def test_what_does_not_fit_is_mended_at_once() -> None:
    """In one round of proving nine pouches come back, and what is left of them on two evenings."""
    stated = problem(bean_lots(9 * RAW), [window(0, 6), window(1, 6)], (BEANS, 9))
    for proven in (True, False):
        looking = search(stated)
        looking.timed = Busy(stated, 1)
        looking.timed.proven = proven
        looking.prove(rounds=1)
        assert sorted(looking.best.pouches.values()) == [2, 2]


def test_what_has_time_of_a_choice_counts_at_once_in_large_seasons(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
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
    looking._mend = lambda choice, bad: None  # type: ignore[method-assign]
    for large, best in ((searching.LARGE, Choice({}, {})), (0, part)):
        monkeypatch.setattr(searching, "LARGE", large)
        looking._take_up(Choice(pouches, shares))
        assert looking.best == best


def test_what_is_known_beforehand_need_not_be_proven_again() -> None:
    """No effort at all: a bound, or the cuts from before; without them nothing is proven."""
    cuts = tuple(two_busy_evenings(True).cuts)
    for known, bound in (({}, 0), ({"least_short": 300}, 3), ({"least_short": 500}, 5)):
        found = two_busy_evenings(True, effort=0, **known)
        assert (found.levels[0].value, found.levels[0].bound) == (5, bound)
        assert all(level.bound <= level.value for level in found.levels)  # of the wants alone
        skipped = found.levels[1]
        assert (skipped.level, skipped.status) == ("change", "skipped")
        assert skipped.value == skipped.bound == skipped.seconds == 0
    found = two_busy_evenings(True, effort=1, cuts=cuts)
    assert (found.levels[0].bound, found.cuts) == (5, [])


def test_of_plans_that_are_equal_the_one_with_fewer_runs() -> None:
    """Four of each food, and four freeze in a day: each food has an evening of its own. They keep
    so long that no waiting counts."""
    foods = ("broccoli", "snap bean")
    lots = [lot(crop, FIRST, 500, grams=9000) for crop in foods]
    wants = (("broccoli, florets", 4), (BEANS, 4))
    stated = problem(
        lots, [window(0, 6), window(2, 6)], *wants, freezing_per_day=f"{4 * 340 + 50} g"
    )
    assert {waiting_cost(stated, option, option.lots[0]) for option in stated.options} == {0}
    halves = dict.fromkeys(range(4), 2)
    found = solve_small(stated, start=choice(stated, *halves.items()))
    assert found.levels[0].value == 0
    assert list(found.choice.pouches.values()) == [4, 4]


def test_the_same_effort_does_the_same_work() -> None:
    """Four sums to be missed by as little as can be, which takes long: after as much effort as much
    was tried, whatever else the machine does."""
    draw = random.Random(1)
    model = cp_model.CpModel()
    switches = [model.new_bool_var("") for _ in range(40)]
    missed = [model.new_int_var(-2000, 2000, "") for _ in range(4)]
    for each in missed:
        weights = [draw.randrange(100) for _ in switches]
        total = cp_model.LinearExpr.weighted_sum(switches, weights)
        model.add(total + each == sum(weights) // 2)
    most = model.new_int_var(0, 2000, "")
    model.add_max_equality(most, [*missed, *(-each for each in missed)])
    model.minimize(most)

    def work() -> tuple[float, ...]:
        solver = one_worker(0.1)
        assert solve(solver, model) == cp_model.FEASIBLE
        return solver.objective_value, solver.best_objective_bound, solver.num_branches

    assert work() == work()


def test_one_who_waits_reads_how_far_it_is() -> None:
    """A line for each level: what counts, how many, and the bound where it is not yet the best."""
    told: list[str] = []
    two_busy_evenings(True, effort=0, say=told.append, least_short=300)
    assert told[0].startswith(
        "Portions missed, weighted by priority: 5; no plan can have less than 3, after "
    )
    told.clear()
    two_busy_evenings(True, say=told.append)
    assert told[0].startswith(
        "Portions missed, weighted by priority: 5, and no plan can have less, after "
    )
    assert [line.split(":")[0] for line in told[1:]] == [
        "Evenings used, a visit as a quarter of one",
        "Minutes of late work",
        "Waiting of food",
    ]
