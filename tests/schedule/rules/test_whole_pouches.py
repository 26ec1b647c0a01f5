"""Rows for whole pouches: where lots spoil in the order in which they come, they hold exactly what
these can fill, no less and no more; in any other order never less.

Checked against trying every number of pouches and filling them from the lots that spoil first,
which fills all whenever that can be done (Jackson 1955, "Scheduling a production line to minimize
maximum tardiness", University of California, Los Angeles; source from memory).
"""

from __future__ import annotations

import itertools
import random

from each_case import each

from harvestplan.schedule.rules.whole_pouches import _binding, _most

Lot = tuple[int, int, int]
"""First and last window in which it can be used, and its grams."""


@each("seed", range(60))
def test_rows_allow_exactly_what_the_lots_can_fill(seed: int) -> None:
    draw = random.Random(seed)
    windows, portion = draw.randint(1, 5), draw.randint(2, 9)
    number = draw.randint(1, 5)
    ends = [sorted(draw.choices(range(windows), k=number)) for _ in range(2)]
    lots = [
        (min(a, b), max(a, b), draw.randint(0, 3 * portion)) for a, b in zip(*ends, strict=True)
    ]
    most_of, wanted = rows_of(lots, windows, portion)
    wanted -= draw.choice((0, 2))
    rows = _binding(most_of, wanted)
    for pouches in itertools.product(range(4), repeat=windows):
        if sum(pouches) > wanted:
            continue
        allowed = all(sum(pouches[i : j + 1]) <= most for (i, j), most in rows)
        assert allowed == can_fill(pouches, lots, portion), (pouches, rows)


@each("seed", range(60))
def test_rows_never_forbid_what_the_lots_can_fill(seed: int) -> None:
    draw = random.Random(seed)
    windows, portion = draw.randint(2, 5), draw.randint(2, 9)
    lots = []
    for _ in range(draw.randint(1, 5)):
        first = draw.randrange(windows)
        lots.append((first, draw.randrange(first, windows), draw.randint(0, 3 * portion)))
    rows = _binding(*rows_of(lots, windows, portion))
    for pouches in itertools.product(range(4), repeat=windows):
        if can_fill(pouches, lots, portion):
            assert all(sum(pouches[i : j + 1]) <= most for (i, j), most in rows)


def rows_of(lots: list[Lot], windows: int, portion: int) -> tuple[dict[tuple[int, int], int], int]:
    """What `_binding` asks for; more is wanted than there is."""
    reach = [{i for i, lot in enumerate(lots) if lot[0] <= w <= lot[1]} for w in range(windows)]
    grams = [lot[2] for lot in lots]
    return _most(reach, grams, lambda raw: raw // portion), sum(grams) // portion + 1


def tens(raw: int) -> int:
    return raw // 10


def can_fill(pouches: tuple[int, ...], lots: list[Lot], portion: int) -> bool:
    left = {lot: lots[lot][2] for lot in range(len(lots))}
    for window, number in enumerate(pouches):
        need = number * portion
        for lot in sorted(left, key=lambda i: lots[i][1]):
            if lots[lot][0] <= window <= lots[lot][1]:
                taken = min(need, left[lot])
                left[lot], need = left[lot] - taken, need - taken
        if need:
            return False
    return True


def test_rows_that_say_no_more_than_others_are_left_out() -> None:
    # Two lots of two and a half pouches, one window each: 2 and 2, and no row for both together.
    assert _binding(_most([{0}, {1}], [25, 25], tens), 9) == [((0, 0), 2), ((1, 1), 2)]
    # Two whole pouches each: four for both together says no more.
    assert _binding(_most([{0}, {1}], [20, 20], tens), 9) == [((0, 0), 2), ((1, 1), 2)]
    # One lot for both windows: a row for both, and none for either.
    assert _binding(_most([{0}, {0}], [25], tens), 9) == [((0, 1), 2)]
    # Less than a pouch is none, alone or beside another.
    assert _binding(_most([{0}, {1}], [9, 25], tens), 9) == [((0, 0), 0), ((1, 1), 2)]
