"""The freezers day by day."""

from __future__ import annotations

from collections import Counter

from schedule.kept_sessions import BEANS, MONDAY, day, freezes, run, session
from schedule.small_seasons import kitchen_season

from harvestplan.inputs.draws import Draw
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.plan.models import Session, Task
from harvestplan.schedule.statement.freezer_loads import FreezerProduct
from harvestplan.schedule.written.freezer_days import freezer_days


def rows(
    *sessions: Session,
    draw: Draw | None = None,
    opening: int = 0,
    on: int = 0,
) -> dict[int, tuple[int, int]]:
    """mL in the chest and g to freeze by day from Monday on, with pouches of 1000 mL."""
    season = kitchen_season(end=day(9), used="20 L")
    found = freezer_days(
        Kitchen.from_season(season),
        [FreezerProduct(BEANS, 1000, draw)],
        {(BEANS, "chest"): opening},
        other_stored={"chest": 500},
        sessions=sessions,
        season=season,
        as_of=day(on),
    )
    assert {row.capacity_ml for row in found} == {100_000}
    return {(row.date - MONDAY).days: (row.used_ml - 20_500, row.load_grams) for row in found}


def test_the_ledger_goes_from_today_to_the_seasons_end() -> None:
    assert rows(opening=2) == dict.fromkeys(range(10), (2000, 0))
    assert min(rows(on=4)) == 4


def test_pouches_lie_there_from_their_day_on() -> None:
    found = rows(freezes("a", 3, 4))
    assert found == {n: (4000 if n >= 3 else 0, 1360 if n == 3 else 0) for n in range(10)}
    assert rows(freezes("a", 3, 4, status="cancelled")) == dict.fromkeys(range(10), (0, 0))
    # What a session froze that is done lies there already; past the season's end it is counted on.
    assert rows(freezes("a", 3, 4, status="done"))[9] == (0, 0)
    assert max(rows(freezes("a", 12, 1))) == 12


def test_draws_come_off_at_the_end_of_their_day_until_nothing_is_left() -> None:
    """Seven a week from Wednesday on: one each evening; five lie there."""
    found = rows(opening=5, draw=Draw(7, day(2), None))
    assert [found[n][0] for n in range(10)] == [5000] * 3 + [4000, 3000, 2000, 1000, 0, 0, 0]
    # The last draw, on the 12th day, is in the ledger though the season is over.
    late = rows(opening=5, draw=Draw(7, day(8), None))
    assert max(late) == 12 and late[12][0] == 1000
    until = rows(opening=5, draw=Draw(7, day(2), day(3)))
    assert [until[n][0] for n in (2, 3, 4, 9)] == [5000, 4000, 3000, 3000]


def test_a_draw_that_finds_nothing_is_not_made_up_for() -> None:
    """One each evening from Monday on; two pouches come on Thursday."""
    found = rows(freezes("a", 3, 2), draw=Draw(7, day(0), None))
    assert [found[n][0] for n in range(6)] == [0, 0, 0, 2000, 1000, 0]


def test_ice_of_their_own_is_made_in_the_first_freezer_the_day_before() -> None:
    season = kitchen_season(end=day(9), used="20 L", ice="make")
    base = session("a", 3, run("r"))
    cool = Task(
        id="c",
        run="r",
        step="cool",
        batch=1,
        equipment=("sink",),
        hands=0,
        start=base.start,
        end=base.end,
        grams=500,
        settings={"ice_g": 3000},
    )
    made = freezer_days(
        Kitchen.from_season(season),
        [],
        {},
        other_stored={},
        sessions=[base.model_copy(update={"tasks": (cool,)})],
        season=season,
        as_of=day(0),
    )
    burden = Counter({(r.date - MONDAY).days: r.load_grams for r in made})
    assert [n for n, grams in burden.items() if grams] == [2]
    # Freezing a kilogram of water takes more than one of food, which is not all water.
    assert burden[2] > 3000
    space = {(r.date - MONDAY).days: r.used_ml for r in made}
    # Ice is 0.917 of the weight of as much water (common tables, from memory).
    assert space[2] - space[1] >= 3000 / 0.917 and space[3] == space[1]
