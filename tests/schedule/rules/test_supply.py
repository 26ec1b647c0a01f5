"""What the household moved stays where it put it."""

from __future__ import annotations

from dataclasses import replace

from schedule.small_problems import (
    BEANS,
    RAW,
    allowed,
    lot,
    problem,
    window,
)
from schedule.small_seasons import FIRST

from harvestplan.schedule.statement.problem import Pinned


def test_what_the_household_moved_is_made_there_and_may_be_all() -> None:
    food = [lot("snap bean", FIRST, 9, grams=9 * RAW)]
    stated = problem(food, [window(0), window(2)], (BEANS, 3))
    stated = replace(stated, pinned=(Pinned(1, 0, False, pouches=3),))
    assert allowed(stated, (1, 3))
    assert not allowed(stated, (0, 1), (1, 2))
    assert not allowed(stated)
