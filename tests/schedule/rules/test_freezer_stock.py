"""What lies in a freezer from day to day, by hand and against every way to draw."""

from __future__ import annotations

import datetime as dt
import itertools
import random

from harvestplan.schedule.rules.freezer_stock import Stock, StockDay

MONDAY = dt.date(2027, 7, 5)
LEVEL, DRAWN = 100, 200
"""Numbers from which the variables of levels and of draws are counted, day by day."""


def stock(at_start: int, *days: tuple[int, tuple[int, ...], int]) -> Stock:
    """Each day's promised pouches, the variables of those made, and how many are drawn at most."""
    return Stock(
        at_start,
        tuple(
            StockDay(
                MONDAY + dt.timedelta(days=n),
                promised,
                made,
                drawn=DRAWN + n if draw else None,
                draw=draw,
                level=LEVEL + n,
            )
            for n, (promised, made, draw) in enumerate(days)
        ),
    )


def test_what_comes_in_is_drawn_as_far_as_it_goes() -> None:
    """Three lie there; two come and four are drawn; one is made, and three would be drawn."""
    lies = stock(3, (2, (), 4), (0, (7,), 3), (0, (), 0))
    assert dict(lies.when_drawn({7: 1})) == {
        LEVEL: 5,
        DRAWN: 4,
        LEVEL + 1: 2,
        DRAWN + 1: 2,
        LEVEL + 2: 0,
    }
    assert dict(lies.when_drawn({}))[LEVEL + 1] == 1


def test_a_day_that_is_not_looked_at_counts_all_the_same() -> None:
    (day,) = stock(3, (0, (), 2)).days
    hidden = StockDay(day.day, 0, (), drawn=day.drawn, draw=day.draw, level=None)
    after = StockDay(MONDAY + dt.timedelta(days=1), 0, (), drawn=None, draw=0, level=LEVEL + 1)
    assert dict(Stock(3, (hidden, after)).when_drawn({})) == {DRAWN: 2, LEVEL + 1: 1}


def test_no_other_way_to_draw_leaves_less_on_any_day() -> None:
    for seed in range(100):
        chance = random.Random(seed)
        at_start = chance.randint(0, 3)
        days = [(chance.randint(0, 2), (n,), chance.randint(0, 3)) for n in range(4)]
        made = {n: chance.randint(0, 2) for n in range(4)}
        found = dict(stock(at_start, *days).when_drawn(made))
        ways = []
        for draws in itertools.product(*(range(draw + 1) for _, _, draw in days)):
            lies, levels = at_start, []
            for (promised, _, _), n, drawn in zip(days, made.values(), draws, strict=True):
                lies += promised + n
                levels.append(lies)
                lies -= drawn
                if lies < 0:
                    break
            else:
                ways.append(levels)
        least = [min(level) for level in zip(*ways, strict=True)]
        assert [found[LEVEL + n] for n in range(4)] == least, seed
