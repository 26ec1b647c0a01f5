"""How many sessions there may be."""

from __future__ import annotations

from dataclasses import replace

from schedule.kept_sessions import kept
from schedule.small_problems import (
    BEANS,
    RAW,
    allowed,
    lot,
    problem,
    window,
)
from schedule.small_seasons import FIRST

from harvestplan.schedule.statement.history import History
from harvestplan.schedule.statement.problem import Problem


def evenings_allowed(stated: Problem, *windows: int, **limits: int) -> bool:
    span = stated.season.season.model_copy(update=limits)
    stated = replace(stated, season=stated.season.model_copy(update={"season": span}))
    return allowed(stated, *((w, 1) for w in windows))


def test_promised_sessions_count_among_those_there_may_be() -> None:
    """Monday, Wednesday and the next Monday; one stands on the Tuesday of the first week."""
    food = [lot("snap bean", FIRST, 9, grams=9 * RAW)]
    free = problem(food, [window(0), window(2), window(7)], (BEANS, 9))
    stands = replace(free, history=History((kept("seal", window(1).start),)))
    for most in range(5):
        for stated, there in ((free, 0), (stands, 1)):
            for windows in ((0,), (0, 2), (0, 1, 2)):
                enough = len(windows) + there <= most
                assert evenings_allowed(stated, *windows, max_sessions=most) == enough
            for windows, in_a_week in (((0,), 1), ((0, 1), 2)):
                enough = in_a_week + there <= most
                assert evenings_allowed(stated, *windows, max_sessions_per_week=most) == enough
            assert evenings_allowed(stated, 2, max_sessions_per_week=most) == (most >= 1)
