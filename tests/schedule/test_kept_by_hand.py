"""What a new plan takes over, by hand: sessions, identities, food eaten fresh, freezers."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from small_seasons import kitchen_season

from harvestplan.inputs.draws import Draw
from harvestplan.inputs.season import Fresh
from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.library import load_library
from harvestplan.kitchen.pouches import BOX, EVACUATED, GAPS
from harvestplan.plan.models import Lot, LotShare, Plan, Run, Session, Task
from harvestplan.records.diary import read_diary
from harvestplan.records.stock import StoredBatch, StoredProduct
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.freezer_loads import FreezerProduct
from harvestplan.schedule.statement.fresh import fresh_grams
from harvestplan.schedule.statement.history import History, take_over
from harvestplan.schedule.statement.lots_from_now import Taking, given_or_lost
from harvestplan.schedule.statement.opening import UNKNOWN_PORTION, open_freezers
from harvestplan.schedule.written.clock_rules import on_the_rules_of
from harvestplan.schedule.written.freezer_days import freezer_days
from harvestplan.schedule.written.session_uids import name_sessions

LIBRARY = load_library()
BEANS, PUREE = "snap bean, cut", "winter squash, purée"
MONDAY = dt.date(2027, 7, 5)
NO_PLAN: dict[str, Any] = dict.fromkeys(Plan.model_fields, ())


def day(number: int) -> dt.date:
    return MONDAY + dt.timedelta(days=number)


def run(name: str, product: str = BEANS, pouches: int = 3, **more: Any) -> Run:
    return Run(
        id=name, product=product, crop=product.split(",")[0], grams_in=1200, grams_packed=1000,
        pouch="quart", pouches=pouches, portion_grams=340, lots=more.pop("lots", ()), **more,
    )  # fmt: skip


def session(uid: str, on: int, *runs: Run, **more: Any) -> Session:
    start = dt.datetime.combine(day(on), dt.time(18), dt.UTC)
    end = start + dt.timedelta(hours=2)
    return Session(
        uid=uid, sequence=0, status=more.pop("status", "planned"), start=start, end=end,
        window_start=start, window_end=end, hands=1, runs=runs, tasks=more.pop("tasks", ()), **more,
    )  # fmt: skip


def plan_of(*sessions: Session, lots: tuple[Lot, ...] = ()) -> Plan:
    return Plan.model_construct(**NO_PLAN | {"sessions": sessions, "lots": lots})


def lot(name: str, ready: int, keeps: int = 3, grams: int = 1000, crop: str = "snap bean") -> Lot:
    return Lot(
        id=name, crop=crop, planting=f"my {crop}", bought=None, ready=day(ready),
        keep_until=day(ready + keeps), grams=grams, low_grams=grams, high_grams=grams,
    )  # fmt: skip


# Sessions that stand.


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
        session("s2", 2, run("r2", pouches=2, lots=(LotShare(lot="l0", grams=100),
                                                   LotShare(lot="l1", grams=300)))),
        session("s9", 9, run("r9", lots=(LotShare(lot="l3", grams=200),))),
        lots=lots,
    )  # fmt: skip
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


# Who a session is.


def named(new: list[Session], old: list[Session], **more: Any) -> list[tuple[str, str, int, str]]:
    put = more.pop("put", {})
    kept = more.pop("kept", ())
    found = name_sessions(new, kept, plan_of(*old), "The Lane", put)
    return [(s.uid, f"{s.start:%a}", s.sequence, s.status) for s in found]


def test_a_session_in_the_same_window_is_the_same() -> None:
    old = [session("a", 0, run("r")), session("b", 1, run("r", PUREE))]
    assert named([session("", 0, run("r")), session("", 1, run("r", PUREE))], old) == [
        ("a", "Mon", 0, "planned"), ("b", "Tue", 0, "planned"),
    ]  # fmt: skip
    assert named([session("", 0, run("r", pouches=4))], [old[0]]) == [("a", "Mon", 1, "planned")]


def test_else_the_one_with_most_in_common_then_the_nearest() -> None:
    both = session("both", 0, run("x"), run("y", PUREE))
    near = session("near", 4, run("x"))
    found = named([session("", 5, run("x"), run("y", PUREE))], [both, near])
    assert found == [
        ("both", "Sat", 1, "planned"),
        ("near", "Fri", 1, "cancelled"),
    ] or found == [("near", "Fri", 1, "cancelled"), ("both", "Sat", 1, "planned")]
    alike = [session("far", 0, run("x")), session("near", 4, run("x"))]
    assert ("near", "Sat", 1, "planned") in named([session("", 5, run("x"))], alike)


@pytest.mark.parametrize(("moved", "same"), [(21, True), (22, False)])
def test_three_weeks_on_it_is_another(moved: int, same: bool) -> None:
    uids = {n[0] for n in named([session("", moved, run("x"))], [session("a", 0, run("x"))])}
    assert ("a" in uids and len(uids) == 1) == same


def test_what_is_dropped_is_cancelled_once_and_its_name_never_used_again() -> None:
    old = [session("a", 0, run("x")), session("off", 1, status="cancelled")]
    found = named([], old)
    assert found == [("a", "Mon", 1, "cancelled"), ("off", "Tue", 0, "cancelled")]
    new = named([session("", 1, run("x", PUREE))], old)
    assert {"a", "off"} < {each[0] for each in new} and len({each[0] for each in new}) == 3


def test_a_session_that_was_put_elsewhere_is_the_same_there() -> None:
    old = [session("a", 0, run("x")), session("b", 3, run("x"))]
    put = {"a": session("", 3).window_start}
    found = named([session("", 3, run("x"))], old, put=put)
    assert ("a", "Thu", 1, "planned") in found and ("b", "Thu", 1, "cancelled") in found


def test_kept_sessions_stand_as_they_are() -> None:
    old = [session("a", 0, run("x")), session("b", 3, run("x"))]
    done = old[0].model_copy(update={"status": "done"})
    assert named([], old, kept=(done,)) == [("a", "Mon", 0, "done"), ("b", "Thu", 1, "cancelled")]


def test_a_zone_with_new_rules_keeps_the_clock() -> None:
    """Written for 18:00 UTC; where the zone is Berlin's (UTC+2 in July) that clock is two hours
    earlier as an instant."""
    task = Task(id="t", run=None, step="set up", batch=None, equipment=(), hands=1,
                start=session("", 0).start, end=session("", 0).end, grams=0)  # fmt: skip
    plan = plan_of(session("a", 0, run("x"), tasks=(task,)))
    (found,) = on_the_rules_of(plan, "Europe/Berlin").sessions
    assert found.start == plan.sessions[0].start - dt.timedelta(hours=2)
    assert (found.start.hour, found.end.hour, found.window_end.hour) == (18, 20, 20)
    assert (found.tasks[0].start, found.tasks[0].end) == (found.start, found.end)
    assert found.sequence == 1
    assert on_the_rules_of(plan, "UTC") is plan


# Eaten fresh.


def eaten(lots: list[Lot], grams: int, **used: int) -> list[int]:
    return fresh_grams(lots, [Fresh(crop="snap bean", per_week=f"{grams} g")], LIBRARY, used)


def test_each_week_eats_its_share_of_the_oldest_that_is_good() -> None:
    """Ready on Monday, Tuesday, next Monday; good for three days."""
    lots = [lot("a", 0, grams=300), lot("b", 1, grams=300), lot("c", 7, grams=300)]
    assert eaten(lots, 200) == [200, 0, 200]
    assert eaten(lots, 301) == [300, 1, 300]
    assert eaten(lots, 400) == [300, 100, 300]
    assert eaten(lots, 9000) == [300, 300, 300]
    assert eaten(lots, 0) == [0, 0, 0]


def test_what_was_put_by_is_not_eaten_and_other_crops_are_not_counted() -> None:
    lots = [lot("a", 0, grams=300), lot("x", 0, crop="kale"), lot("b", 1, grams=300)]
    assert eaten(lots, 400, a=250) == [50, 0, 300]


def test_food_that_lasts_over_sunday_serves_two_weeks() -> None:
    """Ready on Saturday: two days of this week, and Monday and Tuesday of the next."""
    assert eaten([lot("a", 5, 3, grams=1000)], 300) == [600]
    assert eaten([lot("a", 5, 1, grams=1000)], 300) == [300]
    assert eaten([lot("a", 6, 1, grams=1000)], 300) == [600]  # its last day is a Monday
    assert eaten([lot("b", 3, 9, grams=900), lot("a", 0, 9, grams=100)], 300) == [500, 100]


# What lies in the freezers.


def stored(product: str, portions: int, grams: int | None = 340, freezer: str | None = "chest",
           ) -> StoredProduct:  # fmt: skip
    batch = StoredBatch(day(-100), portions, day(200), freezer, grams)
    return StoredProduct(product=product, batches=(batch,), eaten=0, due=None)


def test_what_lies_there_by_its_pouch_or_by_its_food() -> None:
    """Beans: 1 portion of a pouch of 900 mL; purée of 400 g, not made here, takes what its food
    does in a pack that fills its box to 93 %, with gaps of 15 % between packs."""
    opening = open_freezers(
        [stored(BEANS, 2), stored(PUREE, 3, 400), stored("dry bean, sealed", 4, freezer=None)],
        {BEANS: 900}, LIBRARY,
    )  # fmt: skip
    found = LIBRARY.find_product(PUREE)
    assert found is not None and found[1].texture == "puree"
    each = round(400 / found[1].density.value / BOX * GAPS)
    assert opening.pouches == {(BEANS, "chest"): 2}
    assert opening.other == {"chest": 3 * each}
    assert [(r.product, r.portions, r.volume_ml) for r in opening.rows] == [
        (BEANS, 2, 1800), (PUREE, 3, 3 * each),
    ]  # fmt: skip


def test_a_portion_of_unknown_size() -> None:
    """Loose pieces settle in an evacuated pouch."""
    found = LIBRARY.find_product(BEANS)
    assert found is not None
    each = round(UNKNOWN_PORTION / found[1].density.value * EVACUATED / BOX * GAPS)
    assert open_freezers([stored(BEANS, 1, None)], {}, LIBRARY).other == {"chest": each}


# The freezers day by day.


def rows(*sessions: Session, draw: Draw | None = None, opening: int = 0, on: int = 0,
         ) -> dict[int, tuple[int, int]]:  # fmt: skip
    """mL in the chest and g to freeze by day from Monday on, with pouches of 1000 mL."""
    season = kitchen_season(end=day(9), used="20 L")
    found = freezer_days(
        Kitchen.from_season(season),
        [FreezerProduct(BEANS, 1000, draw)],
        {(BEANS, "chest"): opening},
        {"chest": 500},
        sessions,
        season,
        day(on),
    )
    assert {row.capacity_ml for row in found} == {100_000}
    return {(row.date - MONDAY).days: (row.used_ml - 20_500, row.load_grams) for row in found}


def freezes(uid: str, on: int, pouches: int, status: str = "planned") -> Session:
    base = session(uid, on, run("r"))
    task = Task(id="f", run="r", step="freeze", batch=None, equipment=(), hands=1,
                start=base.start, end=base.end, grams=340 * pouches,
                settings={"freezer": "chest", "pouches": pouches})  # fmt: skip
    return base.model_copy(update={"tasks": (task,), "status": status})


def test_the_ledger_goes_from_today_to_the_seasons_end() -> None:
    assert rows(opening=2) == dict.fromkeys(range(10), (2000, 0))
    assert min(rows(on=4)) == 4


def test_pouches_lie_there_from_their_day_on() -> None:
    found = rows(freezes("a", 3, 4))
    assert found == {n: (4000 if n >= 3 else 0, 1360 if n == 3 else 0) for n in range(10)}
    assert rows(freezes("a", 3, 4, "cancelled")) == dict.fromkeys(range(10), (0, 0))
    # What a session froze that is done lies there already; past the season's end it is counted on.
    assert rows(freezes("a", 3, 4, "done"))[9] == (0, 0)
    assert max(rows(freezes("a", 12, 1))) == 12


def test_draws_come_off_at_the_end_of_their_day_until_nothing_is_left() -> None:
    """Seven a week from Wednesday on: one each evening; five lie there."""
    found = rows(opening=5, draw=Draw(7, day(2), None))
    assert [found[n][0] for n in range(10)] == [5000] * 3 + [4000, 3000, 2000, 1000, 0, 0, 0]
    # The last draw, on the 12th day, is in the ledger though the season is over.
    late = rows(opening=5, draw=Draw(7, day(8), None))
    assert max(late) == 12 and late[12][0] == 1000
    until = rows(opening=5, draw=Draw(7, day(2), day(3)))
    assert [until[n][0] for n in (2, 3, 4, 9)] == [5000, 4000, 3000, 3000]


def test_a_draw_that_finds_nothing_is_not_made_up_for() -> None:
    """One each evening from Monday on; two pouches come on Thursday."""
    found = rows(freezes("a", 3, 2), draw=Draw(7, day(0), None))
    assert [found[n][0] for n in range(6)] == [0, 0, 0, 2000, 1000, 0]


def test_ice_of_their_own_is_made_in_the_first_freezer_the_day_before() -> None:
    season = kitchen_season(end=day(9), used="20 L", ice="make")
    base = session("a", 3, run("r"))
    cool = Task(id="c", run="r", step="cool", batch=1, equipment=("sink",), hands=0,
                start=base.start, end=base.end, grams=500, settings={"ice_g": 3000})  # fmt: skip
    made = freezer_days(
        Kitchen.from_season(season), [], {}, {}, [base.model_copy(update={"tasks": (cool,)})],
        season, day(0),
    )  # fmt: skip
    burden = Counter({(r.date - MONDAY).days: r.load_grams for r in made})
    assert [n for n, grams in burden.items() if grams] == [2]
    # Freezing a kilogram of water takes more than one of food, which is not all water.
    assert burden[2] > 3000
    space = {(r.date - MONDAY).days: r.used_ml for r in made}
    # Ice is 0.917 of the weight of as much water (common tables, from memory).
    assert space[2] - space[1] >= 3000 / 0.917 and space[3] == space[1]


# Food that is taken.


def test_food_is_taken_of_what_is_ripe_by_then_until_its_last_day() -> None:
    """Ready on Wednesday and good until Friday; of the crop, or of its own planting."""
    beans = lot("b", 2, 2)
    for on, may in ((1, True), (4, True), (5, False)):
        assert Taking(day(on), 100, day(9), crop="snap bean").of(beans) == may
    for until, may in ((1, False), (2, True)):
        assert Taking(day(2), 100, day(until), crop="snap bean").of(beans) == may
    assert not Taking(day(2), 100, day(9), crop="kale").of(beans)
    assert Taking(day(2), 100, day(9), source="planting my snap bean").of(beans)
    assert not Taking(day(2), 100, day(9), source="planting her snap bean").of(beans)


def test_what_was_given_away_is_taken_by_its_weight_or_by_its_density(tmp_path: Path) -> None:
    """A pound is 453.6 g; a litre of beans weighs what the crop file says of a litre."""
    (tmp_path / "diary.txt").write_text(
        "2027-07-06 gave snap bean 1 lb\n2027-07-07 lost snap bean 2 L\n"
        '2027-07-08 gave "snap bean, cut" 2\n2027-07-12 gave snap bean 1 lb\n',
        encoding="utf-8",
    )
    beans = LIBRARY.find_crop("snap bean")
    assert beans is not None and beans.raw_density.value != 1
    found = list(given_or_lost(read_diary(tmp_path), LIBRARY, day(6)))
    assert [(t.day, t.until, t.crop) for t in found] == [
        (day(1), day(1), "snap bean"), (day(2), day(2), "snap bean"),
    ]  # fmt: skip
    assert [t.grams for t in found] == [454, round(2000 * beans.raw_density.value)]


def test_a_session_that_stands_counts_where_its_freezing_could_meet_the_windows() -> None:
    """From 18:00 to 20:00 on Wednesday: within 24 hours before, or after, and no longer."""
    stands = session("a", 2, run("r"))
    for begin, end, near in (
        (day(3), 20, False), (day(3), 19, True), (day(1), 18, False), (day(1), 19, True),
    ):  # fmt: skip
        after = begin > day(2)
        edge = dt.datetime.combine(begin, dt.time(end), dt.UTC)
        there = FreeWindow(
            edge if after else edge - dt.timedelta(hours=1),
            edge + dt.timedelta(hours=1) if after else edge, 1, extra=False,
        )  # fmt: skip
        stated = build_problem(kitchen_season(), LIBRARY, [], [there], MONDAY, None)
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
            kitchen_season(), LIBRARY, [], [there], MONDAY, plan_of(stands), False
        )
        assert stated.history.sessions[0].status == "firm"
        assert (stated.windows == (there,)) == free
