"""Which past sessions never were, and what that means for those that pack what they were to begin.

Nobody writes down an evening that came to nothing but by keeping it free afterwards (the program's
own rule; common practice, no source).
"""

from __future__ import annotations

import datetime as dt

import pytest

from harvestplan.plan.models import Run, Session
from harvestplan.records.diary import Diary
from harvestplan.records.events import Froze, KeepFree
from harvestplan.records.held_sessions import finished, never_held, nothing_to_pack

SOUP, BEANS = "winter squash, soup", "snap bean, cut"


def day(number: int) -> dt.date:
    return dt.date(2027, 9, number)


def session(on: int, *runs: tuple[str, str | None], product: str = SOUP) -> Session:
    """A session with runs by id, each with the id of what it packs; what packs is soup."""
    start = dt.datetime.combine(day(on), dt.time(18), dt.UTC)
    made = tuple(
        Run(
            id=name,
            product=product,
            crop="winter squash",
            lots=(),
            grams_in=0,
            grams_packed=0,
            pouch=None,
            pouches=4 if packs else 0,
            portion_grams=340,
            second_sitting_of=packs,
        )
        for name, packs in runs
    )
    return Session(
        uid=f"s{on}",
        sequence=0,
        status="planned",
        start=start,
        end=start,
        window_start=start,
        window_end=start + dt.timedelta(hours=1),
        hands=1,
        runs=made,
        tasks=(),
    )


def free(on: int) -> KeepFree:
    return KeepFree(day(30), f"k{on}", 1, "", day(on), None)


def froze(on: int, product: str = SOUP, portions: int = 3) -> Froze:
    return Froze(day(on), f"c{on}", 1, "", product, portions, None, 0)


COOKS, PACKS = session(7, ("cook", None)), session(8, ("pack", "cook"))
PAIR = [COOKS, PACKS]
MIXED = [COOKS, session(8, ("pack", "cook"), ("whole", None))]
CHAIN = [COOKS, session(8, ("pack", "cook"), ("dry", "cook")), session(9, ("last", "dry"))]


@pytest.mark.parametrize(
    ("sessions", "events", "never"),
    [
        (PAIR, (), ""),
        (PAIR, (free(7),), "s7 s8"),
        (PAIR, (free(8),), ""),  # the food was there: it had to be packed
        (PAIR, (free(7), free(8)), "s7 s8"),
        (PAIR, (free(7), froze(8)), ""),  # packed, so cooked
        (PAIR, (free(7), froze(8, portions=0)), ""),
        (PAIR, (free(7), froze(8, BEANS)), "s7 s8"),
        (MIXED, (free(7),), ""),  # more was done that evening, so it was held
        (CHAIN, (free(7),), "s7 s8 s9"),
        (CHAIN, (free(7), froze(9)), ""),
    ],
)
def test_an_evening_given_up_takes_its_packing_along(
    sessions: list[Session], events: tuple[KeepFree | Froze, ...], never: str
) -> None:
    found = never_held(sessions, Diary(events), day(30))
    assert found == set(never.split())
    held = {each.uid for each in finished(sessions, Diary(events), day(30))}
    assert held == {each.uid for each in sessions} - found


def test_what_lies_ahead_has_nothing_to_pack() -> None:
    diary = Diary((free(7),))
    assert nothing_to_pack(PAIR, diary, day(8)) == {"s8"}
    assert nothing_to_pack(MIXED, diary, day(8)) == {"s8"}
    assert nothing_to_pack(CHAIN, diary, day(8)) == {"s8", "s9"}
    assert nothing_to_pack(PAIR, Diary(()), day(8)) == frozenset()
    assert never_held(PAIR, diary, day(7)) == frozenset()
