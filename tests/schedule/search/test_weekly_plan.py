"""The short plan of a week: how a run is found again in the next."""

from __future__ import annotations

from schedule.small_problems import (
    PUREE,
    lot,
    problem,
    window,
)
from schedule.small_seasons import FIRST

from harvestplan.schedule.search.weekly_plan import key_of


def test_a_run_is_named_by_its_times() -> None:
    """So that the problem of another week finds it again."""
    squash = [lot("winter squash", FIRST, 30, grams=9000)]
    stated = problem(squash, [window(0), window(1)], (PUREE, 5))
    starts = [each.start for each in stated.windows]
    keys = {(o.first, o.second): key_of(stated, o) for o in stated.options}
    assert keys[0, None] == (PUREE, starts[0], None, "chest")
    assert keys[0, 1] == (PUREE, starts[0], starts[1], "chest")
