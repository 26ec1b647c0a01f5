"""The minute model against a brute force and an independent judge."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from itertools import product

from benchmarks.judged_times import faults
from benchmarks.published import job_shop
from hypothesis import given, settings
from hypothesis import strategies as st

from harvestplan.kitchen.layout import TICK, Link, RoomLimit, TaskSpec
from harvestplan.schedule.session.list_schedule import list_schedule
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import (
    DoesNotFit,
    Pool,
    SessionTasks,
    SessionTimes,
    TaskTime,
)

FT06 = (
    ((2, 1), (0, 3), (1, 6), (3, 7), (5, 3), (4, 6)),
    ((1, 8), (2, 5), (4, 10), (5, 10), (0, 10), (3, 4)),
    ((2, 5), (3, 4), (5, 8), (0, 9), (1, 1), (4, 7)),
    ((1, 5), (0, 5), (2, 5), (3, 3), (4, 8), (5, 9)),
    ((2, 9), (1, 3), (4, 5), (5, 4), (0, 3), (3, 1)),
    ((1, 3), (3, 3), (5, 9), (0, 10), (4, 4), (2, 1)),
)
"""Six jobs on six machines, shortest 55: H. Fisher, G. L. Thompson, in J. F. Muth,
G. L. Thompson (eds), Industrial Scheduling, Prentice-Hall 1963."""


def task(key: str, seconds: int, hands: int = 0, units: tuple[str, ...] = ()) -> TaskSpec:
    return TaskSpec(key, "work", None, seconds=seconds, hands=hands, units=units, grams=0)


def session(
    tasks: Iterable[TaskSpec],
    links: Iterable[Link] = (),
    limits: Iterable[RoomLimit] = (),
    hands: int | None = 1,
    length: int = 7200,
) -> SessionTasks:
    return SessionTasks(tuple(tasks), tuple(links), tuple(limits), hands=hands, length=length)


def solved(asked: SessionTasks, effort: float = 1.0) -> SessionTimes:
    found = time_session(asked, effort)
    assert isinstance(found, SessionTimes)
    assert faults(asked, found.times) == []
    assert found.length == max(found.times[t.key].start + t.seconds for t in asked.tasks)
    return found


def test_one_person_does_one_thing_at_a_time() -> None:
    work = [task(f"t{i}", 300, hands=1) for i in range(6)]
    assert solved(session(work, hands=1)).length == 1800
    assert solved(session(work, hands=2)).length == 900
    assert solved(session(work, hands=None)).length == 300


def test_two_handed_work_needs_both() -> None:
    work = [task("lift", 300, hands=2), task("cut", 300, hands=1), task("stir", 300, hands=1)]
    assert solved(session(work, hands=2)).length == 600
    assert time_session(session(work, hands=1)) == DoesNotFit(proven=True)


def test_what_a_cooker_gives_is_shared() -> None:
    work = [task(f"boil{i}", 300) for i in range(4)]
    power = Pool(7, {"boil0": 3, "boil1": 3, "boil2": 2, "boil3": 4})
    asked = dataclasses.replace(session(work), pools=(power,))
    assert solved(asked).length == 600
    strong = dataclasses.replace(power, capacity=12)
    assert solved(dataclasses.replace(asked, pools=(strong,))).length == 300


def test_cooling_follows_at_once_though_the_bath_is_busy() -> None:
    """Potfuls faster than the bath: each waits before the pot, never after it."""
    work = [
        t
        for i in range(3)
        for t in (task(f"blanch{i}", 180, units=("pot",)), task(f"cool{i}", 600, units=("bath",)))
    ]
    links = [Link(f"blanch{i}", f"cool{i}", no_wait=True) for i in range(3)]
    found = solved(session(work, links))
    assert found.length == 180 + 3 * 600
    assert found.proven


def test_pots_are_used_side_by_side() -> None:
    work = [task(f"blanch{i}", 300, units=("left", "right")) for i in range(4)]
    found = solved(session(work))
    assert found.length == 600
    assert {timed.unit for timed in found.times.values()} == {"left", "right"}


def test_a_task_for_the_large_pot_alone_stays_there() -> None:
    work = [task(f"any{i}", 300, units=("large", "small")) for i in range(2)]
    found = solved(session([*work, task("stock", 600, units=("large",))]))
    assert found.length == 600
    assert found.times["stock"].unit == "large"


def standing(limit: int) -> SessionTasks:
    """Two cut boxes, one pot: the second waits 900 s for it whatever is done."""
    work = [task(f"cut{i}", 60, hands=1) for i in range(2)] + [
        task(f"cook{i}", 900, units=("pot",)) for i in range(2)
    ]
    links = [Link("cut0", "cut1"), Link("cut1", "cook0")]
    links += [Link("cut1", "cook1")]
    return session(work, links, [RoomLimit((("cut1", "cook0"), ("cut1", "cook1")), limit)])


def test_food_that_must_stand_too_long_is_proven_not_to_fit() -> None:
    assert solved(standing(900)).length == 1920
    assert time_session(standing(899)) == DoesNotFit(proven=True)


def test_a_room_limit_is_worth_a_later_start() -> None:
    """Cutting starts later than it could, so that the food does not stand."""
    work = [
        task("cut", 300, hands=1),
        task("stock", 3600, units=("pot",)),
        task("cook", 600, units=("pot",)),
    ]
    links = [Link("stock", "cook"), Link("cut", "cook")]
    asked = session(work, links, [RoomLimit((("cut", "cook"),), 600)])
    found = solved(asked)
    assert found.times["cut"].start >= 2700
    assert found.length == 4200


def test_a_task_longer_than_the_session_does_not_fit() -> None:
    assert time_session(session([task("dry", 600)], length=300)) == DoesNotFit(proven=True)


def test_the_first_layout_that_fits_is_enough_where_asked() -> None:
    asked = job_shop(FT06, 200 * TICK, TICK)
    first = time_session(asked, improve=False)
    assert isinstance(first, SessionTimes)
    assert faults(asked, first.times) == []
    assert first.bound <= 55 * TICK <= first.length


def test_times_repeat() -> None:
    asked = job_shop(FT06, 100)
    assert time_session(asked, seed=3) == time_session(asked, seed=3)


@st.composite
def sessions(draw: st.DrawFn, most: int = 8, slots: int = 40) -> SessionTasks:
    """Small sessions; a task done at once after another has no other before it."""
    count = draw(st.integers(1, most))
    units = st.sampled_from([(), ("a",), ("b",), ("a", "b")])
    tasks = [
        task(f"t{i}", TICK * draw(st.integers(1, 5)), draw(st.integers(0, 2)), units=draw(units))
        for i in range(count)
    ]
    links: list[Link] = []
    led: set[int] = set()
    for after in range(1, count):
        befores = draw(st.sets(st.integers(0, after - 1), max_size=2))
        at_once = len(befores) == 1 and not befores & led and draw(st.booleans())
        led |= befores if at_once else set()
        links += [Link(f"t{b}", f"t{after}", at_once) for b in sorted(befores)]
    plain = [link for link in links if not link.no_wait]
    limits = [
        RoomLimit(((link.before, link.after),), TICK * draw(st.integers(0, 4)))
        for link in draw(st.lists(st.sampled_from(plain), max_size=2) if plain else st.just([]))
    ]
    length = TICK * draw(st.integers(1, slots))
    taken = draw(st.dictionaries(st.sampled_from([t.key for t in tasks]), st.integers(1, 3)))
    asked = session(
        tasks, links, limits, hands=draw(st.sampled_from([1, 2, 3, None])), length=length
    )
    return dataclasses.replace(asked, pools=(Pool(draw(st.integers(2, 4)), taken),))


@settings(max_examples=300, deadline=None)
@given(sessions())
def test_a_list_schedule_is_valid_or_absent(asked: SessionTasks) -> None:
    times = list_schedule(asked)
    if times is not None:
        assert faults(asked, times) == []


@settings(max_examples=60, deadline=None)
@given(sessions())
def test_found_times_are_valid_and_no_longer_than_the_list_schedule(asked: SessionTasks) -> None:
    found = time_session(asked, effort=0.5)
    times = list_schedule(asked)
    if isinstance(found, DoesNotFit):
        assert times is None
        return
    assert faults(asked, found.times) == []
    assert found.bound <= found.length <= asked.length
    if times is not None:
        assert found.length <= max(times[t.key].start + t.seconds for t in asked.tasks)


def shortest_by_trying(asked: SessionTasks) -> int | None:
    """The shortest valid length among all starts on whole ticks, or None."""
    best = None
    starts = [range(0, asked.length - t.seconds + 1, TICK) for t in asked.tasks]
    for choice in product(*starts):
        end = max(s + t.seconds for s, t in zip(choice, asked.tasks, strict=True))
        if best is not None and end >= best:
            continue
        for units in product(*(t.units or (None,) for t in asked.tasks)):
            times = {
                t.key: TaskTime(s, u) for t, s, u in zip(asked.tasks, choice, units, strict=True)
            }
            if not faults(asked, times):
                best = end
                break
    return best


@settings(max_examples=80, deadline=None)
@given(sessions(most=3, slots=9))
def test_proofs_agree_with_trying_everything(asked: SessionTasks) -> None:
    best, found = shortest_by_trying(asked), time_session(asked)
    if best is None:
        assert found == DoesNotFit(proven=True)
    else:
        assert isinstance(found, SessionTimes)
        assert found.proven
        assert found.length == found.bound == best


def test_seconds_off_the_tick_leave_it_to_the_solver() -> None:
    asked = session([task("a", 45, hands=1), task("b", 50, hands=1)])
    assert list_schedule(asked) is None
    assert solved(asked).length == 95
