"""Freezing times against an independent numerical solution, and food properties."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st
from kitchen import yardsticks
from kitchen.foods import POUND

from harvestplan.inputs.season_kitchen import Freezer
from harvestplan.kitchen import freezing_time as plank
from harvestplan.kitchen.freezing_capacity import freezing_limit

# USDA Standard Reference 28, green snap bean; freezing point ASHRAE Refrigeration 2006.
BEAN = plank.Composition(
    water=0.9032, protein=0.0183, fat=0.0022, carbohydrate=0.0427, fibre=0.027, ash=0.0066,
    freezing_point=-0.7,
)  # fmt: skip
FOOD = yardsticks.from_composition(BEAN)


def numerical_seconds(thickness: float, air: float, surface: float, start: float) -> float:
    """Enthalpy method: explicit finite volumes over half a slab, to -10 °C in the middle.

    The temperature follows from a table of enthalpy made of the ice formed in each small step.
    """
    grid = np.concatenate([np.linspace(-40, -0.71, 4000), np.linspace(-0.7, 30, 1000)])
    heats = np.array([BEAN.specific_heat(t) for t in grid])
    ice = np.array([BEAN.ice(t) for t in grid])
    middle = (heats[1:] + heats[:-1]) / 2
    rise = np.diff(grid) * middle - np.diff(ice) * 333_600.0
    enthalpy = np.concatenate([[0.0], np.cumsum(rise)])
    conductivity = np.array([BEAN.conductivity(t) for t in grid])
    density, cells = BEAN.density(5.0), 6  # the fresh pack's mass stays
    width = thickness / 2 / cells
    tick, elapsed = 1.5, 0.0
    content = np.full(cells, np.interp(start, grid, enthalpy))
    while True:
        t = np.interp(content, enthalpy, grid)
        if t[0] <= -10:
            return elapsed
        k = np.interp(t, grid, conductivity)
        between = 2 * k[1:] * k[:-1] / (k[1:] + k[:-1]) * (t[:-1] - t[1:]) / width
        out = (t[-1] - air) / (1 / surface + width / 2 / k[-1])
        flow = np.concatenate([[0.0], between, [out]])
        content = content - np.diff(flow) * tick / (density * width)
        elapsed += tick


@pytest.mark.parametrize("air, surface", [(-18.0, 15.0), (-23.0, 15.0)])
def test_formulas_agree_with_the_numerical_solution(air: float, surface: float) -> None:
    """Pham and Cleland & Earle state about 10 %; Plank leaves out what is not latent."""
    exact = numerical_seconds(0.025, air, surface, start=5.0)
    assert plank.pham_seconds(
        "slab", 0.025, FOOD, air=air, surface=surface, start=5.0
    ) == pytest.approx(exact, rel=0.08)
    assert yardsticks.cleland_earle_seconds(
        0.025, FOOD, air, surface=surface, start=5.0
    ) == pytest.approx(exact, rel=0.10)
    short = yardsticks.plank_seconds("slab", 0.025, FOOD, air=air, surface=surface) / exact
    assert 0.78 < short < 0.92


def test_properties_of_snap_bean() -> None:
    """Computed apart from the program from the same tables (Choi & Okos 1986)."""
    assert BEAN.density(5) == pytest.approx(1029, abs=1)
    assert BEAN.specific_heat(5) == pytest.approx(3940, abs=5)
    assert BEAN.conductivity(5) == pytest.approx(0.554, abs=0.001)
    assert BEAN.density(-10) == pytest.approx(958, abs=1)
    assert BEAN.conductivity(-10) == pytest.approx(2.04, abs=0.01)
    assert BEAN.ice(-10) == pytest.approx(0.833, abs=0.001)
    assert BEAN.ice(-0.5) == 0


def test_water_alone_is_water() -> None:
    """What is not said of a food is not in it; a food is unfrozen at 5 °C and frozen at -10 °C."""
    alone = plank.Composition(water=1.0)
    assert alone.density(20) == pytest.approx(998, abs=3)
    assert alone.specific_heat(20) == pytest.approx(4182, rel=0.01)
    food = yardsticks.from_composition(BEAN)
    assert (food.density, food.frozen_density) == (BEAN.density(5), BEAN.density(-10))
    assert (food.heat, food.frozen_heat) == (BEAN.specific_heat(5), BEAN.specific_heat(-10))


@pytest.mark.parametrize("celsius", [-20.0, 5.0, 60.0])
@pytest.mark.parametrize(
    "name, fluid",
    [("protein", "FoodProtein"), ("fat", "FoodFat"), ("carbohydrate", "FoodCarbohydrate"),
     ("fibre", "FoodFiber"), ("ash", "FoodAsh"), ("ice", "FoodIce")],
)  # fmt: skip
def test_constituents_agree_with_coolprop(name: str, fluid: str, celsius: float) -> None:
    if name == "ice" and celsius > 0:
        celsius = -5.0
    state = ("T", celsius + 273.15, "P", 101325, f"INCOMP::{fluid}")
    curves = plank.CONSTITUENTS[name]
    assert curves.density.at(celsius) == pytest.approx(PropsSI("D", *state), rel=1e-3)
    assert curves.conductivity.at(celsius) == pytest.approx(PropsSI("L", *state), rel=2e-3)
    assert 1000 * curves.heat.at(celsius) == pytest.approx(PropsSI("C", *state), rel=2e-3)


@pytest.mark.parametrize("celsius", [5.0, 20.0, 60.0])
def test_water_constituent_agrees_with_water(celsius: float) -> None:
    state = ("T", celsius + 273.15, "P", 101325, "Water")
    curves = plank.CONSTITUENTS["water"]
    assert curves.density.at(celsius) == pytest.approx(PropsSI("D", *state), rel=5e-3)
    assert 1000 * curves.heat.at(celsius) == pytest.approx(PropsSI("C", *state), rel=1e-2)
    assert curves.conductivity.at(celsius) == pytest.approx(PropsSI("L", *state), rel=0.025)


def test_knowing_only_the_water_comes_close() -> None:
    """The two ways of stating a food differ by less than the surface coefficient does."""
    plain = plank.FreezingFood.from_water(BEAN.water, BEAN.freezing_point)
    assert plank.pack_seconds(0.025, plain) == pytest.approx(
        plank.pack_seconds(0.025, FOOD), rel=0.03
    )


def test_earle_s_lines_by_hand() -> None:
    """Nine tenths water by the lines of Earle, Unit Operations in Food Processing, appendix 7:
    4.19 · 0.9 + 0.84 · 0.1 and so on. Heats are compared with published rows elsewhere."""
    food = plank.FreezingFood.from_water(0.9, -0.7)
    assert food.heat == pytest.approx(3855)
    assert food.frozen_heat == pytest.approx(1974)
    assert food.latent == pytest.approx(301_500)
    assert food.frozen_conductivity == pytest.approx(2.186)
    assert (food.freezing_point, food.density) == (-0.7, pytest.approx(BEAN.density(5), rel=0.02))


def test_pham_s_formula_is_asked_up_to_the_ends_of_its_range() -> None:
    """Air of -45 to -15 °C, food of 40 °C at most (from memory); beyond it is refused elsewhere."""
    for air, start in ((-45.0, 40.0), (-15.0, 40.0)):
        just_inside = plank.pack_seconds(0.025, FOOD, air, start=start - 0.1)
        assert plank.pack_seconds(0.025, FOOD, air, start=start) == pytest.approx(
            just_inside, rel=0.01
        )
    for air, start in ((-45.1, 5.0), (-14.9, 5.0), (-18.0, 40.1)):
        with pytest.raises(ValueError, match="holds for"):
            plank.pack_seconds(0.025, FOOD, air, start=start)


@given(st.floats(0.01, 0.06), st.floats(1.05, 2))
def test_time_grows_faster_than_thickness(thick: float, factor: float) -> None:
    def seconds(size: float) -> list[float]:
        return [
            plank.pack_seconds(size, FOOD),
            yardsticks.cleland_earle_seconds(size, FOOD, -18, surface=7.5, start=5),
            yardsticks.plank_seconds("slab", size, FOOD, air=-18, surface=7.5),
        ]

    thin, large = seconds(thick), seconds(thick * factor)
    assert all(many > factor * few for few, many in zip(thin, large, strict=True))


@given(st.floats(-35, -16), st.floats(1, 10), st.floats(5, 30))
def test_colder_air_and_colder_food_freeze_sooner(air: float, colder: float, start: float) -> None:
    base = plank.pack_seconds(0.025, FOOD, air, start=start)
    assert plank.pack_seconds(0.025, FOOD, air - colder, start=start) < base
    assert plank.pack_seconds(0.025, FOOD, air, start=start - 4) < base
    assert plank.pack_seconds(0.025, FOOD, air, start=start, surface=yardsticks.FAN_AIR) < base


def test_shapes_freeze_in_their_order() -> None:
    times = [
        plank.pham_seconds(shape, 0.03, FOOD, air=-30, surface=15, start=10)
        for shape in ("slab", "cylinder", "sphere")
    ]
    assert times[0] > times[1] > times[2]


def test_air_no_colder_than_the_food_is_an_error() -> None:
    with pytest.raises(ValueError, match="never reaches"):
        plank.pack_seconds(0.025, FOOD, air=-10.0)
    with pytest.raises(ValueError, match="never reaches"):
        yardsticks.cleland_earle_seconds(0.025, FOOD, -9.0, surface=7.5, start=5.0, centre=-8.0)
    with pytest.raises(ValueError, match="does not freeze"):
        yardsticks.plank_seconds("slab", 0.025, FOOD, air=0.0, surface=7.5)


def test_wrapping_slows_freezing() -> None:
    bare = yardsticks.plank_seconds("slab", 0.1, FOOD, air=-34, surface=600)
    boxed = yardsticks.plank_seconds(
        "slab", 0.1, FOOD, air=-34, surface=yardsticks.wrapped(600, (0.001, 0.06))
    )
    assert boxed > 1.5 * bare
    assert yardsticks.wrapped(7.5) == 7.5


@pytest.mark.parametrize("cubic_feet, pounds", [(5, 10), (15, 30), (20, 40)])
def test_two_pounds_a_cubic_foot_in_a_day(cubic_feet: float, pounds: float) -> None:
    """The cautious end of 2 to 3 lb (USDA AIB 410; University of Minnesota Extension)."""
    freezer = Freezer(name="f", volume=f"{cubic_feet} cu ft")
    assert freezing_limit(freezer) == pytest.approx(pounds * POUND, abs=1)


def test_a_declared_limit_replaces_the_rule() -> None:
    assert freezing_limit(Freezer(name="f", volume="15 cu ft", freezing_per_day="9 kg")) == 9000


def test_a_day_s_limit_is_solid_in_a_day() -> None:
    """What is put in must be solid in 24 h (University of Minnesota Extension): flat packs are."""
    times = [plank.pack_seconds(d / 1000, FOOD) for d in (10, 15, 20, 25, 40)]
    assert all(early < late for early, late in pairwise(times))
    assert times[-2] < 24 * 3600
