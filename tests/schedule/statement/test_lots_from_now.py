"""Food written down is there once: less what sessions took of it, never counted again."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from harvestplan.inputs.season import Fresh
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.models import Lot, LotShare, Run, Session
from harvestplan.schedule.statement.fresh import fresh_grams
from harvestplan.schedule.statement.history import History
from harvestplan.schedule.statement.lots_from_now import (
    Taking,
    lots_from_now,
    spent_lots,
)


def day(number: int) -> dt.date:
    return dt.date(2027, 7, 1) + dt.timedelta(days=number - 1)


def lot(
    name: str, ready: int, grams: int, keeps: int = 8, picked: bool = False, bought: bool = False
) -> Lot:
    return Lot(
        id=name,
        crop="snap bean",
        planting=None if bought else "beans",
        bought="snap bean" if bought else None,
        ready=day(ready),
        keep_until=day(ready + keeps),
        grams=grams,
        low_grams=grams,
        high_grams=grams,
        picked=picked,
    )


def history(
    lots: list[Lot], shares: list[tuple[int, str, int]], firm: tuple[int, ...] = ()
) -> History:
    """Kept sessions, each of one run with one lot: (day, lot, grams)."""
    sessions: list[Session] = []
    used: dict[str, int] = {}
    for on, name, grams in shares:
        start = dt.datetime.combine(day(on), dt.time(18), dt.UTC)
        run = Run(
            id=f"r{on}{name}",
            product="snap bean, cut",
            crop="snap bean",
            lots=(LotShare(lot=name, grams=grams),),
            grams_in=grams,
            grams_packed=0,
            pouch=None,
            pouches=0,
            portion_grams=340,
        )
        sessions.append(
            Session(
                uid=f"s{on}{name}",
                sequence=0,
                status="firm" if on in firm else "done",
                start=start,
                end=start,
                window_start=start,
                window_end=start,
                hands=1,
                runs=(run,),
                tasks=(),
            )
        )
        used[name] = used.get(name, 0) + grams
    drawn = tuple(lot for lot in lots if lot.ready <= max(x.ready for x in lots if x.id in used))
    return History(tuple(sessions), drawn, used)


def grams(lots: tuple[Lot, ...]) -> dict[str, int]:
    return {lot.id: lot.grams for lot in lots}


def test_a_silent_planting_stays_as_the_earlier_plan_had_it() -> None:
    before = [lot("b-1", 1, 1000), lot("b-2", 4, 1000)]
    now = [lot("b-1", 3, 900), lot("b-2", 8, 900)]
    found = lots_from_now(history(before, [(5, "b-2", 600)]), now, day(6))
    assert grams(found) == {"b-1": 1000, "b-2": 1000, "b-2.2": 900}


def test_a_promised_session_takes_of_what_is_picked_soon() -> None:
    """On the 6th a session of the 7th still draws on the pick that was planned for the 5th; by the
    diary the 3rd was picked, and the next pick comes on the 8th: it is the same food."""
    before = [lot("b-1", 5, 2000)]
    now = [lot("b-1", 3, 500, picked=True), lot("b-2", 8, 2000)]
    found = lots_from_now(history(before, [(7, "b-1", 1800)], firm=(7,)), now, day(6))
    assert grams(found) == {"b-1": 1800, "b-2": 700}


def test_a_done_session_took_nothing_of_a_later_pick() -> None:
    before = [lot("b-1", 5, 2000)]
    now = [lot("b-1", 8, 500, picked=True)]
    found = lots_from_now(history(before, [(7, "b-1", 1800)]), now, day(9))
    assert grams(found) == {"b-1": 1800, "b-1.2": 500}


def test_a_purchase_moved_after_it_was_drawn_on_is_not_there_twice() -> None:
    before = [lot("lot-1", 5, 4000, bought=True)]
    now = [lot("lot-1", 6, 4000, bought=True)]
    kept = history(before, [(5, "lot-1", 1500), (6, "lot-1", 500)])
    found = lots_from_now(kept, now, day(7))
    # The 500 g of the 6th come off the purchase of the 6th; on the 5th there was none to take of.
    assert grams(found) == {"lot-1": 2000, "lot-1.2": 3500}
    again = history(list(found), [(5, "lot-1", 1500), (6, "lot-1", 500), (8, "lot-1.2", 3000)])
    assert grams(lots_from_now(again, now, day(9))) == {
        "lot-1": 2000,
        "lot-1.2": 3000,
        "lot-1.3": 500,
    }


def test_given_food_comes_off_the_oldest_that_is_still_good() -> None:
    now = [
        lot("b-1", 1, 300, keeps=2, picked=True),
        lot("b-2", 3, 400, picked=True),
        lot("b-3", 6, 500, picked=True),
    ]
    given = [Taking(day(5), 600, day(5), crop="snap bean")]
    assert grams(lots_from_now(History(), now, day(6), gone=given)) == {"b-3": 500}


@given(
    picks=st.lists(st.tuples(st.integers(1, 20), st.integers(1, 5000)), min_size=1, max_size=6),
    taken=st.lists(st.tuples(st.integers(1, 24), st.integers(1, 5000)), min_size=1, max_size=5),
)
@settings(max_examples=200, deadline=None)
def test_no_gram_is_there_twice_and_none_is_lost(
    picks: list[tuple[int, int]], taken: list[tuple[int, int]]
) -> None:
    """Food that keeps for ever: what is left is what was picked less what was taken since, counted
    anew as one heap day by day."""
    drawn = [lot(f"old-{n}", 0, 5000, keeps=99) for n, _ in enumerate(taken)]
    shares = [(on, f"old-{n}", grams) for n, (on, grams) in enumerate(sorted(taken))]
    now = [lot(f"b-{n}", on, grams, keeps=99, picked=True) for n, (on, grams) in enumerate(picks)]
    found = lots_from_now(history(drawn, shares), now, day(25))
    heap = 0
    for today in range(1, 26):
        heap += sum(grams for on, grams in picks if on == today)
        heap = max(0, heap - sum(grams for on, grams in taken if on == today))
    assert sum(lot.grams for lot in found if lot.picked) == heap
    assert sum(lot.grams for lot in found if not lot.picked) == sum(grams for _, grams in taken)
    assert len({lot.id for lot in found}) == len(found)


def test_what_was_eaten_in_weeks_past_is_not_taken_off_what_is_there_now() -> None:
    """500 g a week: those of 5 and 12 July came from the first pick, those of 19 July are left."""
    picked = [lot("b-1", 5, 2000, picked=True), lot("b-2", 12, 2000, picked=True)]
    there = lots_from_now(History(), picked, day(15))
    spent = spent_lots(History(), picked, day(15))
    assert (grams(there), grams(spent)) == ({"b-2": 2000}, {"spent b-1": 2000})
    fresh = [Fresh(crop="snap bean", per_week="500 g")]
    library = load_library(Path("nowhere"))
    assert fresh_grams((*there, *spent), fresh, library) == [500, 1000]


def test_nothing_is_spent_that_a_session_took_or_that_keeps() -> None:
    picked = [lot("b-1", 1, 1000, picked=True), lot("b-2", 12, 800, picked=True)]
    kept = history(picked, [(3, "b-1", 600)])
    assert grams(spent_lots(kept, picked, day(15))) == {"spent b-1": 400}
    assert spent_lots(kept, picked, day(5)) == ()
