"""Small seasons whose best plan is reckoned by hand."""

from __future__ import annotations

import pytest
from schedule.small_problems import (
    BEANS,
    DRY,
    PACK,
    RAW,
    bean_lots,
    lot,
    problem,
    solved,
    window,
)
from schedule.small_seasons import FIRST


def test_the_very_last_pouch_of_what_was_bought_may_be_a_quarter_full() -> None:
    """Of what is left over three pouches: nothing, a little less than a quarter, or a quarter."""
    dry = problem([lot("dry bean", FIRST, 90, grams=999, bought=True)], [window(0)], (DRY, 9))
    portion = dry.demands[0].process.raw_per_portion
    for rest, short in ((0, 6), (portion // 4 - 2, 6), (portion // 4 + 1, 5)):
        food = [lot("dry bean", FIRST, 90, grams=3 * portion + rest, bought=True)]
        for evenings in ([window(0, 4)], [window(0, 4), window(1, 4)]):
            assert solved(problem(food, evenings, (DRY, 9)))["wants"] == short


def test_no_more_than_is_wanted_and_in_one_evening_where_one_does() -> None:
    food = bean_lots(10 * RAW)
    assert solved(problem(food, [window(0, 6)], (BEANS, 3)))["wants"] == 0
    assert solved(problem(food, [window(0, 6), window(1, 6)], (BEANS, 3)))["evenings"] == 1


@pytest.mark.parametrize(("missing", "made"), [(0, 3), (1, 2)])
def test_a_freezer_is_filled_to_the_last_millilitre(missing: int, made: int) -> None:
    """Room for three pouches, or for three but a millilitre; on two evenings."""
    used = 100_000 - 3 * PACK.space + missing
    stated = problem(bean_lots(9 * RAW), [window(0), window(2)], (BEANS, 9), used=f"{used} mL")
    assert solved(stated)["wants"] == 9 - made


@pytest.mark.parametrize("room", [3000, 6000])
def test_ice_takes_more_room_than_the_pouches_it_cools(room: int) -> None:
    """Room in mL the evening before. Beans ask for 1.08 times their weight of ice (heat balance;
    NCHFP has about a pound to the pound), and a bag of cubes holds 0.917 g/mL in three fifths
    (common practice, no source)."""
    chest = {"used": f"{100_000 - room} mL"}
    evening = [window(1, 6)]  # today's ice would be made already
    bought = solved(problem(bean_lots(10 * RAW), evening, (BEANS, 10), **chest))
    made = solved(problem(bean_lots(10 * RAW), evening, (BEANS, 10), ice="make", **chest))
    assert 10 - bought["wants"] == room // PACK.space
    assert 10 - made["wants"] == room // (RAW * 1.08 / (0.917 * 0.6))


def test_extra_hours_are_used_only_where_the_usual_ones_do_not_do() -> None:
    usual, extra = window(1, 3), window(0, 2, extra=True)
    two = solved(problem(bean_lots(4 * RAW), [extra, usual], (BEANS, 4)))
    assert (two["evenings"], two["overtime"], two["wants"]) == (1, 0, 0)
    only = solved(problem(bean_lots(4 * RAW), [extra], (BEANS, 4)))
    assert only["overtime"] == 120
