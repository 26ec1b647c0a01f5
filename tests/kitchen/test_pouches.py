"""Pouches: what they hold, how thick they lie, which is chosen, how many on the bar."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kitchen.foods import BEANS, OUNCE, POUCHES, POUND, PUREE, fig, pouch, product, sealer

from harvestplan.inputs.season_kitchen import Pouch
from harvestplan.kitchen import pouches

SIZES = st.sampled_from([(6, 8), (6, 10), (8, 10), (8, 12), (10, 13), (11, 14), (12, 14)])
BEAN = product(BEANS)
PULP = product(PUREE, texture="puree", density=fig("1.03 kg/L"))


@pytest.mark.parametrize(
    "width, length, litres",
    [
        (6, 8, (0.27, 0.32, 0.36)),
        (6, 10, (0.39, 0.46, 0.52)),
        (8, 12, (0.73, 0.88, 1.01)),
        (10, 13, (1.07, 1.29, 1.49)),
        (12, 14, (1.45, 1.76, 2.05)),
    ],
)
def test_flat_volumes_of_trade_sizes(
    width: float, length: float, litres: tuple[float, ...]
) -> None:
    """Rounded-edge slab at 20, 25 and 30 mm, computed apart from the program."""
    for thick, expected in zip((0.020, 0.025, 0.030), litres, strict=True):
        volume = pouches.flat_volume(pouch("p", width, length), thick)
        assert volume / 1000 == pytest.approx(expected, abs=0.006)


@given(SIZES, st.floats(0.001, 0.034), st.floats(0.001, 0.006))
def test_thicker_packs_hold_more(size: tuple[int, int], thick: float, more: float) -> None:
    bag = pouch("p", *size)
    assert pouches.flat_volume(bag, thick + more) > pouches.flat_volume(bag, thick)


@given(SIZES, st.floats(0.002, 0.035))
def test_thickness_undoes_flat_volume(size: tuple[int, int], thick: float) -> None:
    bag = pouch("p", *size)
    assert pouches.thickness(bag, pouches.flat_volume(bag, thick)) == pytest.approx(thick, rel=1e-6)


@given(SIZES, st.floats(0.005, 0.040))
def test_no_flat_pack_holds_more_than_the_fullest_bag(size: tuple[int, int], thick: float) -> None:
    """Robin's formula is up to 12 % low for a square, whose best known volume is 0.217."""
    bag = pouch("p", *size)
    assert pouches.flat_volume(bag, thick) <= 1.15 * pouches.largest_volume(bag)


@given(SIZES, st.floats(0.002, 0.03))
def test_footprint_fits_the_bag_and_shrinks_as_it_thickens(
    size: tuple[int, int], thick: float
) -> None:
    bag = pouch("p", *size)
    width, length = pouches.usable(bag)
    area = pouches.footprint(bag, pouches.flat_volume(bag, thick))
    assert area <= width * length * 1e6 + 1
    assert area >= pouches.footprint(bag, pouches.flat_volume(bag, thick * 1.2))
    assert area / 1e6 * thick * 1e6 >= pouches.flat_volume(bag, thick) * 0.999


def test_footprint_of_a_quart_pouch() -> None:
    """169 x 221 mm for 8 x 12 in at 25 mm, computed apart from the program."""
    bag = pouch("quart", 8, 12)
    area = pouches.footprint(bag, pouches.flat_volume(bag, 0.025))
    assert area == pytest.approx(169 * 221, rel=0.01)


@given(SIZES)
def test_head_space_is_kept(size: tuple[int, int]) -> None:
    """Never over three quarters full, liquids half (equipment practice)."""
    bag = pouch("p", *size)
    largest = pouches.largest_volume(bag)
    dry = product(BEANS, texture="dry", storage="shelf")
    juice = product(BEANS, texture="liquid", storage="shelf")
    assert pouches.capacity(bag, dry) <= 0.75 * largest + 1e-6
    assert pouches.capacity(bag, juice) <= 0.50 * largest + 1e-6
    assert pouches.capacity(bag, BEAN) <= pouches.flat_volume(bag, 0.025) + 1e-6


def test_two_six_inch_pouches_on_a_twelve_inch_bar() -> None:
    """Common practice, no source."""
    assert pouches.per_cycle(pouch("p", 6, 10), sealer("12 in")) == 2
    assert pouches.per_cycle(pouch("p", 8, 12), sealer("12 in")) == 1
    assert pouches.per_cycle(pouch("p", 6, 10), sealer("11.9 in")) == 1
    assert pouches.per_cycle(pouch("p", 6, 10), sealer("18 in")) == 3


def test_an_external_machine_seals_one() -> None:
    assert pouches.per_cycle(pouch("p", 6, 10), sealer("12 in", kind="external")) == 1


@pytest.mark.parametrize("bar, fits", [("10 in", False), ("11 in", True), ("12 in", True)])
def test_an_eleven_inch_bag_needs_a_bar_as_wide(bar: str, fits: bool) -> None:
    """Common practice, no source."""
    assert pouches.fits_machine(pouch("gallon", 11, 14), sealer(bar)) is fits


def test_a_bag_longer_than_the_chamber_does_not_fit() -> None:
    machine = sealer("12 in", chamber="13x12x5 in")
    assert pouches.fits_machine(pouch("quart", 8, 12), machine)
    assert not pouches.fits_machine(pouch("gallon", 11, 14), machine)


def test_the_smallest_pouch_that_serves() -> None:
    """Trade: pint 6x10, quart 8x12, gallon 11x14 (common practice, no source)."""
    names = [
        packing.pouch.name
        for ounces in (8, 16, 24)
        if (
            packing := pouches.choose_packing(BEAN, round(ounces * OUNCE), POUCHES, sealer=sealer())
        )
    ]
    assert names == ["pint", "quart", "gallon"]


def test_nothing_is_chosen_where_nothing_serves() -> None:
    assert pouches.choose_packing(BEAN, round(5 * POUND), POUCHES, sealer=sealer()) is None
    wide_only = (pouch("gallon", 11, 14),)
    assert pouches.choose_packing(BEAN, 340, wide_only, sealer=sealer("10 in")) is None


@given(st.integers(20, 1200))
def test_the_chosen_pouch_holds_the_portion_lying_flat(grams: int) -> None:
    for food in (BEAN, PULP):
        packing = pouches.choose_packing(food, grams, POUCHES, sealer=sealer())
        if packing is None:
            continue
        volume = pouches.content_volume(food, grams)
        assert volume <= pouches.capacity(packing.pouch, food)
        assert packing.thickness <= pouches.FLAT + 1e-9
        smaller = [
            bag
            for bag in POUCHES
            if bag.width * bag.length < packing.pouch.width * packing.pouch.length
        ]
        assert all(pouches.capacity(bag, food) < volume for bag in smaller)


def test_film_takes_space_too() -> None:
    """Two sides of 8 x 12 in at 3 mil are 9.4 mL (geometry)."""
    bag = pouch("quart", 8, 12)
    assert pouches.film_volume(bag) == pytest.approx(2 * 8 * 12 * 0.003 * 16.387064)
    thick = Pouch(name="p", width="8 in", length="12 in", film="5 mil")
    assert pouches.space(thick, BEAN, 400) > pouches.space(bag, BEAN, 400)


def test_stored_beans_are_no_denser_than_block_packs() -> None:
    """A cubic foot holds up to 35 lb of block-shaped packages (NC State University 2004)."""
    grams = round(12 * OUNCE)
    density = grams / pouches.space(pouch("p", 8, 10), BEAN, grams)
    assert 0.6 * 35 < density * 28316.846592 / POUND < 35


@given(st.integers(50, 900), st.integers(1, 300))
def test_more_food_takes_more_space(grams: int, more: int) -> None:
    bag = pouch("p", 8, 12)
    assert pouches.space(bag, BEAN, grams + more) > pouches.space(bag, BEAN, grams)
    assert pouches.space(bag, BEAN, grams) > math.ceil(pouches.content_volume(BEAN, grams))
