"""First layouts of a session, reckoned by hand, and what stands around every session."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest
from benchmarks.judged_times import faults
from schedule.small_problems import (
    BEANS,
    LIBRARY,
    PUREE,
    RAW,
    bean_lots,
    choice,
    lot,
    problem,
    window,
)
from schedule.small_seasons import FIRST, kitchen_season

from harvestplan.household import Household
from harvestplan.inputs.season_kitchen import Pot
from harvestplan.kitchen.layout import TICK, Link, RoomLimit, TaskSpec
from harvestplan.kitchen.steps.clean_up import CLEAN_UP
from harvestplan.kitchen.steps.set_up import SET_UP
from harvestplan.plan.models import Lot
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.session.list_schedule import list_schedule
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import DoesNotFit, SessionTasks, SessionTimes, TaskTime
from harvestplan.schedule.session.timed_sessions import TimedSessions, window_runs
from harvestplan.schedule.session.whole_session import whole_session
from harvestplan.schedule.statement.build_problem import build_problem


def task(key: str, ticks: int, hands: int = 1, units: tuple[str, ...] = ()) -> TaskSpec:
    return TaskSpec(key, "work", None, seconds=ticks * TICK, hands=hands, units=units, grams=0)


def laid(
    tasks: list[TaskSpec],
    *links: Link,
    length: int,
    hands: int = 1,
    **more: Any,
) -> dict[str, int] | None:
    """Starts in ticks, within a session of so many."""
    asked = SessionTasks(
        tuple(tasks), links, more.pop("limits", ()), hands=hands, length=length * TICK, **more
    )
    times = list_schedule(asked)
    return None if times is None else {key: timed.start // TICK for key, timed in times.items()}


def test_one_after_another_with_one_hand_and_together_with_two() -> None:
    tasks = [task("a", 3), task("b", 2), task("c", 4)]
    assert laid(tasks, length=9) == {"a": 0, "b": 3, "c": 5}
    assert laid(tasks, length=8) is None
    assert laid(tasks, length=6, hands=2) == {"a": 0, "b": 0, "c": 2}
    assert laid(tasks, length=4, hands=3) == {"a": 0, "b": 0, "c": 0}


def test_what_follows_at_once_is_placed_together() -> None:
    """The kettle is free, but whoever cools at once afterwards finds the sink taken until 4."""
    tasks = [
        task("a", 4, 0, units=("sink",)),
        task("boil", 2, 0, units=("pot",)),
        task("cool", 3, 0, units=("sink",)),
        task("boil 2", 1, 0, units=("pot",)),
    ]
    at_once = Link("boil", "cool", True)
    assert laid(tasks, at_once, length=7) == {"a": 0, "boil": 2, "cool": 4, "boil 2": 0}
    assert laid(tasks, at_once, length=6) is None


def test_what_follows_waits_for_all_before_it_and_for_now() -> None:
    tasks = [task("a", 2, 0), task("b", 5, 0), task("c", 1, 0)]
    links = (Link("a", "c"), Link("b", "c"))
    assert laid(tasks, *links, length=6) == {"a": 0, "b": 0, "c": 5}
    assert laid(tasks, *links, length=9, earliest=3 * TICK - 1) == {"a": 3, "b": 3, "c": 8}
    assert laid(tasks, *links, length=8, earliest=3 * TICK - 1) is None


def test_what_belongs_into_the_midst_of_other_work_is_left_to_the_solver() -> None:
    """b after a, and before c that follows a at once: it cannot be."""
    tasks = [task("a", 2), task("b", 1, 0), task("c", 1)]
    links = (Link("a", "c", True), Link("a", "b"), Link("b", "c"))
    assert laid(tasks, *links, length=9) is None
    asked = SessionTasks(tuple(tasks), links, (), hands=1, length=9 * TICK)
    assert time_session(asked) == DoesNotFit(proven=True)


def test_what_stands_already_stays() -> None:
    tasks = [task("a", 2, 0, units=("pot",)), task("b", 3, 0, units=("pot",))]

    def fixed(start: int) -> dict[str, TaskTime]:
        return {"a": TaskTime(start, "pot")}

    assert laid(tasks, length=9, fixed=fixed(1 * TICK)) == {"a": 1, "b": 3}
    assert laid(tasks, length=9, fixed=fixed(3 * TICK)) == {"a": 3, "b": 0}
    assert laid(tasks, length=9, fixed=fixed(1)) is None  # on no tick
    assert laid(tasks, length=9, fixed=fixed(8 * TICK)) is None  # ends too late
    assert laid(tasks, length=5, fixed=fixed(3 * TICK)) == {"a": 3, "b": 0}


def test_two_pots_are_two() -> None:
    tasks = [task(name, 4, 0, units=("pot", "kettle")) for name in "abc"]
    assert laid(tasks, length=8) == {"a": 0, "b": 0, "c": 4}
    assert laid(tasks, length=7) is None


@pytest.mark.parametrize(("limit", "found"), [(2, True), (1, False)])
def test_food_stands_no_longer_than_it_may(limit: int, found: bool) -> None:
    """After a, b keeps the only hand for two ticks before c."""
    tasks = [task("a", 1), task("b", 2), task("c", 1)]
    limits = (RoomLimit((("a", "c"),), limit * TICK),)
    starts = laid(tasks, Link("a", "c"), length=9, limits=limits)
    assert (starts == {"a": 0, "b": 1, "c": 3}) == found and (starts is not None) == found


def test_no_session_is_shorter_than_the_work_of_its_hands_or_of_one_pot() -> None:
    """Known before anything is searched: three tasks of two ticks take two hands three ticks, and
    one pot six."""
    by_hand = SessionTasks(tuple(task(name, 2) for name in "abc"), (), (), hands=2, length=9 * TICK)
    in_pot = SessionTasks(
        tuple(task(name, 2, 0, units=("pot",)) for name in "abc"),
        (),
        (),
        hands=None,
        length=9 * TICK,
    )
    for asked, bound, length in ((by_hand, 3, 4), (in_pot, 6, 6)):
        found = time_session(asked, improve=False)
        assert isinstance(found, SessionTimes)
        assert (found.bound, found.length) == (bound * TICK, length * TICK)


def test_every_session_is_set_up_and_cleaned_up() -> None:
    """Twenty minutes each, one pair of hands, no food; everything else lies between them."""
    stated = problem(bean_lots(2 * RAW), [window(0)], (BEANS, 2))
    layout = stated.work.layout(0, "whole", 2 * RAW, pouches=2, freezer="chest")
    whole = whole_session([("r/", layout)], stated.kitchen.pots, 2, length=3 * 3600)
    first, last = whole.tasks[0], whole.tasks[-1]
    for edge, step in ((first, "set up"), (last, "clean up")):
        assert (edge.step, edge.seconds, edge.hands, edge.grams) == (step, 1200, 1, 0)
    between = {each.key for each in whole.tasks} - {first.key, last.key}
    assert {"r/" + each.key for each in layout.tasks} <= between
    after_first = {link.after for link in whole.links if link.before == first.key}
    before_last = {link.before for link in whole.links if link.after == last.key}
    assert {"r/" + each.key for each in layout.tasks} <= after_first
    assert between <= before_last
    assert not {each.step for each in whole.tasks} & {"change over", "sanitise"}  # one food alone
    # Water may be there for every potful, and is put on in the session itself, by somebody's hands.
    (filling,) = whole.fillings
    assert set(whole.potfuls) == {each.key for each in whole.tasks if each.step == "blanch"}
    assert [(each.hands, each.units) for each in filling.tasks] == [
        (1, ("pot",)),
        (0, ("pot",)),  # nobody stands beside it
        (1, ("pot",)),
    ]
    found = time_session(whole)
    assert isinstance(found, SessionTimes) and faults(whole, found.times) == []
    boils = found.times[filling.heat.key].start + filling.heat.seconds
    assert boils <= min(found.times[key].start for key in whole.potfuls)


def test_each_of_several_foods_begins_with_a_clean_board() -> None:
    """Three minutes (common practice, no source) of hands before the first that is done with it,
    and at once before that."""
    lots = [*bean_lots(2 * RAW), lot("carrot", FIRST, 5, grams=3000)]
    stated = problem(lots, [window(0, 6)], (BEANS, 2), ("carrot, sliced", 2))
    layouts = [
        (f"{n}/", stated.work.layout(n, "whole", 2000, pouches=2, freezer="chest")) for n in (0, 1)
    ]
    whole = whole_session(layouts, stated.kitchen.pots, 1, length=6 * 3600)
    wiping = {each.key: each for each in whole.tasks if each.step == "change over"}
    assert set(wiping) == {"0/change-over", "1/change-over"}
    assert {(each.seconds, each.hands) for each in wiping.values()} == {(180, 1)}
    for run in ("0/", "1/"):
        theirs = [each.key for each in whole.tasks if each.key.startswith(run)]
        after = {x.after: x.no_wait for x in whole.links if x.before == f"{run}change-over"}
        assert after.keys() >= set(theirs) - {f"{run}change-over"}
        assert [key for key, at_once in after.items() if at_once] == [f"{run}0.wash"]


def test_food_that_first_drains_begins_with_a_clean_board_too() -> None:
    """Beans that were cooked the day before: drained without hands, then portioned."""
    lots = [*bean_lots(2 * RAW), lot("dry bean", FIRST, 90, grams=4000, bought=True)]
    stated = problem(lots, [window(0, 6)], (BEANS, 2), ("dry bean, cooked", 2))
    layouts = [
        ("0/", stated.work.layout(0, "whole", 2 * RAW, pouches=2, freezer="chest")),
        ("1/", stated.work.layout(1, "second", 600, pouches=2, freezer="chest")),
    ]
    assert layouts[1][1].tasks[0].step == "drain"
    whole = whole_session(layouts, stated.kitchen.pots, 1, length=6 * 3600)
    found = list_schedule(whole)
    assert found is not None and faults(whole, found) == []


def test_mild_food_is_laid_out_before_strong_and_raw_meat_last() -> None:
    """Carrots, broccoli, beets (mild before strong, beets last: KSU MF1181 as the crop files have
    it), shrimp; in whatever order they are wanted."""
    foods = {
        "shrimp, portioned": "shrimp", "beet, sliced": "beet",
        "broccoli, florets": "broccoli", "carrot, sliced": "carrot",
    }  # fmt: skip
    lots = [lot(crop, FIRST, 20, grams=3000, bought=crop == "shrimp") for crop in foods.values()]
    stated = problem(lots, [window(0, 12, 8)], *((product, 1) for product in foods))
    layouts = [
        (f"{crop}/", stated.work.layout(n, "whole", 1000, pouches=1, freezer="chest"))
        for n, crop in enumerate(foods.values())
    ]
    whole = whole_session(layouts, stated.kitchen.pots, 2, length=12 * 3600)
    assert [run.food.crop for run in whole.runs] == ["carrot", "broccoli", "beet", "shrimp"]
    assert [run.food.raw_meat for run in whole.runs] == [False, False, False, True]
    assert whole.sanitising is not None and whole.sanitising.seconds == 600
    strengths = [whole.potfuls[key].strength for key in whole.potfuls]
    assert strengths == sorted(strengths) and len(set(strengths)) > 1


@pytest.mark.parametrize(
    ("product", "lots", "pouches"),
    [(BEANS, bean_lots(9 * RAW), 2), (BEANS, bean_lots(9 * RAW), 6),
     (PUREE, [lot("winter squash", FIRST, 30, grams=9000)], 9)],
)  # fmt: skip
def test_the_season_never_asks_more_time_of_an_evening_than_it_takes(
    product: str, lots: list[Lot], pouches: int
) -> None:
    """What the season's plan reckons for a run is at most the shortest session with it, whatever
    the hands: else runs that fit would be thought not to."""
    stated = problem(lots, [window(0, 6)], (product, pouches))
    raw = stated.demands[0].process.raw(pouches)
    layout = stated.work.layout(0, "whole", raw, pouches=pouches, freezer="chest")
    whole = whole_session([("r/", layout)], stated.kitchen.pots, 9, length=6 * 3600)
    found = time_session(whole, effort=2.0)
    assert isinstance(found, SessionTimes) and found.proven
    work = stated.work_of(stated.options[0], "whole", pouches)
    assert work.path <= found.length - SET_UP - CLEAN_UP
    for busy, heat, head, tail in zip(work.machine, work.heat, work.heads, work.tails, strict=True):
        assert max(head, heat) + busy + tail <= work.path or not busy


def test_the_season_counts_the_pot_as_taken_while_it_is_heated() -> None:
    """Beets cook in the pot in which beans are blanched: between the two it comes to the boil. With
    a quarter less than that, neither the season nor the minutes let both in; hands abound."""
    lots = [*bean_lots(20 * RAW), lot("beet", FIRST, 20, grams=20_000)]
    wants = [{"product": p, "portions": 4, "portion": "340 g"} for p in (BEANS, "beet, sliced")]
    kettle = Pot(name="pot", volume="24 L", power="2 kW")
    season = kitchen_season(wants).model_copy(update={"pot": (kettle,)})
    stated = build_problem(Household(season, LIBRARY, (window(0, 12, 8, hands=9),)), lots, FIRST)
    pot = stated.work.machines.index(frozenset({"pot"}))
    works = [stated.work_of(option, "whole", 4) for option in stated.options]
    heat, tail = max(w.heat[pot] for w in works), min(w.tails[pot] for w in works)
    bodies = sum(work.machine[pot] for work in works)
    busy = bodies + heat + tail
    assert heat // 4 > min(w.heads[pot] for w in works)
    assert all(work.path < busy - heat // 4 for work in works)
    both = choice(stated, *((option.number, 4) for option in stated.options))
    for spare in (0, heat // 4):
        room = dt.timedelta(seconds=busy - spare + SET_UP + CLEAN_UP)
        day = replace(stated.windows[0], end=stated.windows[0].start + room)
        short = replace(stated, windows=(day,))
        assert SeasonModel(short, ()).holds(both) is (spare == 0)
        if spare:
            runs = window_runs(short, both)[0]
            assert TimedSessions(short, 1).fits(0, runs) == DoesNotFit(proven=True)
