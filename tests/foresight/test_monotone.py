"""More never makes less: no plan is worth less for another window, pot, litre, hand or gram.

On tiny random seasons solved to the proven optimum, one thing is added and the season solved again.
Both optima are proven, so a fall would be a fault of a rule, not of the search.
"""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Iterable
from functools import cache
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from each_case import each

from harvestplan.foresight.curve import one_less, one_more
from harvestplan.household import Household
from harvestplan.inputs.season import Season
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.models import Lot
from harvestplan.schedule.goals.worth import Goal, worth_of_season
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import Known, solve_season
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.carried_over import (
    choice_from,
    runs_of,
    used_evenings,
    with_most_sessions,
    without_windows,
)
from harvestplan.schedule.statement.problem import EarlierRun, Problem

ZONE = ZoneInfo("America/Denver")
FIRST = dt.date(2027, 7, 5)
FOODS = ("snap bean, cut", "broccoli, florets", "carrot, sliced", "tomato, purée")
LIBRARY = load_library()
MORE = ("window", "pot", "litre", "fridge", "hand", "gram", "session")


def problem(seed: int, more: str = "", amount: int = 1) -> Problem:
    """The seed's tiny season, with one thing more."""
    draw = random.Random(seed)
    foods = draw.sample(FOODS, draw.choice((2, 3)))
    pots = [{"name": "pot", "volume": "8 qt", "power": "1.8 kW"}]
    if more == "pot":
        pots += [{**pots[0], "name": f"pot {n}"} for n in range(amount)]
    used = draw.choice((96, 97, 98))
    season = {
        "household": {"name": "tiny", "timezone": ZONE.key},
        "season": {
            "start": FIRST,
            "end": FIRST + dt.timedelta(days=20),
            "max_sessions": draw.choice((1, 2, 2)) + (amount if more == "session" else 0),
            "evening_is_worth": "1/4 portion",
            "food_is_worth": "0.1 portions",
        },
        "pot": pots,
        "bath": [{"name": "sink", "volume": "5 gal"}],
        "sealer": {"kind": "chamber", "bar": "12 in"},
        "pouch": [{"name": "quart", "width": "8 in", "length": "12 in", "film": "3 mil"}],
        "freezer": [
            {
                "name": "chest",
                "volume": f"{100 + (amount if more == 'litre' else 0)} L",
                "used": f"{used} L",
                "freezing_per_day": f"{draw.choice((1400, 5000))} g",
            }
        ],
        "cold": {"fridge": f"{2 + (amount if more == 'fridge' else 0)} L"},
        "want": [_want(draw, food) for food in foods],
    }
    extra_grams = 900 * amount if more == "gram" else 0
    lots = [lot for food in foods for lot in _lots(draw, food.split(",")[0], extra_grams)]
    windows = _windows(draw, more, amount)
    return build_problem(
        Household(Season.model_validate(season), LIBRARY, tuple(windows)), lots, FIRST
    )


def _want(draw: random.Random, food: str) -> dict[str, Any]:
    portions, priority = draw.randint(2, 6), draw.choice((1, 1, 2, 3))
    return {"product": food, "portions": portions, "portion": "340 g", "priority": priority}


def _windows(draw: random.Random, more: str, amount: int) -> list[FreeWindow]:
    days = sorted(draw.sample(range(0, 9), 3))
    lengths = [dt.timedelta(minutes=draw.choice((75, 90, 110))) for _ in days]
    added = [d for d in range(9) if d not in days][:amount] if more == "window" else []
    hands = 1 + (amount if more == "hand" else 0)
    spans = [*zip(days, lengths, strict=True), *((d, dt.timedelta(minutes=90)) for d in added)]
    windows = []
    for day, length in sorted(spans):
        start = dt.datetime.combine(FIRST + dt.timedelta(days=day), dt.time(18), ZONE)
        windows.append(FreeWindow(start, start + length, hands, extra=False))
    return windows


def _lots(draw: random.Random, crop: str, extra: int) -> list[Lot]:
    lots = []
    for number in range(draw.choice((1, 2))):
        ready = FIRST + dt.timedelta(days=draw.randint(0, 5))
        keep_until = ready + dt.timedelta(days=draw.randint(1, 6))
        grams = draw.randint(500, 2600) + extra
        lots.append(
            Lot(
                id=f"{crop}-{number}",
                crop=crop,
                planting=crop,
                bought=None,
                ready=ready,
                keep_until=keep_until,
                grams=grams,
                low_grams=grams,
                high_grams=grams,
            )
        )
    return lots


NOTHING_KNOWN = Known()
OPEN = 0.015
"""Portions: the search ends where less is open in seasons so small (up to thirty portions)."""


def most_worth(asked: Problem, known: Known = NOTHING_KNOWN) -> tuple[float, float]:
    """What the best plan is worth, and what no plan is proven to be worth more than: portions."""
    solved = solve_season(asked, TimedSessions(asked, 1), Effort(), known=known)
    assert solved.bound - solved.worth <= OPEN
    assert all(cut.proven for cut in solved.cuts)
    return solved.worth, solved.bound


SEEDS = range(8)


@cache
def before(seed: int) -> tuple[float, float]:
    return most_worth(problem(seed))


@each("seed", SEEDS)
@each("more", MORE)
def test_no_plan_is_worth_less_for_more_of_anything(more: str, seed: int) -> None:
    """What is proven with more must not lie below what was found with less."""
    amounts = (1, 3) if more == "litre" else (1, 2)
    found = [before(seed), *(most_worth(problem(seed, more, amount)) for amount in amounts)]
    for (worth, _), (_, bound) in pairwise(found):
        assert bound >= worth - 1e-6


def test_the_seasons_are_such_that_more_does_help() -> None:
    """Otherwise the test above could not fail."""
    helped = {
        more
        for more in MORE
        for seed in SEEDS
        if most_worth(problem(seed, more, 2))[0] > before(seed)[1] + 0.1
    }
    assert {"window", "litre", "fridge", "hand", "session"} <= helped


@pytest.mark.parametrize("seed", range(4))
def test_a_start_a_bound_and_cuts_change_no_optimum(seed: int) -> None:
    asked = problem(seed)
    whole = solve_season(asked, TimedSessions(asked, 1), Effort())
    runs = runs_of(asked, whole.choice)
    assert choice_from(asked, runs) == whole.choice
    for window in used_evenings(asked, whole.choice):
        barred = without_windows(asked, {window})
        start = choice_from(barred, runs)
        known = Known(start, tuple(whole.cuts), whole.bound, near=(window,))
        assert most_worth(barred, known)[0] == pytest.approx(most_worth(barred)[0], abs=OPEN)


def goal_of(asked: Problem) -> Goal:
    return worth_of_season(state_rules(asked))


@pytest.mark.parametrize("seed", (1, 5, 7, 9))  # those with two evenings or more
def test_the_least_useful_evening_goes_and_the_most_useful_comes(seed: int) -> None:
    asked = problem(seed, "session", 2)
    goal = goal_of(asked)
    whole = solve_season(asked, TimedSessions(asked, 1), Effort())
    runs = runs_of(asked, whole.choice)

    def worth(left: Iterable[EarlierRun]) -> int:
        return goal.worth(choice_from(asked, tuple(left)))

    evenings = sorted({run.first for run in runs})
    assert len(evenings) >= 2
    less = one_less(asked, goal, runs)
    without = [worth(run for run in runs if run.first != each) for each in evenings]
    assert worth(less) == max(without)
    assert len({run.first for run in less}) == len(evenings) - 1
    more = one_more(asked, goal, (), runs)
    alone = [worth(run for run in runs if run.first == each) for each in evenings]
    assert worth(more) == max(alone) > 0


@pytest.mark.parametrize("seed", range(4))
def test_fewer_sessions_are_never_worth_more(seed: int) -> None:
    asked = problem(seed)
    found = [most_worth(with_most_sessions(asked, most)) for most in (0, 1, 2)]
    for (worth, _), (_, bound) in pairwise(found):
        assert bound >= worth - 1e-6
    assert found[0] == (0, 0)
