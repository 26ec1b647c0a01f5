"""Pots that hold water or food, and raw meat among other food, reckoned by hand."""

from __future__ import annotations

import pytest
from schedule.tiny_evenings import KETTLE, POT, Evening, laid

from harvestplan.kitchen.layout import TICK, Link
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import SessionTimes


@pytest.mark.parametrize(("potfuls", "ticks"), [(1, 4), (3, 6), (4, 11), (5, 12)])
def test_one_water_serves_three_potfuls(potfuls: int, ticks: int) -> None:
    """Filled 1, heated 2, then a tick each; before the fourth emptied 1, filled 1
    and heated 2 again: 3 + 3, + 4 + 1 and so on."""
    evening = Evening(waters=3)
    for n in range(potfuls):
        evening.blanch(f"b{n}")
    assert laid(evening.asked()) == ticks


def test_a_second_pot_is_filled_with_other_hands() -> None:
    """Four potfuls: two pots of two each are 3 + 2 with two pairs of hands; one pair fills the
    second pot a tick later, which then boils at 4 and takes one potful: 3 + 3 and 4 + 1."""
    for hands, ticks in ((2, 5), (1, 6)):
        evening = Evening(hands=hands, pots=(POT, KETTLE))
        for n in range(4):
            evening.blanch(f"b{n}")
        assert laid(evening.asked()) == ticks


def test_food_is_cooked_in_an_empty_pot() -> None:
    """First cooked 2 and ladled out 1, then filled 1, heated 2, blanched 1; or blanched first, and
    emptied 1 between: one tick more."""
    evening = Evening()
    evening.cook("stew")
    evening.blanch("beans")
    assert laid(evening.asked()) == 7
    evening.links.append(Link("beans", "stew"))
    assert laid(evening.asked()) == 8


def test_food_cooked_between_two_potfuls_takes_new_water() -> None:
    """Filled, heated, blanched 4, emptied 1, cooked and ladled out 3, and 4 again; with water for
    once only it cannot be, and in two pots the stew does not mind the water: it cooks beside it."""
    for waters, pots, ticks in ((2, (POT,), 12), (1, (POT,), None), (1, (POT, KETTLE), 8)):
        evening = Evening(waters=waters, pots=pots)
        evening.blanch("first", pots=[POT])
        evening.cook("stew")
        evening.blanch("then", pots=[POT])
        evening.links += [Link("first", "stew"), Link("stew, out", "then")]
        assert laid(evening.asked()) == ticks


def test_what_chills_is_stirred_from_when_it_is_in_the_basin() -> None:
    """Cooked 2 and ladled out 1; chilled 3 from then on, the first of them with hands. Apples, two
    ticks of the only hands and one to freeze, are packed beside it."""
    evening = Evening()
    evening.cook("stew", 2, chill=3)
    assert laid(evening.asked()) == 6
    evening.pack("apples", 2)
    assert laid(evening.asked()) == 6
    evening.pack("pears", 2)  # six ticks of hands, and one until the last food is frozen
    assert laid(evening.asked()) == 7


def test_mild_food_before_strong_in_one_water() -> None:
    """In the right order one water does, 3 + 2; the other way round it is changed: 4 + 1 + 4."""
    for order, ticks in ((("mild", "strong"), 5), (("strong", "mild"), 9)):
        evening = Evening()
        evening.blanch("mild", strength=0)
        evening.blanch("strong", strength=2)
        evening.links.append(Link(*order))
        assert laid(evening.asked()) == ticks


def test_over_steam_and_in_water_are_two_fillings() -> None:
    """4 + 1 + 4 in one pot, 3 + 1 + the tick of the hands in two."""
    for pots, ticks in (((POT,), 9), ((POT, KETTLE), 5)):
        evening = Evening(waters=1, steams=1, pots=pots)
        evening.blanch("beans")
        evening.blanch("florets", steam=True)
        assert laid(evening.asked()) == ticks


def test_raw_meat_comes_last_or_all_is_cleaned() -> None:
    """Mince 3, apples 2 and an idle tick to freeze; where apples must wait for mince, 2 more to
    clean; what is eaten raw cannot come after it at all."""
    for eaten_raw, forced, ticks in (
        (False, False, 6), (False, True, 8), (True, False, 6), (True, True, None),
    ):  # fmt: skip
        evening = Evening(ticks=12)
        evening.pack("mince", 1, 2, raw=True)
        evening.pack("apples", 2, eaten_raw=eaten_raw)
        if forced:
            evening.links.append(Link("mince 1", "apples 0"))
        assert laid(evening.asked()) == ticks


def test_frozen_food_is_out_of_the_way_of_raw_meat() -> None:
    """Apples are on the board until 2, in the freezer until 3: mince is begun at 2."""
    evening = Evening(hands=2)
    evening.pack("apples", 2)
    evening.pack("mince", 1, raw=True)
    found = time_session(evening.asked())
    assert isinstance(found, SessionTimes)
    assert found.times["mince 0"].start == 2 * TICK
