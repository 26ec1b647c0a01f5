"""The book of machine settings: where it starts, and how it closes in on a household's own."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kitchen.foods import BEANS, PUREE, pouch, product

from harvestplan.kitchen.machine_settings import (
    Bracket,
    Try,
    bracket,
    entry,
    own_settings,
    starting,
)


def held(seconds: float) -> Try:
    return Try(seconds, True)


def failed(seconds: float) -> Try:
    return Try(seconds, False)


def test_the_book_starts_with_the_trade_s_values() -> None:
    """Short for what foams, long for pieces (common practice, no source)."""
    foaming = starting(product(PUREE, texture="puree", foams=True), pouch("pint", 6, 10))
    pieces = starting(product(BEANS), pouch("pint", 6, 10))
    assert foaming.pump_down < pieces.pump_down
    assert "foams" in foaming.note


def test_plans_are_made_with_what_was_found_and_say_so() -> None:
    beans, bag = product(BEANS), pouch("pint", 6, 10)
    start = starting(beans, bag)
    for nothing_new in ([], [held(start.pump_down)]):
        assert own_settings(beans, bag, nothing_new) == start
    own = own_settings(beans, bag, [held(start.pump_down + 3)])
    assert own.pump_down == start.pump_down + 3
    assert own.note == f"{start.note} (pump-down as you found it)"
    assert own.seal == start.seal


def test_without_a_try_the_start_is_used() -> None:
    assert entry(12, []).use == entry(12, []).next_try == 12


def test_what_held_is_used_and_a_little_more_is_tried() -> None:
    found = entry(12, [held(12)])
    assert (found.use, found.next_try) == (12, 15)


def test_what_foamed_at_once_is_halved() -> None:
    """A purée that foamed at 22 s and a start of 12 s."""
    assert entry(12, [failed(22)]).use == 11
    assert entry(8, [failed(22)]).use == 8
    assert entry(12, [failed(1)]).use == 1


def test_the_next_try_is_the_middle_to_the_second() -> None:
    found = entry(12, [held(12), failed(22)])
    assert (found.use, found.next_try) == (12, 17)
    found = entry(12, [held(12), failed(22), held(17)])
    assert (found.use, found.next_try) == (17, 19)  # 19.5, rounded to the safe side
    found = entry(12, [held(12), failed(22), held(17), failed(19)])
    assert (found.use, found.next_try) == (17, 18)
    found = entry(12, [held(12), failed(22), held(17), failed(19), held(18)])
    assert (found.use, found.next_try) == (18, 18)
    assert found.bracket.settled


@pytest.mark.parametrize(
    ("tries", "expected"),
    [
        ([], Bracket(None, None)),
        ([held(10), held(14)], Bracket(14, None)),
        ([failed(22), failed(18)], Bracket(None, 18)),
        ([held(20), failed(15)], Bracket(None, 15)),  # a later failure is believed
        ([held(12), held(20), failed(15)], Bracket(12, 15)),
        ([failed(15), held(20)], Bracket(20, None)),  # and so is a later success
    ],
)
def test_the_newest_word_counts(tries: list[Try], expected: Bracket) -> None:
    assert bracket(tries) == expected


TRIES = st.lists(st.builds(Try, st.integers(1, 60).map(float), st.booleans()), max_size=20)


@given(TRIES)
def test_what_held_is_always_shorter_than_what_failed(tries: list[Try]) -> None:
    found = bracket(tries)
    if found.held is not None and found.failed is not None:
        assert found.held < found.failed
        assert found.held <= found.middle() < found.failed
        assert found.settled == (found.failed - found.held <= 1)


@given(TRIES, st.integers(5, 40))
def test_nothing_that_failed_last_is_used(tries: list[Try], start: int) -> None:
    found = entry(start, tries)
    if tries and not tries[-1].held and tries[-1].seconds > 1:
        assert found.use < tries[-1].seconds
    assert 0 < found.use <= max(60, start)


@given(st.integers(2, 58), st.integers(5, 40))
def test_a_steady_machine_is_found_in_a_few_tries(limit: int, start: int) -> None:
    """It holds up to its limit and fails above: the book ends at the limit, to the second."""
    tries: list[Try] = []
    for _ in range(20):
        now = float(entry(start, tries).next_try)
        tries.append(Try(now, now <= limit))
    assert entry(start, tries).use == limit


def test_a_middle_needs_both_ends() -> None:
    with pytest.raises(ValueError, match="held"):
        Bracket(None, 12).middle()
