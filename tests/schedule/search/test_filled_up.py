"""What one evening holds, and which limit it names where one more pouch does not fit."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from schedule.small_problems import (
    BEANS,
    DRY,
    PACK,
    RAW,
    bean_lots,
    beans,
    lot,
    problem,
    solved,
    window,
)
from schedule.small_seasons import FIRST

from harvestplan.kitchen.layout import ticks
from harvestplan.kitchen.steps.change_over import CHANGE_OVER
from harvestplan.kitchen.steps.clean_up import CLEAN_UP
from harvestplan.kitchen.steps.fill import jug_seconds
from harvestplan.kitchen.steps.set_up import SET_UP
from harvestplan.schedule.rules.freezing import REASON as FREEZING
from harvestplan.schedule.rules.space import REASON as SPACE
from harvestplan.schedule.rules.trays import REASON as TRAYS
from harvestplan.schedule.rules.work import HANDS
from harvestplan.schedule.search.filled_up import ANOTHER, TIME, FilledSessions
from harvestplan.schedule.statement.opening import Opening
from harvestplan.schedule.statement.problem import Option, Problem


def test_an_evening_names_the_limit_that_is_reached() -> None:
    for pouches in (2, 3):
        for freezer, limit in (
            ({"freezing_per_day": f"{2 * 340 + 300} g"}, FREEZING),
            ({"used": f"{100 - 2.9 * PACK.space / 1000:.4f} L"}, SPACE),
            ({"tray_area": f"{2.9 * PACK.footprint / 1e6:.6f} m2"}, TRAYS),
        ):
            stated = beans(**freezer)
            # The statement bounds the option already; only the evening's own limits are asked.
            option = replace(stated.options[0], most=9)
            there = FilledSessions(replace(stated, options=(option,)))
            assert there.limit(option, pouches) == (limit if pouches == 3 else None)
            assert there.most(option, 20) == 2


def test_an_evening_is_over_at_its_end() -> None:
    """The longest way through the work is just there, or a second too long."""
    roomy = beans()
    work = roomy.work_of(roomy.options[0], "whole", 9)
    for spare, said in ((0, None), (1, TIME)):
        room = dt.timedelta(seconds=work.path - spare + SET_UP + CLEAN_UP)
        short = replace(roomy.windows[0], hands=9, end=roomy.windows[0].start + room)
        stated = problem(bean_lots(10 * RAW), [short], (BEANS, 20))
        there = FilledSessions(stated)
        assert there.limit(stated.options[0], 9) == said
        assert there.most(stated.options[0], 9) == 9 - spare


def test_two_foods_share_the_hands() -> None:
    """Just as much hand work as there is, or a second too much; for one of the two at the least
    the board is wiped first."""
    lots = [*bean_lots(10 * RAW), lot("dry bean", FIRST, 90, grams=3400, bought=True)]
    both = problem(lots, [window(0, 6)], (BEANS, 10), (DRY, 10))
    snap, dry = both.options
    works = [both.work_of(snap, "whole", 5), both.work_of(dry, "whole", 5)]
    hand = sum(work.hand for work in works) + CHANGE_OVER
    assert all(work.path < hand for work in works)
    for spare, said in ((0, None), (1, HANDS)):
        room = dt.timedelta(seconds=hand - spare + SET_UP + CLEAN_UP)
        alone = replace(both.windows[0], hands=1, end=both.windows[0].start + room)
        evening = FilledSessions(replace(both, windows=(alone,)))
        evening.add(snap, 5)
        assert evening.runs(0) == [(snap, "whole")]
        assert evening.limit(dry, 5) == said


def test_two_foods_share_a_machine() -> None:
    """Two foods on one stove, each with hands of its own: the pot is the limit. It holds all their
    potfuls one after the other, and before every third is filled and heated, for the first while
    the kitchen is set up."""
    both, pot = two_foods_for_the_pot()
    first, other = both.options
    works = [both.work_of(option, "whole", 9) for option in both.options]
    bodies, waters = sum(w.machine[pot] for w in works), sum(w.water[pot] for w in works)
    (kettle,) = both.kitchen.pots
    once = ticks(jug_seconds(kettle.water)) + ticks(kettle.heat_up_seconds())
    potfuls = sum(potfuls_of(both, option, 9) for option in both.options)
    assert waters == pytest.approx(potfuls * once / 3, abs=2) and waters > SET_UP
    for spare, said in ((0, None), (1, "pot")):
        evening = FilledSessions(in_seconds(both, bodies + waters - SET_UP - spare))
        evening.add(first, 9)
        assert evening.limit(other, 9) == said


def test_what_comes_before_a_machine_and_after_it_takes_time_too() -> None:
    """As little as before the smallest of its runs, and as little as after it."""
    both, pot = two_foods_for_the_pot()
    for option in both.options:
        sizes = [both.work_of(option, "whole", n) for n in range(1, option.most + 1)]
        busy = (
            min(work.heads[pot] for work in sizes)
            + sizes[9 - 1].machine[pot]
            + min(work.tails[pot] for work in sizes)
        )
        for spare, said in ((0, None), (1, "pot")):
            assert FilledSessions(in_seconds(both, busy - spare)).limit(option, 9) == said


def potfuls_of(stated: Problem, option: Option, pouches: int) -> int:
    raw = stated.work.raw(option.demand, pouches)
    layout = stated.work.layout(option.demand, "whole", raw, pouches=pouches, freezer=None)
    return sum(task.step == "blanch" for task in layout.tasks)


def two_foods_for_the_pot() -> tuple[Problem, int]:
    """Beans and carrots on a long day with nine at work, and the number of the pot."""
    lots = [*bean_lots(20 * RAW), lot("carrot", FIRST, 5, grams=20_000)]
    day = window(0, 12, start=8, hands=9)
    both = problem(lots, [day], (BEANS, 20), ("carrot, sliced", 30))
    return both, both.work.machines.index(frozenset({"pot"}))


def in_seconds(stated: Problem, seconds: int) -> Problem:
    """The same with so much time between setting up and cleaning up."""
    (day,) = stated.windows
    end = day.start + dt.timedelta(seconds=seconds + SET_UP + CLEAN_UP)
    return replace(stated, windows=(replace(day, end=end),))


def test_the_same_food_is_made_once_in_an_evening() -> None:
    two = problem(bean_lots(10 * RAW), [window(0, 6)], (BEANS, 20))
    again = replace(two.options[0], number=1)
    there = FilledSessions(replace(two, options=(two.options[0], again)))
    there.add(two.options[0], 2)
    assert there.limit(again, 1) == ANOTHER
    there.add(two.options[0], 3)  # in its own place it may be made more
    assert there.runs(0) == [(two.options[0], "whole")]


def test_freezing_of_two_evenings_counts_where_they_meet_within_a_day() -> None:
    for apart, said in ((1, FREEZING), (2, None)):
        stated = problem(
            bean_lots(10 * RAW),
            [window(0, 6), window(apart, 6)],
            (BEANS, 20),
            freezing_per_day=f"{4 * 340} g",
        )
        there = FilledSessions(stated)
        there.add(stated.options[0], 3)
        assert there.limit(stated.options[1], 1) is None
        assert there.limit(stated.options[1], 2) == said


def test_what_lies_in_the_freezer_leaves_less_room() -> None:
    """Room for five pouches; one of beans lies there, and of other food nothing, as much as two, or
    a millilitre more."""
    two = 2 * PACK.space
    for other, left in (({}, 4), ({"chest": two}, 2), ({"chest": two + 1}, 1)):
        stated = replace(
            beans(used=f"{100_000 - 5 * PACK.space} mL"),
            opening=Opening({(BEANS, "chest"): 1}, other),
        )
        evening = FilledSessions(stated)
        assert evening.limit(stated.options[0], left) is None
        assert evening.limit(stated.options[0], left + 1) == SPACE
        assert solved(stated)["wants"] == 20 - left
