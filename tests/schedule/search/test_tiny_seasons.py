"""Tiny random seasons, small enough to try every plan: the true best is found, each time.

Trying every plan uses plain sums for worth, wants, batches, supply, fridge, freezing, space and
weeks; whether a session fits is asked of the minute model, which has its own proofs (test_minutes,
test_minutes_published).
"""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections import Counter
from dataclasses import replace

import pytest
from each_case import each
from schedule.tiny_seasons import PORTION, tiny

from harvestplan.inputs.season_kitchen import Cold
from harvestplan.schedule.goals.freshness_lost import cost_of_gram
from harvestplan.schedule.goals.part import MICRO, TIE
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import solve_season
from harvestplan.schedule.session.tasks import DoesNotFit
from harvestplan.schedule.session.timed_sessions import TimedSessions, window_runs
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Problem


def best_of_all(problem: Problem) -> float:
    """The most that any set of pouches that keeps every rule is worth, in portions."""
    book = TimedSessions(problem, 1)
    every = itertools.product(*(range(o.most + 1) for o in problem.options))
    made = [{o.number: n for o, n in zip(problem.options, n, strict=True) if n} for n in every]
    best = math.inf
    # Without what waiting costs no plan costs more: the rest need not be looked at.
    for plan in sorted(made, key=lambda plan: _cost(problem, plan)):
        least = _cost(problem, plan)
        if least >= best:
            break
        waiting = _least_waiting(problem, plan) if _allowed(problem, plan) else None
        if waiting is not None and least + waiting < best and _fits(problem, book, plan):
            best = least + waiting
    assert best < math.inf, "not even the empty plan is allowed"
    return -best / MICRO


def _cost(problem: Problem, made: dict[int, int]) -> int:
    """Toil less portions put by, in millionths of a portion."""
    span = problem.season.season
    total = 0.0
    for o, n in made.items():
        demand = problem.demands[problem.options[o].demand]
        missing = max(0, min(demand.batch, demand.portions) - n)
        total += max(TIE, MICRO * span.food_is_worth) * (1 + 2 * missing * demand.priority)
        total -= MICRO * demand.priority * n
    for w in {w for o in made for w, _ in problem.options[o].sittings()}:
        window = problem.windows[w]
        total += max(TIE, MICRO * span.evening_is_worth)
        hours = (window.end - window.start).total_seconds() / 3600
        total += max(TIE, MICRO * span.late_hour_is_worth) * hours if window.extra else 0
    return round(total)


def _allowed(problem: Problem, made: dict[int, int]) -> bool:
    return (
        _wanted(problem, made)
        and _worth_the_pot(problem, made)
        and _one_run_each(problem, made)
        and _waits_cold(problem, made)
        and _weeks(problem, made)
        and _freezes(problem, made)
    )


def _wanted(problem: Problem, made: dict[int, int]) -> bool:
    return all(
        sum(n for o, n in made.items() if problem.options[o].demand == d) <= demand.portions
        for d, demand in enumerate(problem.demands)
    )


def _worth_the_pot(problem: Problem, made: dict[int, int]) -> bool:
    """Each run takes the smallest batch, or makes the whole want."""
    least = problem.season.season.smallest_batch or 0.0
    demands = {o: problem.demands[problem.options[o].demand] for o in made}
    return all(
        demands[o].process.raw(n) >= least or n == demands[o].portions for o, n in made.items()
    )


def _waits_cold(problem: Problem, made: dict[int, int]) -> bool:
    """Every night's food in the fridge: raw of the one lot of each food, and chilled purée.

    There is no cellar; squash alone keeps longer in the room. What is not picked stands as many
    days as its crop file says.
    """
    room = problem.season.cold.fridge
    if room is None:
        return True
    nights: Counter[dt.date] = Counter()
    for o, n in made.items():
        option = problem.options[o]
        process = problem.demands[option.demand].process
        (lot,) = [problem.lots[i] for i in option.lots]
        assert process.crop.picking is not None
        stands = 0 if lot.picked else int(process.crop.picking.stands.value / 86400)
        first = problem.windows[option.first].start.date()
        grams = process.raw(n)
        if process.crop.name != "winter squash":
            for day in range(lot.ready.toordinal() + stands, first.toordinal()):
                nights[dt.date.fromordinal(day)] += grams / process.crop.raw_density.value
        if option.second is not None:
            leaves = math.prod(s.leaves.value for s in process.product.steps if s.leaves)
            second = problem.windows[option.second].start.date()
            for day in range(first.toordinal(), second.toordinal()):
                nights[dt.date.fromordinal(day)] += grams * leaves / process.product.density.value
    return max(nights.values(), default=0) <= room


def _one_run_each(problem: Problem, made: dict[int, int]) -> bool:
    """A product is begun, or packed, once in a session."""
    sittings = Counter(
        (w, sitting, problem.options[o].demand)
        for o in made
        for w, sitting in problem.options[o].sittings()
    )
    return max(sittings.values(), default=0) <= 1


def _weeks(problem: Problem, made: dict[int, int]) -> bool:
    most = problem.season.season.max_sessions_per_week
    used = {w for o in made for w, _ in problem.options[o].sittings()}
    weeks = Counter(problem.windows[w].start.isocalendar()[:2] for w in used)
    return most is None or max(weeks.values(), default=0) <= most


def _freezes(problem: Problem, made: dict[int, int]) -> bool:
    """Each freezer: its load in 24 hours from any session's start on, and its space."""
    for freezer in problem.kitchen.freezers:
        loads, space = [0] * len(problem.windows), 0
        for o, n in made.items():
            option = problem.options[o]
            if option.freezer == freezer.name:
                loads[option.packs_in] += n * PORTION
                space += n * problem.demands[option.demand].process.packing.space
        if space > freezer.volume - freezer.used:
            return False
        for window in problem.windows:
            until = window.end + dt.timedelta(days=1)
            near = [w.start >= window.start and w.start < until for w in problem.windows]
            if sum(itertools.compress(loads, near)) > problem.kitchen.freezing_limit(freezer.name):
                return False
    return True


def _least_waiting(problem: Problem, made: dict[int, int]) -> int | None:
    """The least waiting with which the lots supply all that is made, or None."""
    total = 0
    for d, demand in enumerate(problem.demands):
        runs = [o for o in made if problem.options[o].demand == d]
        lots = [i for i, lot in enumerate(problem.lots) if lot.crop == demand.process.crop.name]
        needs = {o: demand.process.raw(made[o]) for o in runs}
        waiting = _supply(problem, needs, lots[0], other=lots[-1])
        if waiting is None:
            return None
        total += waiting
    return total


def _supply(problem: Problem, needs: dict[int, int], one: int, other: int) -> int | None:
    """Waiting with two lots (or one, named twice): grams move to where they wait less.

    Each run takes all it can of the other lot; then grams are moved to the one lot, those that
    gain most (or lose least) first, as few as the other's size asks for and as many as pay.
    """
    usable = {o: set(problem.options[o].lots) for o in needs}
    if any(not usable[o] & {one, other} for o in needs):
        return None
    cost = {
        (o, lot): cost_of_gram(problem, problem.options[o], lot) for o in needs for lot in usable[o]
    }
    moved = {o: 0 if other in usable[o] else need for o, need in needs.items()}
    total = sum(
        need * (cost[o, other] if other in usable[o] else cost[o, one]) for o, need in needs.items()
    )
    stock = 0 if one == other else problem.free[one]
    must = sum(needs.values()) - problem.free[other]
    both = [o for o in needs if one != other and {one, other} <= usable[o]]
    for o in sorted(both, key=lambda o: cost[o, one] - cost[o, other]):
        gain = cost[o, other] - cost[o, one]
        done = sum(moved.values())
        grams = min(needs[o], stock - done) if gain > 0 else min(needs[o], must - done)
        moved[o] += max(0, min(grams, stock - done))
        total -= moved[o] * gain
    return total if must <= sum(moved.values()) <= stock else None


def _fits(problem: Problem, book: TimedSessions, made: dict[int, int]) -> bool:
    raw = {
        o: {0: problem.demands[problem.options[o].demand].process.raw(n)} for o, n in made.items()
    }
    runs = window_runs(problem, Choice(made, raw))
    return not any(isinstance(book.fits(w, r, 5.0), DoesNotFit) for w, r in runs.items())


def judge(seed: int, by_hand: bool = False) -> None:
    """The plan is worth the most, to the hundredth of a portion, and that is proven."""
    problem = tiny(seed, by_hand)
    found = solve_season(problem, TimedSessions(problem, 1), Effort())
    best = best_of_all(problem)
    assert found.worth == pytest.approx(best, abs=0.01)
    assert best - 1e-5 <= found.bound <= found.worth + 0.01
    assert found.proven


@each("seed", range(200))
def test_the_plan_is_worth_the_most_of_all(seed: int) -> None:
    judge(seed)


@each("seed", range(40))
def test_the_plan_is_worth_the_most_of_all_without_a_sealing_machine(seed: int) -> None:
    """Zip bags lie thicker and closing takes hands: other plans than with a machine."""
    judge(seed, by_hand=True)


@pytest.mark.slow
@pytest.mark.parametrize("part", range(8))
def test_the_plan_is_worth_the_most_of_many(part: int) -> None:
    for seed in range(200 + part * 100, 300 + part * 100):
        judge(seed)


def test_the_tiny_seasons_are_not_all_alike() -> None:
    """Among 80 there are sittings in two parts, two freezers, and wants that cannot all be met."""
    problems = [tiny(seed) for seed in range(80)]
    assert sum(any(o.second is not None for o in p.options) for p in problems) >= 5
    assert sum(len(p.kitchen.freezers) == 2 for p in problems) >= 10
    assert sum(len(p.windows) >= 3 for p in problems) >= 20


def test_fridge_and_smallest_batch_cost_something_in_some_tiny_seasons() -> None:
    """Among 100 there are some where without the one or the other more could be had."""
    fridge = batch = 0
    for problem in (tiny(seed) for seed in range(100)):
        season, best = problem.season, best_of_all(problem)
        roomy = season.model_copy(update={"cold": Cold()})
        fridge += best_of_all(replace(problem, season=roomy)) > best + 0.01
        span = season.season.model_copy(update={"smallest_batch": None})
        any_size = season.model_copy(update={"season": span})
        batch += best_of_all(replace(problem, season=any_size)) > best + 0.01
    assert fridge >= 8
    assert batch >= 1
