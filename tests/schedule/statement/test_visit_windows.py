"""Which visits the season's decision knows: those that may pack, and no more."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

from schedule.small_problems import BEANS, LIBRARY, ONIONS, RAW, bean_lots, lot, window
from schedule.small_seasons import FIRST, kitchen_season

from harvestplan.household import Household
from harvestplan.inputs.windows import FreeWindow
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.problem import Problem


def visit(day: int, start: int = 17, extra: bool = False) -> FreeWindow:
    return replace(window(day, 0.5, start=start, hands=1, extra=extra), kind="visit")


def stated(windows: list[FreeWindow], visits: list[FreeWindow], wanted: str = ONIONS) -> Problem:
    """Onions of 6 mm freeze in 2.6 h, so the physics, and may lie two days; good for a week."""
    lots = [lot("onion", FIRST, 7, grams=9000), *bean_lots(20 * RAW, keeps=7)]
    season = kitchen_season([{"product": wanted, "portions": 9, "portion": "340 g"}])
    household = Household(season, LIBRARY, tuple(windows), visits=tuple(visits))
    return build_problem(household, lots, FIRST)


def days(problem: Problem) -> list[tuple[int, int]]:
    """By option the days of its sittings, after the first."""
    starts = [w.start.date() for w in problem.windows]
    return [
        ((starts[o.first] - FIRST).days, (starts[o.packs_in] - FIRST).days) for o in problem.options
    ]


def test_only_the_next_visit_packs() -> None:
    problem = stated([window(0), window(3)], [visit(day) for day in range(9)])
    assert days(problem) == [(0, 1), (3, 4)]
    assert [(w.start.date() - FIRST).days for w in problem.windows if w.is_visit] == [1, 4]


def test_an_evening_in_time_packs_as_well() -> None:
    """Two days from the start of the one to the end of the other."""
    problem = stated([window(0, start=18), window(1), window(2, start=12)], [visit(1)])
    assert days(problem) == [(0, 1), (0, 1), (0, 2), (1, 2)]


def test_no_visit_before_it_is_frozen() -> None:
    """Laid in by noon: frozen at 14:36 at the earliest."""
    noon = window(0, 3, start=9)
    assert days(stated([noon], [visit(0, start=14), visit(1, start=10)])) == [(0, 1)]
    assert days(stated([noon], [visit(0, start=15), visit(1, start=10)])) == [(0, 0)]


def test_where_the_household_moved_a_visit_it_packs_too() -> None:
    visits = [visit(1), visit(2, start=9, extra=True), visit(2, start=11)]
    assert days(stated([window(0)], visits)) == [(0, 1), (0, 2)]


def test_what_freezes_in_its_pouches_asks_for_no_visit() -> None:
    problem = stated([window(0)], [visit(day) for day in range(9)], BEANS)
    assert not any(w.is_visit for w in problem.windows)
    assert days(problem) == [(0, 0)]


def test_a_visit_meets_no_window() -> None:
    """One that does, because a session was moved there, is left out; the next one packs."""
    moved = window(1, 2, start=16, extra=True)
    problem = stated([window(0), moved], [visit(1), visit(2, start=12)])
    assert [w.kind for w in problem.windows] == ["session", "session", "visit"]


def test_a_visit_has_a_short_setting_up_and_cleaning_up() -> None:
    """Three minutes each, beside twenty (own judgement)."""
    problem = stated([window(0)], [visit(1)])
    assert [problem.length(w) for w in range(2)] == [3 * 3600 - 2400, 1800 - 360]
    assert problem.windows[1].end - problem.windows[1].start == dt.timedelta(minutes=30)
