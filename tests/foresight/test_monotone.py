"""More never makes less: another window, pot, litre, hand or gram never leaves more wants short.

On tiny random seasons solved to the proven optimum, one thing is added and the first level solved
again. Both optima are proven, so an increase would be a fault of a rule, not of the search.
"""

from __future__ import annotations

import datetime as dt
import random
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from each_case import each

from harvestplan.foresight.curve import one_less, one_more
from harvestplan.foresight.starts import (
    choice_from,
    runs_of,
    used_evenings,
    with_most_sessions,
    without_windows,
)
from harvestplan.household import Household
from harvestplan.inputs.season import Season
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.models import Lot
from harvestplan.schedule.goals.portions_short import short_value
from harvestplan.schedule.search.levels import Effort, Known, solve_levels
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.problem import Problem

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


ALONE = Known(last="wants")


def least_short(asked: Problem, known: Known = ALONE) -> float:
    """Weighted portions short at the proven optimum."""
    solved = solve_levels(
        asked, TimedSessions(asked, 1), Effort(), say=lambda text: None, known=known
    )
    wants = solved.levels[0]
    assert wants.status == "optimal"
    assert all(cut.proven for cut in solved.cuts)
    return wants.value


SEEDS = range(8)


@cache
def before(seed: int) -> float:
    return least_short(problem(seed))


@each("seed", SEEDS)
@each("more", MORE)
def test_more_of_anything_never_leaves_more_short(more: str, seed: int) -> None:
    amounts = (1, 3) if more == "litre" else (1, 2)
    shorts = [before(seed), *(least_short(problem(seed, more, amount)) for amount in amounts)]
    assert shorts == sorted(shorts, reverse=True)


def test_the_seasons_are_such_that_more_does_help() -> None:
    """Otherwise the test above could not fail."""
    helped = {
        more
        for more in MORE
        for seed in SEEDS
        if least_short(problem(seed, more, 2)) < before(seed)
    }
    assert {"window", "litre", "fridge", "hand", "session"} <= helped


@pytest.mark.parametrize("seed", range(4))
def test_a_start_a_bound_and_cuts_change_no_optimum(seed: int) -> None:
    asked = problem(seed)
    book = TimedSessions(asked, 1)
    whole = solve_levels(asked, book, Effort(), say=lambda text: None)
    runs = runs_of(asked, whole.choice)
    assert choice_from(asked, runs) == whole.choice
    for window in used_evenings(asked, whole.choice):
        barred = without_windows(asked, {window})
        floor = round(100 * whole.levels[0].bound)
        known = Known(
            choice_from(barred, runs), tuple(whole.cuts), floor, near=(window,), last="wants"
        )
        assert least_short(barred, known) == least_short(barred)


@pytest.mark.parametrize("seed", (1, 5, 7, 9))  # those with two evenings or more
def test_the_least_useful_evening_goes_and_the_most_useful_comes(seed: int) -> None:
    asked = problem(seed, "session", 2)
    whole = solve_levels(asked, TimedSessions(asked, 1), Effort(), say=lambda text: None)
    runs = runs_of(asked, whole.choice)

    def short(kept: list[dt.datetime]) -> int:
        left = [run for run in runs if run.first in kept]
        return short_value(asked, choice_from(asked, left))

    evenings = sorted({run.first for run in runs})
    assert len(evenings) >= 2
    less = one_less(asked, runs)
    without = [short([e for e in evenings if e != each]) for each in evenings]
    assert short_value(asked, choice_from(asked, less)) == min(without)
    assert len({run.first for run in less}) == len(evenings) - 1
    more = one_more(asked, (), runs)
    assert short_value(asked, choice_from(asked, more)) == min(short([e]) for e in evenings)


@pytest.mark.parametrize("seed", range(4))
def test_fewer_sessions_never_leave_less_short(seed: int) -> None:
    asked = problem(seed)
    shorts = [least_short(with_most_sessions(asked, most)) for most in (0, 1, 2)]
    assert shorts == sorted(shorts, reverse=True)
    everything = sum(d.portions * d.priority for d in asked.demands)
    assert shorts[0] == pytest.approx(everything)
