"""Limits that a household writes are reached, and not passed: sessions in all, trays, no more."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from schedule.small_seasons import NO_TOIL

from harvestplan.household import Household
from harvestplan.inputs.season import Season
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.models import Lot
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import Solved, solve_season
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.problem import Problem

ZONE = ZoneInfo("America/Denver")
FIRST = dt.date(2027, 7, 1)
WEEKS = 4


def problem(**changes: dict[str, object]) -> Problem:
    """A lot of beans each week that keeps for two days, an evening for each, room for all."""
    tables: dict[str, object] = {
        "household": {"name": "tiny", "timezone": "America/Denver"},
        "season": {"start": FIRST, "end": FIRST + dt.timedelta(days=60)} | NO_TOIL,
        "pot": [{"name": "pot", "volume": "8 qt", "power": "2.5 kW"}],
        "bath": [{"name": "sink", "volume": "5 gal"}],
        "sealer": {"kind": "chamber", "bar": "12 in"},
        "pouch": [{"name": "quart", "width": "8 in", "length": "12 in", "film": "3 mil"}],
        "freezer": [{"name": "chest", "volume": "100 L", "freezing_per_day": "5 kg"}],
        "want": [{"product": "snap bean, cut", "portions": 2 * WEEKS, "portion": "340 g"}],
    }
    for table, keys in changes.items():
        old = tables[table]
        tables[table] = [old[0] | keys] if isinstance(old, list) else dict(old) | keys
    season = Season.model_validate(tables)
    days = [FIRST + dt.timedelta(days=7 * week) for week in range(WEEKS)]
    lots = [
        Lot(
            id=f"bean-{n}",
            crop="snap bean",
            planting="bean",
            bought=None,
            ready=day,
            keep_until=day + dt.timedelta(days=2),
            grams=900,
            low_grams=900,
            high_grams=900,
        )
        for n, day in enumerate(days)
    ]
    windows = [
        FreeWindow(
            start=dt.datetime.combine(day, dt.time(18), ZONE),
            end=dt.datetime.combine(day, dt.time(21), ZONE),
            hands=2,
            extra=False,
        )
        for day in days
    ]
    return build_problem(Household(season, load_library(), tuple(windows)), lots, FIRST)


def solved(stated: Problem) -> Solved:
    return solve_season(stated, TimedSessions(stated, 1), Effort())


def evenings_and_pouches(stated: Problem) -> tuple[int, int]:
    choice = solved(stated).choice
    used = {w for o, n in choice.pouches.items() if n for w, _ in stated.options[o].sittings()}
    return len(used), sum(choice.pouches.values())


@pytest.mark.parametrize("most", [0, 1, 3, 4, 9])
def test_as_many_sessions_as_there_may_be(most: int) -> None:
    """Two portions want an evening each week: two for each evening that is allowed."""
    evenings, pouches = evenings_and_pouches(problem(season={"max_sessions": most}))
    assert evenings == min(most, WEEKS)
    assert pouches == 2 * min(most, WEEKS)


def test_a_session_a_week_is_enough_here_and_none_is_none() -> None:
    stated = problem(season={"max_sessions_per_week": 1})
    assert evenings_and_pouches(stated) == (WEEKS, 2 * WEEKS)


@pytest.mark.parametrize(("packs", "made"), [(0.5, 0), (1.0, 1), (1.5, 1), (2.0, 2), (9.0, 2)])
def test_what_lies_flat_on_the_trays_at_once(packs: float, made: int) -> None:
    """Trays for so many packs hold as many each week, and not one more."""
    footprint = problem().demands[0].process.packing.footprint  # mm²
    stated = problem(freezer={"tray_area": f"{(packs * footprint + 1) / 1e6:.7f} m2"})
    assert evenings_and_pouches(stated)[1] == made * WEEKS


def test_what_is_proven_says_so() -> None:
    """Two of each lot on its own evening, fresh: all that is wanted, and nothing waits."""
    found = solved(problem())
    assert found.proven
    assert found.bound - found.worth <= 0.01
    assert found.worth == pytest.approx(2 * WEEKS, abs=0.02)
