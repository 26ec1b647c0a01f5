"""What lies in the freezers from day to day."""

from __future__ import annotations

import datetime as dt
import random
from dataclasses import replace

from each_case import each
from schedule.drawn_problems import BROCCOLI
from schedule.kept_sessions import frozen_on
from schedule.small_problems import (
    BEANS,
    PACK,
    RAW,
    allowed,
    choice,
    lot,
    problem,
    window,
)
from schedule.small_seasons import FIRST

from harvestplan.inputs.draws import Draw
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.statement.build_problem import shelves
from harvestplan.schedule.statement.history import History
from harvestplan.schedule.statement.opening import Opening
from harvestplan.schedule.written.freezer_days import freezer_days


@each("seed", range(40))
def test_the_freezer_is_never_fuller_than_it_is_and_may_be_full(seed: int) -> None:
    """Against the ledger, which counts day by day: what lies there, comes, was promised for any
    day, and is drawn; of broccoli there is none to put by."""
    draw = random.Random(seed)
    days = sorted(draw.sample(range(6), 3))
    wanted, room = draw.randint(4, 12), draw.randint(4, 9)
    other = {"chest": 700} if draw.random() < 0.5 else {}
    opening = {(p, "chest"): n for p in (BEANS, BROCCOLI) if (n := draw.choice((0, 0, 1, 2)))}
    used = 100_000 - room * PACK.space - sum(other.values())
    food = [lot("snap bean", FIRST, 9, grams=20 * RAW)]
    wants = ((BEANS, wanted), (BROCCOLI, 3))
    stated = problem(food, [window(d, 6) for d in days], *wants, used=f"{used} mL")
    begins = FIRST + dt.timedelta(days=draw.choice(days) + draw.choice((0, 0, 1)))
    ends = draw.choice((None, begins))
    draws = [draw.choice((None, Draw(7, begins, ends), Draw(17, begins, ends))) for _ in wants]
    promised = [
        frozen_on(window(draw.randrange(6), start=12).start, draw.randint(1, 3), product)
        for product in draw.choice(((), (BEANS,), (BROCCOLI,)))
    ]
    stated = replace(
        stated,
        demands=tuple(replace(d, draw=w) for d, w in zip(stated.demands, draws, strict=True)),
        opening=Opening(opening, other),
        history=History(tuple(promised)),
    )
    model = SeasonModel(stated, ())
    for _ in range(12):
        made = [draw.randint(0, 5) for _ in days]
        sessions = [frozen_on(w.start, n) for w, n in zip(stated.windows, made, strict=True)]
        rows = freezer_days(
            stated.kitchen,
            shelves(stated.demands),
            dict(opening),
            other_stored=other,
            sessions=[*sessions, *promised],
            season=stated.season,
            as_of=FIRST,
        )
        fits = all(row.used_ml <= row.capacity_ml for row in rows)
        runs = [(o, n) for o, n in enumerate(made) if n]
        assert model.holds(choice(stated, *runs)) == (fits and sum(made) <= wanted), made


def test_what_is_drawn_in_the_evening_lay_there_all_day() -> None:
    """Room for four, and three are there; two are eaten on Monday, and two of Tuesday's take their
    place."""
    stated = problem(
        [lot("snap bean", FIRST, 9, grams=20 * RAW)],
        [window(0, 6), window(1, 6)],
        (BEANS, 9),
        used=f"{100_000 - 4 * PACK.space} mL",
    )
    demand = replace(stated.demands[0], draw=Draw(14, FIRST, FIRST))
    opening = Opening({(BEANS, "chest"): 3})
    stated = replace(stated, demands=(demand,), opening=opening)
    assert allowed(stated, (0, 1), (1, 2))
    assert not allowed(stated, (0, 1), (1, 3))
    assert not allowed(stated, (0, 2))
