"""Small seasons whose best plan is reckoned by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from schedule.small_problems import (
    BEANS,
    DRY,
    LIBRARY,
    PACK,
    RAW,
    bean_lots,
    lot,
    problem,
    solve_small,
    solved,
    window,
)
from schedule.small_seasons import FIRST, kitchen_season

from harvestplan.household import Household
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.problem import Problem

SHRIMP = "shrimp, portioned"


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


def with_toil(stated: Problem, **toil: float) -> Problem:
    span = stated.season.season.model_copy(update=toil)
    return replace(stated, season=stated.season.model_copy(update={"season": span}))


def test_extra_hours_are_used_only_where_the_usual_ones_do_not_do() -> None:
    """Two hours are worth a portion, and three portions of four wait a day for less."""
    usual, extra = window(1, 3), window(0, 2, extra=True)
    food = bean_lots(4 * RAW)
    two = solved(with_toil(problem(food, [extra, usual], (BEANS, 4)), late_hour_is_worth=0.5))
    assert (two["evenings"], two["overtime"], two["wants"]) == (1, 0, 0)
    only = solved(with_toil(problem(food, [extra], (BEANS, 4)), late_hour_is_worth=0.5))
    assert only["overtime"] == 120
    dear = solved(with_toil(problem(food, [extra], (BEANS, 4)), late_hour_is_worth=2.5))
    assert (dear["overtime"], dear["wants"]) == (0, 4)


@pytest.mark.parametrize(("evening", "evenings", "short"), [(1.9, 1, 0), (4.1, 0, 4)])
def test_an_evening_is_spent_where_it_brings_more_than_it_is_worth(
    evening: float, evenings: int, short: int
) -> None:
    stated = problem(bean_lots(4 * RAW), [window(0, 6)], (BEANS, 4))
    found = solved(with_toil(stated, evening_is_worth=evening))
    assert (found["evenings"], found["wants"]) == (evenings, short)


def test_food_is_put_by_fresh_where_nothing_is_gained_by_waiting() -> None:
    """Three evenings that all have time: the first is taken."""
    stated = problem(bean_lots(4 * RAW), [window(d, 6) for d in (0, 1, 2)], (BEANS, 4))
    choice = solve_small(stated).choice
    assert [stated.options[number].first for number in choice.pouches] == [0]


@pytest.mark.parametrize(("priority", "least"), [(1, 2 / 3), (3, 6 / 7)])
def test_two_pouches_are_hardly_worth_beginning(priority: float, least: float) -> None:
    """Two of six, where three are a batch: begun for the toil, and for twice as much by priority
    since one is missing."""
    for started, made in ((least - 0.05, 2), (least + 0.05, 0)):
        stated = problem(bean_lots(2 * RAW), [window(0, 6)], (BEANS, 6))
        wanted = (replace(stated.demands[0], priority=priority),)
        stated = with_toil(replace(stated, demands=wanted), food_is_worth=started)
        assert sum(solve_small(stated).choice.pouches.values()) == made
    all_wanted = problem(bean_lots(2 * RAW), [window(0, 6)], (BEANS, 2))
    assert solved(with_toil(all_wanted, food_is_worth=1.1))["wants"] == 0


def test_shrimp_in_packs_to_the_last() -> None:
    """4 lb of shrimp in 12-oz packs are 6 pouches, the last part-full (common practice)."""
    bought = lot("shrimp", FIRST, 1, grams=1814, bought=True)
    season = kitchen_season([{"product": SHRIMP, "portions": 9, "portion": "12 oz"}])
    evenings = (window(0), window(1))
    stated = build_problem(Household(season, LIBRARY, evenings), [bought], FIRST)
    choice = solve_small(stated).choice
    assert sum(choice.pouches.values()) == 6
    assert sum(sum(shares.values()) for shares in choice.shares.values()) == 1814
    (number,) = choice.pouches
    process = stated.demands[stated.options[number].demand].process
    assert process.packed(1814, 6) == 1814
    assert process.portion_grams == round(12 * 28.349523125)


@pytest.mark.parametrize(("day", "hour", "made"), [(0, 8, 0), (0, 12, 6), (1, 8, 6)])
def test_what_is_bought_is_not_there_on_the_same_morning(day: int, hour: int, made: int) -> None:
    """Shops are open by noon (common practice, no source)."""
    bought = lot("shrimp", FIRST, 1, grams=1814, bought=True)
    season = kitchen_season([{"product": SHRIMP, "portions": 9, "portion": "12 oz"}])
    begins = window(day, 4, hour)
    stated = build_problem(Household(season, LIBRARY, (begins,)), [bought], FIRST)
    assert sum(solve_small(stated).choice.pouches.values()) == made
    brought = bought.model_copy(update={"picked": True})
    stated = build_problem(Household(season, LIBRARY, (begins,)), [brought], FIRST)
    assert sum(solve_small(stated).choice.pouches.values()) == 6  # it lies in the fridge already
