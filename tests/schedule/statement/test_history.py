"""What a new plan takes over of the published one: sessions that stand, and what they took."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

from schedule.kept_sessions import BEANS, MONDAY, PUREE, day, lot, plan_of, run, session
from schedule.small_problems import LIBRARY
from schedule.small_seasons import kitchen_season

from harvestplan.household import Household
from harvestplan.inputs.windows import FreeWindow
from harvestplan.plan.models import LotShare, Plan
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.history import History, take_over


def statuses(plan: Plan, on: int, **more: Any) -> dict[str, str]:
    return {s.uid: s.status for s in take_over(plan, day(on), **more).sessions}


def test_yesterdays_are_done_todays_and_tomorrows_promised_and_no_more() -> None:
    plan = plan_of(*(session(f"s{n}", n, run(f"r{n}")) for n in range(5)))
    assert statuses(plan, 2) == {"s0": "done", "s1": "done", "s2": "firm", "s3": "firm"}
    assert statuses(plan, 2, move_firm=True) == {"s0": "done", "s1": "done"}
    assert statuses(plan, 2, released={"s3"}) == {"s0": "done", "s1": "done", "s2": "firm"}
    assert statuses(plan, 2, released={"s2"}) == {"s0": "done", "s1": "done", "s3": "firm"}
    assert take_over(None, day(2)).sessions == ()


def test_a_cancelled_session_is_nobodys() -> None:
    plan = plan_of(session("off", 0, status="cancelled"), session("on", 0, run("r")))
    assert statuses(plan, 2) == {"on": "done"}


def test_who_begins_a_food_packs_it_be_it_in_three_steps() -> None:
    """Chilled on Monday, packed next Monday together with the start of another food, and so on."""
    plan = plan_of(
        session("first", 0, run("a", PUREE, 0)),
        session("second", 7, run("b", PUREE, second_sitting_of="a"), run("c", PUREE, 0)),
        session("third", 14, run("d", PUREE, second_sitting_of="c")),
        session("other", 14, run("e")),
    )
    assert statuses(plan, 1) == {"first": "done", "second": "firm", "third": "firm"}


def test_a_promised_packing_keeps_what_begins_it() -> None:
    """Where the packing stands, what it packs cannot go."""
    plan = plan_of(
        session("begins", 1, run("a", PUREE, 0)),
        session("packs", 2, run("b", PUREE, second_sitting_of="a")),
    )
    assert statuses(plan, 1, released={"begins"}) == {"begins": "firm", "packs": "firm"}


def test_what_the_kept_ones_took_and_made() -> None:
    lots = tuple(lot(f"l{n}", n) for n in range(4))
    plan = plan_of(
        session("s0", 0, run("r0", lots=(LotShare(lot="l0", grams=400),))),
        session(
            "s2",
            2,
            run(
                "r2", pouches=2, lots=(LotShare(lot="l0", grams=100), LotShare(lot="l1", grams=300))
            ),
        ),
        session("s9", 9, run("r9", lots=(LotShare(lot="l3", grams=200),))),
        lots=lots,
    )
    found = take_over(plan, day(2))
    assert found.used == {"l0": 500, "l1": 300}
    assert found.pouches == {BEANS: 5}
    assert [each.id for each in found.lots] == ["l0", "l1"]
    assert [each.uid for each in found.done] == ["s0"]


def test_what_is_moved_takes_along_the_food_that_is_there() -> None:
    """Of its two lots the one that is ripe tomorrow goes with it, not the one of the day after; of
    a session that nobody moves, neither."""
    lots = (lot("l3", 3), lot("l4", 4))
    shares = tuple(LotShare(lot=each.id, grams=100) for each in lots)
    plan = plan_of(session("s9", 9, run("r9", lots=shares)), lots=lots)
    assert [each.id for each in take_over(plan, day(2), released={"s9"}).lots] == ["l3"]
    assert [each.id for each in take_over(plan, day(2), moved={"s9"}).lots] == ["l3"]
    assert take_over(plan, day(2)).lots == ()


def test_a_session_that_stands_counts_where_its_freezing_could_meet_the_windows() -> None:
    """From 18:00 to 20:00 on Wednesday: within 24 hours before, or after, and no longer."""
    stands = session("a", 2, run("r"))
    for begin, end, near in (
        (day(3), 20, False),
        (day(3), 19, True),
        (day(1), 18, False),
        (day(1), 19, True),
    ):
        after = begin > day(2)
        edge = dt.datetime.combine(begin, dt.time(end), dt.UTC)
        there = FreeWindow(
            edge if after else edge - dt.timedelta(hours=1),
            edge + dt.timedelta(hours=1) if after else edge,
            1,
            extra=False,
        )
        stated = build_problem(Household(kitchen_season(), LIBRARY, (there,)), [], MONDAY)
        stated = replace(stated, history=History((stands,)))
        assert (stated.kept_near([0]) == [stands]) == near, (begin, end)


def test_time_is_free_up_to_a_session_that_stands_and_from_its_end_on() -> None:
    """It stands from 18:00 to 20:00 UTC."""
    stands = session("a", 0, run("r"))
    hours = [(16, 18, True), (16, 19, False), (18, 20, False), (19, 21, False), (20, 22, True)]
    for begin, end, free in hours:
        there = FreeWindow(
            stands.start.replace(hour=begin), stands.start.replace(hour=end), 1, extra=False
        )
        stated = build_problem(
            Household(kitchen_season(), LIBRARY, (there,)),
            [],
            MONDAY,
            earlier=plan_of(stands),
        )
        assert stated.history.sessions[0].status == "firm"
        assert (stated.windows == (there,)) == free
