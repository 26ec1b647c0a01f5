"""Straight lines below a table of values, to keep exact work tables linear in the season model."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise


@lru_cache(maxsize=4096)  # windows of one length ask the same of the same run
def lower_line(values: tuple[int, ...]) -> tuple[int, int]:
    """(fixed, slope) with fixed + slope·n ≤ values[n-1] for n = 1 … len(values).

    Of the lines through the lower convex hull's edges the one with the least total gap; whole
    numbers, rounded down so that the line never exceeds the table.
    """
    points = list(enumerate(values, start=1))
    hull: list[tuple[int, int]] = []
    for n, value in points:
        while len(hull) >= 2 and not _turns_up(hull[-2], hull[-1], (n, value)):
            hull.pop()
        hull.append((n, value))
    slopes = {(b[1] - a[1]) // (b[0] - a[0]) for a, b in pairwise(hull)} or {0}
    best: tuple[int, int, int] | None = None
    for slope in sorted(slopes):
        fixed = min(value - slope * n for n, value in points)
        gap = sum(value - fixed - slope * n for n, value in points)
        if best is None or gap < best[0]:
            best = (gap, fixed, slope)
    assert best is not None
    return best[1], best[2]


def _turns_up(a: tuple[int, int], b: tuple[int, int], c: tuple[int, int]) -> bool:
    return (b[1] - a[1]) * (c[0] - b[0]) < (c[1] - b[1]) * (b[0] - a[0])
