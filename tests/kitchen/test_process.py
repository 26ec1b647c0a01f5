"""A product in a kitchen: portions in grams, pouches, batches, and what is missing."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kitchen.foods import (
    BEANS,
    CHILL,
    OUNCE,
    POUND,
    PUREE,
    TO_FREEZER,
    TRIM,
    WASH,
    blanch,
    crop,
    fig,
    kitchen,
    pouch,
    process,
    product,
    sealer,
    step,
)

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Product
from harvestplan.inputs.quantities import Quantity, read_quantity
from harvestplan.inputs.season_kitchen import Bath, Dryer, Pot
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.process import Process, portion_in_grams

ROOM = (pouch("pint", 6, 10), pouch("quart", 8, 12), pouch("gallon", 11, 14))
STRAIGHT = TO_FREEZER
MINCED: dict[str, Any] = {"texture": "meat", "density": fig("1.0 kg/L")}


def fewest_pouches(made: Process, grams: int) -> int:
    """The least number that takes all that is packed."""
    everything = made.packed(grams, 10_000)
    return next(n for n in range(1, 10_000) if made.packed(grams, n) == everything)


def test_six_pounds_of_minced_meat_in_one_pound_packs() -> None:
    """Six pouches (common practice, no source)."""
    made = process(STRAIGHT, round(POUND), **MINCED)
    assert fewest_pouches(made, round(6 * POUND)) == 6


def test_four_pounds_of_shrimp_in_twelve_ounce_packs() -> None:
    """Six pouches, the last a third full (common practice, no source)."""
    portion = round(12 * OUNCE)
    made = process(STRAIGHT, portion, **MINCED)
    grams = round(4 * POUND)
    assert fewest_pouches(made, grams) == 6
    last = made.packed(grams, 6) - 5 * portion
    assert last == pytest.approx(4 * OUNCE, abs=2)


@pytest.mark.parametrize("density, grams", [("1.03 kg/L", 487), ("1.05 kg/L", 497)])
def test_two_cups_become_grams_by_density(density: str, grams: int) -> None:
    """Two US cups are 473 mL: a recipe's portion (common practice, no source)."""
    made = product(PUREE, texture="puree", density=fig(density))
    assert portion_in_grams(made, read_quantity("2 cups", "volume", "US")) == grams


def test_a_portion_by_mass_stays_so() -> None:
    made = product(BEANS)
    assert portion_in_grams(made, Quantity(12 * OUNCE, "mass")) == 340


@given(st.integers(1, 20_000), st.integers(1, 60))
def test_pouches_never_hold_more_than_was_made(raw: int, count: int) -> None:
    made = process(BEANS, 340)
    packed = made.packed(raw, count)
    assert packed <= count * 340
    assert packed <= raw * made.product.packed_share + 1e-6


@given(st.integers(50, 900))
def test_raw_food_for_a_portion_gives_it(portion: int) -> None:
    found = make_process(kitchen(), crop(product(BEANS)), product(BEANS), portion_grams=portion)
    if isinstance(found, str):
        assert portion > 600
        return
    assert found.packed(found.raw_per_portion, 1) == portion
    assert found.packed(found.raw_per_portion - 2, 1) < portion


def test_the_batch_is_what_the_pot_takes_before_trimming() -> None:
    """One gallon a pound (National Center for Home Food Preservation); trimming leaves 0.9."""
    made = process(BEANS, 340, kitchen((Pot(name="pot", volume="4 gal", power="3 kW"),)))
    assert made.batch_limit == pytest.approx(3 * POUND / 0.9, abs=2)
    assert made.vessels["blanch"] == ("pot",)
    assert made.vessels["cool"] == ("bath",)


def test_pots_too_small_for_the_batch_stand_aside() -> None:
    pots = (
        Pot(name="large", volume="16 L", power="3 kW"),
        Pot(name="twin", volume="16 L", power="2 kW"),
        Pot(name="small", volume="5 L", power="2 kW"),
    )
    assert process(BEANS, 340, kitchen(pots)).vessels["blanch"] == ("large", "twin")


@pytest.mark.parametrize(
    ("portions", "dryer"), [(1, "small"), (2, "small"), (3, "large"), (7, "large"), (None, "large")]
)
def test_the_smallest_dryer_that_takes_all_that_is_wanted(portions: int | None, dryer: str) -> None:
    """Trays for 600 and 1500 g of trimmed food, a tenth of which is trimmed off before: 666 and
    1666 g raw. A portion of 30 g, an eighth or so of what is dried, is 30 / 0.9 / 0.12 = 278 g."""
    dry = step(
        "dry",
        per_kg="10 min per kg",
        time="8 h",
        tray_load="3 kg/m2",
        leaves=0.12,
        pause_least="9 h",
        pause_limit="21 days",
    )
    packing = (step("portion", per_kg="15 min per kg"), step("seal"), step("store", fixed="5 min"))
    made = product(
        (WASH, TRIM, dry, *packing), storage="shelf", texture="dry", density=fig("0.3 kg/L")
    )
    dryers = (
        Dryer(name="large", trays=5, tray_area="0.1 m2"),
        Dryer(name="small", trays=2, tray_area="0.1 m2"),
    )
    where = replace(kitchen(), dryers=dryers)
    found = make_process(where, crop(made), made, portion_grams=30, portions=portions)
    assert (found.dryer, found.raw_per_portion) == (dryer, 278)
    assert found.sitting_limit == {"small": 666, "large": 1666}[dryer]


def test_simmering_counts_the_water_added() -> None:
    stock = {"item": "stock", "amount": fig("1 kg per kg")}
    cooked = step("simmer", time="1 h", leaves=2.0, hands=0, ingredients=[stock])
    soup = (WASH, cooked, CHILL, *TO_FREEZER)
    pot = Pot(name="pot", volume="8 L", power="2 kW")
    made = process(soup, 400, kitchen((pot,)), texture="liquid", density=fig("1.0 kg/L"))
    assert made.batch_limit == pytest.approx(0.75 * 8000 / 2)


def test_roasting_fills_the_oven() -> None:
    made = process(PUREE, 400, texture="puree", density=fig("1.03 kg/L"))
    assert made.batch_limit == pytest.approx(3000)
    assert made.vessels == {
        "wash": ("bath",),
        "roast": ("oven",),
        "chill": ("bath",),
        "seal": ("sealer",),
    }


def test_washing_goes_without_a_basin_where_there_is_none() -> None:
    """Under the tap, then; what is chilled needs one all the same."""
    dry = product((WASH, PORTION_DRY, step("seal"), step("store")), storage="shelf", texture="dry")
    for baths, held in (((), ()), (kitchen().baths, ("bath",))):
        made = make_process(bare(baths=baths), crop(dry, water=0.11), dry, portion_grams=454)
        assert made.vessels.get("wash", ()) == held and made.batch_limit is None


def test_a_small_potful_is_cooked_in_any_pot_that_takes_it() -> None:
    """12 L and 6 L, three quarters full: 9 kg and 4.5 kg, of food that nothing is added to."""
    stew = (WASH, step("simmer", time="1 h", hands=0), CHILL, *TO_FREEZER)
    pots = (
        Pot(name="small", volume="6 L", power="2 kW"),
        Pot(name="large", volume="12 L", power="2 kW"),
    )
    room = replace(kitchen(pots), baths=(Bath(name="bath", volume="40 L"),))
    made = process(stew, 400, room, texture="liquid", density=fig("1.0 kg/L"))
    assert made.batch_limit == pytest.approx(9000)
    assert made.units("simmer", 9000) == ("large",)
    assert made.units("simmer", 4501) == ("large",)
    assert set(made.units("simmer", 4500)) == {"large", "small"}
    assert process(BEANS, 340, kitchen(pots)).units("blanch", 1) == ("large",)


def test_a_pause_is_found_where_the_chain_allows_one() -> None:
    assert process(BEANS, 340).pause is None
    assert process(PUREE, 400, texture="puree", density=fig("1.03 kg/L")).pause == 3


def test_nothing_limits_food_that_is_only_packed() -> None:
    assert process(STRAIGHT, 454, **MINCED).batch_limit is None


def bare(**keys: Any) -> Kitchen:
    """A whole kitchen but for what `keys` take away."""
    return replace(kitchen(), **keys)


@pytest.mark.parametrize(
    "where, made, says",
    [
        (bare(sealer=None), product(BEANS), "sealer"),
        (bare(freezers=()), product(BEANS), "freezer"),
        (bare(pots=(), pot_volumes={}), product(BEANS), "pot"),
        (bare(baths=()), product(BEANS), "bath"),
        (bare(ovens=()), product(PUREE, texture="puree", density=fig("1 kg/L")), "oven"),
        (bare(sealer=sealer("5 in")), product(BEANS), "no pouch"),
    ],
)
def test_what_is_missing_is_said(where: Kitchen, made: Product, says: str) -> None:
    with pytest.raises(CannotBeMade, match=says):
        make_process(where, crop(made), made, portion_grams=340)


def test_shelf_goods_need_no_freezer() -> None:
    dry = product((PORTION_DRY, step("seal"), step("store")), storage="shelf", texture="dry")
    assert not make_process(bare(freezers=()), crop(dry, water=0.11), dry, portion_grams=454).frozen


PORTION_DRY = step("portion", fixed="5 min")


@given(st.sampled_from([1.5, 3.0, 4.0]), st.floats(1, 20))
def test_a_smaller_pot_never_takes_a_larger_batch(minutes: float, litres: float) -> None:
    chain = (WASH, TRIM, blanch(minutes), step("cool", ratio=1.0), *TO_FREEZER)

    def limit(volume: float) -> float:
        pot = Pot(name="pot", volume=f"{volume:.3f} L", power="2 kW")
        found = process(chain, 340, kitchen((pot,))).batch_limit
        assert found is not None
        return found

    assert limit(litres) <= limit(litres * 1.5)
