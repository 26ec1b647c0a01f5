"""The straight line below a table of what runs take."""

from __future__ import annotations

import random
from itertools import accumulate, combinations

from hypothesis import given
from hypothesis import strategies as st

from harvestplan.schedule.statement.lower_line import lower_line


@given(st.lists(st.integers(0, 400), min_size=1, max_size=9))
def test_of_the_lines_below_a_table_the_nearest_is_taken(steps: list[int]) -> None:
    """Every pair of entries is tried: where nothing lies below the line through them, its slope,
    rounded down, is one to take; a single entry has a level line."""
    values = list(accumulate(steps))
    points = list(enumerate(values, start=1))

    def gap(slope: int) -> int:
        fixed = min(value - slope * n for n, value in points)
        return sum(value - fixed - slope * n for n, value in points)

    slopes = [
        (w - v) // (m - n)
        for (n, v), (m, w) in combinations(points, 2)
        if all((x - v) * (m - n) >= (w - v) * (k - n) for k, x in points)
    ]
    fixed, slope = lower_line(tuple(values))
    gaps = [value - fixed - slope * n for n, value in points]
    assert min(gaps) == 0
    assert sum(gaps) == min(map(gap, slopes or [0]))


def test_a_line_never_exceeds_its_table_and_touches_it() -> None:
    draw = random.Random(5)
    for _ in range(300):
        values = [draw.randint(0, 900)]
        for _ in range(draw.randint(0, 12)):
            values.append(values[-1] + draw.randint(0, 400))
        fixed, slope = lower_line(tuple(values))
        gaps = [value - fixed - slope * n for n, value in enumerate(values, start=1)]
        assert min(gaps) == 0
