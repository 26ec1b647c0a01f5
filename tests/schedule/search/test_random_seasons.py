"""The season model against brute force on tiny seasons, and against the judge on random ones."""

from __future__ import annotations

import datetime as dt
import itertools
import random
from zoneinfo import ZoneInfo

import pytest
from each_case import each

from harvestplan.household import Household
from harvestplan.inputs.quantities import Quantity
from harvestplan.inputs.season import Season
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.models import Lot
from harvestplan.schedule.goals.portions_short import short_value
from harvestplan.schedule.goals.waiting_time import waiting_value
from harvestplan.schedule.search.levels import Effort, Solved, solve_levels
from harvestplan.schedule.session.tasks import DoesNotFit
from harvestplan.schedule.session.timed_sessions import TimedSessions, window_runs
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Problem

ZONE = ZoneInfo("America/Denver")
FIRST = dt.date(2027, 7, 1)
FOODS = ("snap bean, cut", "broccoli, florets", "carrot, sliced")


def tiny_problem(seed: int) -> Problem:
    """Two or three windows, two or three foods, a lot or two of each, a small freezer."""
    draw = random.Random(seed)
    foods = FOODS[: draw.choice((2, 3))]
    season = Season.model_validate(
        {
            "household": {"name": "tiny", "timezone": "America/Denver"},
            "season": {"start": FIRST, "end": FIRST + dt.timedelta(days=20)},
            "pot": [{"name": "pot", "volume": "8 qt", "power": "2.5 kW"}],
            "bath": [{"name": "sink", "volume": "5 gal"}],
            "sealer": {"kind": "chamber", "bar": "12 in"},
            "pouch": [{"name": "quart", "width": "8 in", "length": "12 in", "film": "3 mil"}],
            "freezer": [
                {
                    "name": "chest",
                    "volume": "100 L",
                    "used": "80 L",
                    "freezing_per_day": f"{draw.choice((900, 1400, 5000))} g",
                }
            ],
            "want": [
                {
                    "product": food,
                    "portions": draw.randint(1, 3),
                    "portion": "340 g",
                    "priority": draw.choice((1, 1, 2, 3)),
                }
                for food in foods
            ],
        }
    )
    windows = _windows(draw)
    lots = [lot for food in foods for lot in _lots(draw, food.split(",")[0])]
    return build_problem(Household(season, load_library(), tuple(windows)), lots, FIRST)


def _windows(draw: random.Random) -> list[FreeWindow]:
    days = sorted(draw.sample(range(8), draw.choice((2, 3))))
    return [
        FreeWindow(
            start=dt.datetime.combine(FIRST + dt.timedelta(days=day), dt.time(18), ZONE),
            end=dt.datetime.combine(
                FIRST + dt.timedelta(days=day), dt.time(19, draw.choice((20, 40, 59))), ZONE
            ),
            hands=draw.choice((1, 2)),
            extra=draw.random() < 0.3,
        )
        for day in days
    ]


def _lots(draw: random.Random, crop: str) -> list[Lot]:
    lots = []
    for number in range(draw.choice((1, 2))):
        ready = FIRST + dt.timedelta(days=draw.randint(0, 4))
        grams = draw.randint(300, 1100)
        lots.append(
            Lot(
                id=f"{crop}-{number}",
                crop=crop,
                planting=crop,
                bought=None,
                ready=ready,
                keep_until=ready + dt.timedelta(days=draw.randint(1, 5)),
                grams=grams,
                low_grams=grams,
                high_grams=grams,
            )
        )
    return lots


def solve(problem: Problem) -> Solved:
    return solve_levels(problem, TimedSessions(problem, 1), Effort(), say=lambda text: None)


def brute_force(problem: Problem) -> tuple[int, int, int]:
    """(short, evenings, extra minutes), best in that order, over every possible set of pouches."""
    book = TimedSessions(problem, 1)
    best: tuple[int, int, int] | None = None
    ranges = [range(option.most + 1) for option in problem.options]
    for pouches in itertools.product(*ranges):
        made = {o.number: n for o, n in zip(problem.options, pouches, strict=True) if n}
        value = _value(problem, made)
        if best is not None and value >= best:
            continue
        if _allowed(problem, made) and _fits(problem, book, made):
            best = value
    assert best is not None
    return best


def _value(problem: Problem, made: dict[int, int]) -> tuple[int, int, int]:
    choice = Choice(made, {})
    used = {problem.options[o].first for o in made}
    extra = sum(
        int((problem.windows[w].end - problem.windows[w].start).total_seconds() // 60)
        for w in used
        if problem.windows[w].extra
    )
    return short_value(problem, choice), len(used), extra


def _allowed(problem: Problem, made: dict[int, int]) -> bool:
    """Wants, freezing in 24 hours and space by plain sums; supply by earliest-expiry-first."""
    by_demand: dict[int, int] = {}
    for o, n in made.items():
        by_demand[problem.options[o].demand] = by_demand.get(problem.options[o].demand, 0) + n
    if any(n > problem.demands[d].portions for d, n in by_demand.items()):
        return False
    room = 20_000 - sum(problem.demands[d].process.packing.space * n for d, n in by_demand.items())
    return (
        room >= 0
        and _freezes(problem, made)
        and all(_supplied(problem, made, d) for d in by_demand)
    )


def _freezes(problem: Problem, made: dict[int, int]) -> bool:
    limit = problem.kitchen.freezing_limit("chest")
    loads = [0] * len(problem.windows)
    for o, n in made.items():
        loads[problem.options[o].first] += n * 340
    for i, window in enumerate(problem.windows):
        near = [
            j
            for j in range(i, len(problem.windows))
            if problem.windows[j].start < window.end + dt.timedelta(days=1)
        ]
        if sum(loads[j] for j in near) > limit:
            return False
    return True


def _supplied(problem: Problem, made: dict[int, int], demand: int) -> bool:
    process = problem.demands[demand].process
    left = {
        i: problem.free[i] for i, lot in enumerate(problem.lots) if lot.crop == process.crop.name
    }
    for w, window in enumerate(problem.windows):
        need = sum(
            process.raw(n)
            for o, n in made.items()
            if problem.options[o].demand == demand and problem.options[o].first == w
        )
        day = window.start.date()
        fresh = [i for i in left if problem.lots[i].ready <= day <= problem.lots[i].keep_until]
        for i in sorted(fresh, key=lambda i: problem.lots[i].keep_until):
            taken = min(need, left[i])
            left[i] -= taken
            need -= taken
        if need > 0:
            return False
    return True


def _fits(problem: Problem, book: TimedSessions, made: dict[int, int]) -> bool:
    raw = {
        o: {0: problem.demands[problem.options[o].demand].process.raw(n)} for o, n in made.items()
    }
    runs = window_runs(problem, Choice(made, raw))
    return not any(isinstance(book.fits(w, r, 5.0), DoesNotFit) for w, r in runs.items())


@each("seed", range(20))
def test_levels_equal_brute_force_on_tiny_seasons(seed: int) -> None:
    problem = tiny_problem(seed)
    solved = solve(problem)
    by_level = {level.level: level for level in solved.levels}
    found = (
        short_value(problem, solved.choice),
        by_level["evenings"].value,
        by_level["overtime"].value,
    )
    assert found == brute_force(problem)
    assert all(level.status != "feasible" for level in solved.levels[:4])


def test_bounds_never_exceed_values_and_waiting_is_recomputed() -> None:
    problem = tiny_problem(3)
    solved = solve(problem)
    for level in solved.levels:
        assert level.bound <= level.value + 1e-9
    waiting = next(level for level in solved.levels if level.level == "waiting")
    assert waiting.value == pytest.approx(waiting_value(problem, solved.choice) / 1000)


def test_the_last_pouch_of_a_purchase_is_part_full_and_only_that() -> None:
    """4 lb of shrimp in 12-oz packs are 6 pouches, the last part-full (common practice)."""
    season = Season.model_validate(
        {
            "household": {"name": "shrimp", "timezone": "America/Denver"},
            "season": {"start": FIRST, "end": FIRST + dt.timedelta(days=20)},
            "sealer": {"kind": "chamber", "bar": "12 in"},
            "pouch": [{"name": "quart", "width": "8 in", "length": "12 in", "film": "3 mil"}],
            "freezer": [{"name": "chest", "volume": "200 L"}],
            "want": [{"product": "shrimp, portioned", "portions": 9, "portion": "12 oz"}],
        }
    )
    lot = Lot(
        id="lot-shrimp-1",
        crop="shrimp",
        planting=None,
        bought="shrimp",
        ready=FIRST,
        keep_until=FIRST + dt.timedelta(days=1),
        grams=1814,
        low_grams=1814,
        high_grams=1814,
    )
    windows = [
        FreeWindow(
            dt.datetime.combine(FIRST + dt.timedelta(days=n), dt.time(18), ZONE),
            dt.datetime.combine(FIRST + dt.timedelta(days=n), dt.time(21), ZONE),
            1,
            extra=False,
        )
        for n in (0, 1)
    ]
    problem = build_problem(Household(season, load_library(), tuple(windows)), [lot], FIRST)
    solved = solve(problem)
    assert sum(solved.choice.pouches.values()) == 6
    assert sum(sum(s.values()) for s in solved.choice.shares.values()) == 1814
    (number,) = solved.choice.pouches
    process = problem.demands[problem.options[number].demand].process
    assert process.packed(1814, 6) == 1814
    assert process.portion_grams == round(Quantity(12 * 28.349523125, "mass").value)
