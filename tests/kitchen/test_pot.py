"""The blanching pot: ratio of water, return to the boil, altitude."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kitchen.foods import BEANS, POUND, blanch, crop, fig, product

from harvestplan.inputs.crops import Step
from harvestplan.inputs.season_kitchen import Pot
from harvestplan.kitchen.pot import Blancher, blanch_seconds

FEET = 0.3048
FOOD = (crop(product(BEANS)), product(BEANS))
PIECES = st.sampled_from([None, ("slab", "6 mm"), ("cylinder", "8 mm"), ("sphere", "30 mm")])


def a_step(piece: tuple[str, str] | None = None, **keys: Any) -> Step:
    shape = {"shape": piece[0], "size": fig(piece[1])} if piece else None
    return Step.model_validate(blanch(**keys) | {"piece": shape})


def a_pot(
    volume: str = "16 L", power: str = "3.5 kW", altitude: float = 0, **keys: Any
) -> Blancher:
    return Blancher.from_pot(Pot(name="pot", volume=volume, power=power, **keys), altitude)


def test_one_gallon_of_boiling_water_for_each_pound() -> None:
    """National Center for Home Food Preservation; USDA AIB 410."""
    pot = a_pot("4 gal", kind="gas")  # three quarters of it hold water: 3 gal
    assert pot.limit_grams(a_step(), *FOOD) == pytest.approx(3 * POUND, rel=1e-9)


def test_leaves_want_two_gallons_a_pound() -> None:
    """Kansas State University MF1181."""
    pot = a_pot("4 gal")
    leafy = a_step(water="2 gal per lb")
    assert pot.limit_grams(leafy, *FOOD) == pytest.approx(1.5 * POUND, rel=1e-9)


def test_the_household_s_own_batch_replaces_the_ratio() -> None:
    assert a_pot(batch="700 g").limit_grams(a_step(), *FOOD) == pytest.approx(700)


def test_own_batch_is_back_within_just_a_minute() -> None:
    pot, step = a_pot(batch="700 g"), a_step(("sphere", "30 mm"))
    assert pot.return_seconds(700, 0.9, step.piece) == pytest.approx(60, abs=0.1)
    assert pot.one_minute_grams(0.9, step.piece) == pytest.approx(700)


def test_one_minute_as_a_limit() -> None:
    step = a_step()
    free, bound = a_pot(power="1.8 kW"), a_pot(power="1.8 kW", one_minute=True)
    assert bound.limit_grams(step, *FOOD) == pytest.approx(free.one_minute_grams(0.9, None))
    assert bound.limit_grams(step, *FOOD) < free.limit_grams(step, *FOOD)


def test_a_large_burner_is_limited_by_its_water() -> None:
    pot = a_pot("8 L", "9 kW", kind="induction", one_minute=True)
    assert pot.limit_grams(a_step(), *FOOD) == pytest.approx(pot.water / 8.3454, rel=1e-4)


@pytest.mark.parametrize(
    "feet, extra", [(0, 0), (4000, 0), (4999, 0), (5000, 60), (5001, 60), (9000, 60)]
)
def test_a_minute_more_from_5000_feet(feet: float, extra: float) -> None:
    """Utah State University Extension: one minute more at 5,000 ft and above."""
    assert blanch_seconds(a_step(), feet * FEET) == 180 + extra


@given(st.floats(-50, 4000), st.floats(0, 4000), st.sampled_from([1.5, 3, 7]))
def test_higher_never_blanches_shorter(low: float, climb: float, minutes: float) -> None:
    step = a_step(minutes=minutes)
    assert blanch_seconds(step, low + climb) >= blanch_seconds(step, low)


@given(PIECES, st.floats(800, 6000), st.floats(50, 3000), st.floats(0.7, 0.97))
def test_halving_the_burner_never_helps(
    piece: tuple[str, str] | None, watts: float, grams: float, water: float
) -> None:
    strong, weak = a_pot(power=f"{watts} W"), a_pot(power=f"{watts / 2} W")
    shape = a_step(piece).piece
    whole = strong.return_seconds(grams, water, shape)
    assert weak.return_seconds(grams, water, shape) >= whole - 1e-3
    assert weak.one_minute_grams(water, shape) <= strong.one_minute_grams(water, shape)
    assert weak.heat_up_seconds() > strong.heat_up_seconds()


@given(PIECES, st.floats(100, 2000), st.floats(1, 500))
def test_more_food_never_returns_sooner(
    piece: tuple[str, str] | None, grams: float, more: float
) -> None:
    pot, shape = a_pot(), a_step(piece).piece
    assert pot.return_seconds(grams + more, 0.9, shape) >= (
        pot.return_seconds(grams, 0.9, shape) - 1e-3
    )


@given(PIECES)
def test_the_one_minute_batch_returns_in_one_minute(piece: tuple[str, str] | None) -> None:
    pot, shape = a_pot(), a_step(piece).piece
    grams = pot.one_minute_grams(0.9, shape)
    assert pot.return_seconds(grams, 0.9, shape) == pytest.approx(60, abs=0.1)


@given(st.floats(0, 3000))
def test_a_higher_kitchen_boils_sooner(altitude: float) -> None:
    assert a_pot(altitude=altitude).heat_up_seconds() <= a_pot().heat_up_seconds()


@given(st.floats(100, 1500), st.floats(5, 30))
def test_more_water_dips_less(grams: float, litres: float) -> None:
    small, large = a_pot(f"{litres} L"), a_pot(f"{2 * litres} L")
    assert 0 < large.dip(grams, 0.9) < small.dip(grams, 0.9)
