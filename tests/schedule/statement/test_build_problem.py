"""The season stated in whole numbers, on a kitchen small enough to reckon everything by hand.

Beans of 340 g to the pouch; freezing, space and trays are given as so many pouches and a little.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from schedule.small_problems import (
    BEANS,
    DRY,
    ONIONS,
    PACK,
    PUREE,
    RAW,
    bean_lots,
    beans,
    lot,
    problem,
    window,
)
from schedule.small_seasons import FIRST

from harvestplan.kitchen.steps.clean_up import CLEAN_UP
from harvestplan.kitchen.steps.set_up import SET_UP
from harvestplan.schedule.statement.freezer_burden import load_per_pouch
from harvestplan.schedule.statement.problem import Problem, max_pouches


def most(stated: Problem) -> int:
    """What the only option allows; 0 where there is none."""
    (option,) = stated.options or (None,)
    return option.most if option else 0


def test_the_food_bounds_a_run() -> None:
    for grams, pouches in ((RAW - 1, 0), (RAW, 1), (2 * RAW - 1, 1), (10 * RAW, 10)):
        assert most(problem(bean_lots(grams), [window(0, 6)], (BEANS, 20))) == pouches
    assert most(problem(bean_lots(10 * RAW), [window(0, 6)], (BEANS, 3))) == 3


@pytest.mark.parametrize("pouches", [0, 1, 4])
def test_freezing_space_and_trays_bound_a_run(pouches: int) -> None:
    """Room for so many pouches and nearly one more; and for exactly so many."""
    for more in (0.0, 0.97):
        count = pouches + more
        assert most(beans(freezing_per_day=f"{340 * count:.1f} g")) == pouches
        used = 100 - PACK.space * count / 1000
        assert most(beans(used=f"{used - 1e-6:.6f} L")) == pouches
        assert most(beans(tray_area=f"{(PACK.footprint * count + 1) / 1e6:.7f} m2")) == pouches


def test_food_frozen_loose_takes_trays_until_it_is_packed() -> None:
    """Packed it is frozen, and may be stacked."""
    onions = [lot("onion", FIRST, 40, grams=9000, bought=True)]
    evenings = [window(0, 6), window(1, 6)]
    one = problem(onions, evenings, (ONIONS, 9))
    process = one.demands[0].process
    assert process.loose_area > 0
    area = 3 * process.loose_area + 1
    trays = problem(onions, evenings, (ONIONS, 9), tray_area=f"{area / 1e6:.7f} m2")
    assert [(o.first, o.second, o.most) for o in trays.options] == [(0, 1, 3)]
    # What is frozen is the food as it comes to the trays, before anything is packed.
    before = process.raw_per_portion * process.share_before(2)
    assert before <= load_per_pouch(process) <= before + 2


def test_bought_food_is_packed_to_the_end_and_grown_food_is_not() -> None:
    """A last pouch is packed from a quarter full on."""
    dry = problem([lot("dry bean", FIRST, 90, grams=999, bought=True)], [window(0)], (DRY, 9))
    bought, grown = dry.demands[0].process, beans().demands[0].process
    quarter = bought.raw_per_portion / 4
    whole = bought.raw(3)
    assert max_pouches(bought, whole) == 3
    assert max_pouches(bought, int(whole + quarter - 1)) == 3
    assert max_pouches(bought, int(whole + quarter + 1)) == 4
    assert max_pouches(grown, 4 * RAW - 1) == 3


@pytest.mark.parametrize(("hours", "fits"), [(0.5, False), (6.0, True)])
def test_the_evening_bounds_a_run(hours: float, fits: bool) -> None:
    assert (most(problem(bean_lots(10 * RAW), [window(0, hours)], (BEANS, 20))) > 0) == fits


def test_an_evening_loses_its_set_up_and_clean_up() -> None:
    assert problem(bean_lots(RAW), [window(0, 3)], (BEANS, 1)).length(0) == 3 * 3600 - 2400
    assert SET_UP == CLEAN_UP == 1200


def test_food_is_used_between_its_days_only() -> None:
    """Ready on Tuesday 6 July, good until Thursday."""
    tuesday = lot("snap bean", FIRST + dt.timedelta(days=1), 2, grams=5 * RAW)
    stated = problem([tuesday], [window(d) for d in range(6)], (BEANS, 5))
    assert [option.first for option in stated.options] == [1, 2, 3]
    assert all(option.lots == (0,) for option in stated.options)


def test_the_second_sitting_comes_while_what_is_put_to_chill_keeps() -> None:
    """From the start of the first sitting to the end of the second the pause's limit holds."""
    squash = [lot("winter squash", FIRST, 30, grams=9000)]
    days = [window(d) for d in range(9)]
    stated = problem(squash, days, (PUREE, 5))
    process = stated.demands[0].process
    assert process.pause is not None
    limit = process.product.steps[process.pause].pause_limit
    assert limit is not None
    pairs = {(o.first, o.second) for o in stated.options}
    for first in range(9):
        assert (first, None) in pairs
        for second in range(9):
            lasts = (days[second].end - days[first].start).total_seconds()
            assert ((first, second) in pairs) == (second > first and lasts <= limit.value)
    # The very last moment counts, and not the next.
    last = days[0].start + dt.timedelta(seconds=limit.value)
    for late, there in ((0, True), (1, False)):
        packs = replace(
            days[0], start=last - dt.timedelta(hours=5), end=last + dt.timedelta(seconds=late)
        )
        stated = problem(squash, [days[0], packs], (PUREE, 5))
        assert any(option.second == 1 for option in stated.options) == there


def test_what_may_freeze_within_a_day() -> None:
    """Evenings from 18 to 21: the next day's begins within 24 hours of this one's end."""
    stated = problem(bean_lots(RAW), [window(d) for d in (0, 1, 2, 5, 7)], (BEANS, 1))
    assert stated.near_sets() == [(0, 1), (1, 2), (3,), (4,)]
    stated = problem(bean_lots(RAW), [window(0, 3), window(1, 1, start=21)], (BEANS, 1))
    assert stated.near_sets() == [(0,), (1,)]
