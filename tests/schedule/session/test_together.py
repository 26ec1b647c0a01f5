"""What two products come to together in a session: no plan that fits breaks such a row."""

from __future__ import annotations

import itertools
import math
import random

import pytest
from benchmarks.seasons import household
from each_case import each
from schedule.small_problems import BEANS, RAW, bean_lots, problem, window

from harvestplan.schedule.goals.worth import worth_of_season
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.linear import in_parts
from harvestplan.schedule.search.solve_season import solve_season
from harvestplan.schedule.session import together
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.session.together import limits_together, lines_over
from harvestplan.schedule.statement.problem import Problem


@each("seed", range(200))
def test_the_lines_are_those_of_the_convex_hull(seed: int) -> None:
    """Against all lines through two of the points, of which those count that no point is above."""
    draw = random.Random(seed)
    heights = sorted((draw.randint(0, 12) for _ in range(draw.randint(2, 12))), reverse=True)
    frontier = list(enumerate(heights))
    through = set()
    for (x, y), (right, lower) in itertools.combinations(frontier, 2):
        a, b = y - lower, right - x
        if a and all(a * u + b * v <= a * x + b * y for u, v in frontier):
            common = math.gcd(a, b)
            through.add((a // common, b // common, (a * x + b * y) // common))
    found = list(lines_over(frontier))
    assert {tuple(n // math.gcd(line[0], line[1]) for n in line) for line in found} == through
    assert len(found) == len(through)


@pytest.fixture(scope="module")
def season() -> Problem:
    return household(5).problem()


def test_what_fits_keeps_every_row(season: Problem) -> None:
    """All mixes of two products that the minute model does not refuse."""
    timed = TimedSessions(season, 1)
    limits = limits_together(timed)
    pairs = [limit for limit in limits if len(limit.weights) == 2]
    assert len(pairs) > 20
    draw, refused = random.Random(1), 0
    for limit in draw.sample(pairs, 12):
        first = limit.windows[0]
        works = {work.kind: work for work in together._works(season, limit.windows)}
        made = [works[kind] for kind, _ in limit.weights]
        weights = [weight for _, weight in limit.weights]
        for mix in itertools.product(*(range(1, work.option.most + 1) for work in made)):
            runs = [together._least_run(season, w, n) for w, n in zip(made, mix, strict=True)]
            fits = not timed.refused(first, tuple(sorted(runs, key=lambda run: run.demand)))
            kept = sum(w * n for w, n in zip(weights, mix, strict=True)) <= limit.most
            assert kept or not fits, (limit, mix)
            refused += not kept
    assert refused > 50


def test_the_relaxation_is_worth_less_and_the_best_as_much(season: Problem) -> None:
    """Rows that every plan keeps make a bound tighter; a plan that was found keeps them all."""
    timed = TimedSessions(season, 1)
    found = solve_season(season, timed, Effort(nodes=1, nearby=0.5, rounds=1))
    relaxed = []
    for limits in ([], limits_together(timed)):
        model = SeasonModel(season, ())
        model.limit_together(limits)
        goal = worth_of_season(model.season)
        model.minimize(goal.total)
        assert model.holds(found.choice)
        values = in_parts(model.program({}))
        assert values is not None
        relaxed.append(-sum(w * values[n] for n, w in model.goal.terms.items()))
    assert found.worth * 1e6 <= relaxed[1] < relaxed[0] - 1e5


def test_no_more_is_asked_than_allowed(season: Problem) -> None:
    asked: list[object] = []

    class Counts(TimedSessions):
        def refused(self, *question: object) -> bool:
            asked.append(question)
            return super().refused(*question)

    limits_together(Counts(season, 1), most_asked=50)
    assert 50 <= len(asked) < 150  # the question at which it is noticed, and its own answers


def test_one_product_alone() -> None:
    """Where not all that there is fits the evening, the row says how much does."""
    stated = problem(bean_lots(40 * RAW), [window(0, 2)], (BEANS, 40))
    (limit,) = limits_together(TimedSessions(stated, 1))
    ((kind, weight),) = limit.weights
    assert (kind, weight, limit.windows) == ((0, "whole"), 1, (0,))
    assert 0 < limit.most < stated.options[0].most
