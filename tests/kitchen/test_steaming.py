"""Blanching over steam: its own time and clock, one layer in the basket, little water below."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kitchen.foods import (
    BEANS,
    COOL,
    DRAIN,
    TO_FREEZER,
    TRIM,
    WASH,
    blanch,
    crop,
    fig,
    kitchen,
    product,
)
from pydantic import ValidationError

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.season_kitchen import Pot
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.layout import Layout, TaskSpec, lay_out
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.pot import Blancher, blanch_seconds
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steaming import layer_grams, over_steam, steamed

FIVE = {"clock": "lid on", "time": fig("5 min")}
RODS = {"shape": "cylinder", "size": fig("8 mm")}
INCH = 0.0254


def over(minutes: float = 5, **piece: Any) -> dict[str, Any]:
    steam = {"clock": "lid on", "time": fig(f"{minutes} min")}
    return blanch(piece=piece or RODS) | {"steam": steam}


CHAIN = (WASH, TRIM, over(), COOL, DRAIN, *TO_FREEZER)


def steamer(basket: str = "500 cm2", power: str = "3.5 kW", altitude: float = 0) -> Kitchen:
    pot = Pot(name="pot", volume="8 L", power=power, basket=basket)
    return kitchen(pots=(pot,), altitude=altitude)


def made(where: Kitchen, steam: bool = True, **keys: Any) -> Process:
    item = product(CHAIN, **keys)
    return make_process(where, crop(item), item, portion_grams=340, steam=steam)


def of_step(layout: Layout, name: str) -> list[TaskSpec]:
    return [task for task in layout.tasks if task.step == name]


def test_steam_has_its_own_time_and_clock_and_no_water() -> None:
    item = steamed(product(CHAIN))
    assert item is not None
    (step,) = (step for step in item.steps if step.step == "blanch")
    assert over_steam(step)
    assert (step.time and step.time.value, step.clock, step.water) == (300, "lid on", None)
    assert [s.step for s in item.steps] == [s.step for s in product(CHAIN).steps]


def test_a_food_without_a_steaming_time_is_not_steamed() -> None:
    assert steamed(product(BEANS)) is None
    item = product(BEANS)
    with pytest.raises(CannotBeMade, match="no time for blanching it over steam is known"):
        make_process(steamer(), crop(item), item, portion_grams=340, steam=True)


def test_without_a_basket_nothing_is_steamed() -> None:
    item = product(CHAIN)
    with pytest.raises(CannotBeMade, match=r"^no \[\[pot\]\] has a basket to steam in$"):
        make_process(kitchen(), crop(item), item, portion_grams=340, steam=True)


@pytest.mark.parametrize("where", ["cool", "no piece"])
def test_steam_belongs_to_a_blanching_step_with_its_piece(where: str) -> None:
    wrong = {**COOL, "steam": FIVE} if where == "cool" else {**blanch(), "steam": FIVE}
    with pytest.raises(ValidationError, match="steam belongs to blanch"):
        product((WASH, wrong, *TO_FREEZER))


def test_one_layer_of_pieces_lies_in_the_basket() -> None:
    """Single layer: NCHFP. 0.05 m², 8 mm deep at 0.4 kg/L are 160 g; leaves lie an inch deep."""
    item = product(CHAIN)
    step = item.steps[2]
    assert layer_grams(0.05, step, crop(item), product=item) == pytest.approx(160)
    leaf = product(CHAIN, texture="leaf")
    assert layer_grams(0.05, step, crop(leaf), product=leaf) == pytest.approx(0.05 * INCH * 0.4e6)


def test_the_batch_is_what_the_basket_takes() -> None:
    in_steam, in_water = made(steamer()), made(steamer(), steam=False)
    assert in_steam.batch_limit == int(160 / 0.9)
    assert in_water.batch_limit and in_water.batch_limit > 3 * in_steam.batch_limit


def test_a_weak_burner_steams_no_more_than_it_heats_through() -> None:
    """700 W into an electric pot, less 150 W of loss, give 112.5 kJ in 5 min; beans from 15 °C
    take about 337 J/g."""
    weak = made(steamer("2000 cm2", "700 W"))
    assert weak.batch_limit is not None
    assert weak.batch_limit * 0.9 == pytest.approx(112_500 / 337, rel=0.02)


def test_a_batch_takes_its_steaming_time_and_cools_as_long() -> None:
    layout = lay_out(made(steamer()), 1000, 2, sitting="whole", freezer="freezer")
    for task in of_step(layout, "blanch"):
        assert task.seconds == 300
        assert task.settings["over"] == "steam"
        assert task.settings["clock"] == "lid on"
        assert "return_s" not in task.settings
        assert task.grams <= task.settings["pot_limit_g"]
        # Two inches of water under 500 cm² (NCHFP: 1 to 2 in).
        assert task.settings["water_ml"] == round(500 * 2 * 2.54)
    assert {task.seconds for task in of_step(layout, "cool")} == {300}


def test_higher_than_5000_feet_steam_takes_a_minute_more() -> None:
    """Utah State University Extension, for blanching in water; the safe side for steam."""
    high = lay_out(made(steamer(altitude=1600)), 1000, 2, sitting="whole", freezer="freezer")
    assert {task.seconds for task in of_step(high, "blanch")} == {360}
    assert {task.seconds for task in of_step(high, "cool")} == {360}


@given(st.floats(0, 4500), st.floats(0, 1500))
def test_no_height_shortens_steaming(low: float, climb: float) -> None:
    item = steamed(product(CHAIN))
    assert item is not None
    step = item.steps[2]
    assert blanch_seconds(step, low + climb) >= blanch_seconds(step, low) >= 300


@given(st.floats(400, 6000), st.floats(0.01, 0.3), st.sampled_from(["slab", "cylinder", "sphere"]))
def test_half_the_power_never_steams_more(watts: float, basket: float, shape: str) -> None:
    item = steamed(product((WASH, over(shape=shape, size=fig("20 mm")), COOL, *TO_FREEZER)))
    assert item is not None

    def most(power: float) -> float:
        pot = Blancher(
            "pot", 6000, power, boil=100.0, own_batch=None, one_minute=False, basket=basket
        )
        return pot.limit_grams(item.steps[1], crop(item), item)

    assert most(watts / 2) <= most(watts)
