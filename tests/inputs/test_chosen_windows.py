"""Free windows after the household moved sessions and keeps evenings free."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from inputs.shown_windows import shown

from harvestplan.inputs.windows import SHORTEST_PIECE, FreeWindow, keep_free, with_chosen

ZONE = ZoneInfo("America/New_York")
DAY = dt.date(2027, 7, 14)


def span(start: str, end: str, hands: int = 1, extra: bool = False, day: int = 0) -> FreeWindow:
    date = DAY + dt.timedelta(days=day)
    first, last = (
        dt.datetime.combine(date, dt.time.fromisoformat(clock), ZONE) for clock in (start, end)
    )
    return FreeWindow(first, last, hands, extra=extra)


EVENING = span("18:00", "21:00", 2)


@pytest.mark.parametrize(
    ("chosen", "expected"),
    [
        # Outside of every window the time chosen is free itself.
        (
            span("10:30", "12:00", 1, extra=True),
            ["07-14 10:30-12:00 1 extra", "07-14 18:00-21:00 2"],
        ),
        # Inside one it begins where it was put and goes on to the window's end.
        (span("18:30", "20:00", 1, extra=True), ["07-14 18:30-21:00 2"]),
        (span("19:30", "20:30", 1, extra=True), ["07-14 18:00-19:30 2", "07-14 19:30-21:00 2"]),
        (span("18:00", "21:00", 1, extra=True), ["07-14 18:00-21:00 2"]),
        # Half in, half out: the hands that are there all along.
        (
            span("20:00", "22:00", 1, extra=True),
            ["07-14 18:00-20:00 2", "07-14 20:00-22:00 1 extra"],
        ),
        (span("17:00", "18:30", 3, extra=True), ["07-14 17:00-21:00 2 extra"]),
        # Only touching is not inside.
        (
            span("21:00", "22:00", 1, extra=True),
            ["07-14 18:00-21:00 2", "07-14 21:00-22:00 1 extra"],
        ),
    ],
)
def test_a_chosen_time(chosen: FreeWindow, expected: list[str]) -> None:
    assert shown(with_chosen([EVENING], [chosen])) == expected


def test_several_windows_touched_become_one() -> None:
    free = [span("08:00", "10:00", 2), span("11:00", "13:00", 3)]
    found = with_chosen(free, [span("09:00", "11:30", 2, extra=True)])
    assert shown(found) == ["07-14 08:00-09:00 2", "07-14 09:00-13:00 2 extra"]


def test_evenings_kept_free() -> None:
    free = [span("08:00", "10:00"), EVENING, span("18:00", "21:00", day=1)]
    assert shown(keep_free(free, [(DAY, None)])) == ["07-15 18:00-21:00 1"]
    assert len(keep_free(free, [(DAY, dt.time(19))])) == 2
    assert len(keep_free(free, [(DAY, dt.time(21))])) == 3
    assert keep_free(free, []) == tuple(free)


CLOCKS = st.integers(0, 22 * 4).map(lambda n: dt.timedelta(minutes=15 * n))
SPANS = st.builds(
    lambda at, length: FreeWindow(
        dt.datetime(2027, 7, 14, tzinfo=dt.UTC) + at,
        dt.datetime(2027, 7, 14, tzinfo=dt.UTC) + at + dt.timedelta(minutes=15 * length),
        1,
        extra=True,
    ),
    CLOCKS,
    st.integers(1, 16),
)


@settings(max_examples=200)
@given(st.lists(SPANS, max_size=5), SPANS)
def test_windows_never_overlap_and_nothing_free_is_lost_after(
    some: list[FreeWindow], chosen: FreeWindow
) -> None:
    free: list[FreeWindow] = []
    for window in sorted(some, key=lambda each: each.start):
        if not free or window.start >= free[-1].end:
            free.append(window)
    found = with_chosen(free, [chosen])
    for one, after in pairwise(found):
        assert one.end <= after.start
    there = next(window for window in found if window.start == chosen.start)
    assert there.end >= chosen.end
    for window in free:
        if window.end <= chosen.start or window.start >= chosen.end:
            assert window in found
        elif chosen.start - window.start >= SHORTEST_PIECE:
            assert any((w.start, w.end) == (window.start, chosen.start) for w in found)
