"""A kitchen without a sealing machine: what it makes, how it closes it, what it refuses."""

from __future__ import annotations

from dataclasses import replace

import pytest
from kitchen.foods import (
    BEANS,
    POUCHES,
    PUREE,
    TO_FREEZER,
    TRIM,
    WASH,
    crop,
    kitchen,
    product,
    step,
)

from harvestplan.errors import CannotBeMade, FilesNeedMending
from harvestplan.inputs.crops import Product
from harvestplan.inputs.season_kitchen import Pouch
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.layout import lay_out
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.own_pace import OwnPace
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.close_pack import EACH

BAG = Pouch(name="gallon bag", kind="zip bag", width="10.5 in", length="10 in")
BOX = Pouch(name="quart box", kind="box", volume="1 US qt", mouth="wide")
LIBRARY = load_library()


def by_hand(*listed: Pouch) -> Kitchen:
    return replace(kitchen(pouches=listed or (BAG, BOX)), sealer=None)


def made(
    where: Kitchen, chain: Product, name: str = "snap bean", pouch: str | None = None
) -> Process:
    return make_process(where, crop(chain, name=name), chain, portion_grams=340, pouch=pouch)


def test_hands_close_what_a_machine_would_seal() -> None:
    chain = product(BEANS)
    process = made(by_hand(), chain)
    steps = [step.step for step in process.product.steps]
    assert steps == [s.step if s.step != "seal" else "close" for s in chain.steps]
    assert process.packing.pouch == BAG


def test_closing_takes_one_pair_of_hands_and_no_machine() -> None:
    """So many seconds for each (common practice, no source), on the clock of 30 s."""
    process = made(by_hand(), product(BEANS))
    layout = lay_out(process, 8000, 17, sitting="whole", freezer="freezer")
    closing = [task for task in layout.tasks if task.step == "close"]
    assert sum(task.settings["pouches"] for task in closing) == 17
    for task in closing:
        least = task.settings["pouches"] * EACH["zip bag"]
        assert least <= task.seconds < least + 30
        assert (task.hands, task.units, task.settings["kind"]) == (1, (), "zip bag")
    assert not [task for task in layout.tasks if "cycles" in task.settings]


def test_closing_goes_at_the_household_s_pace() -> None:
    chain = product(PUREE, texture="puree")
    names = {"snap bean, whole": OwnPace(2.0)}
    slow = made(replace(by_hand(), paces=names), chain)
    found = []
    for process in (made(by_hand(), chain), slow):
        tasks = lay_out(process, 4000, 8, sitting="whole", freezer="freezer").tasks
        found.append(sum(task.seconds for task in tasks if task.step == "close"))
    assert found == [8 * EACH["box"], 2 * 8 * EACH["box"]]


def test_the_filling_says_head_space_and_kind() -> None:
    soup = made(by_hand(), product(PUREE, texture="liquid"))
    beans = made(by_hand(), product(BEANS))
    sealed = made(kitchen(), product(BEANS))
    told = [
        next(t for t in lay_out(p, 3000, 4, sitting="whole", freezer="freezer").tasks
             if t.step == "portion").settings
        for p in (soup, beans, sealed)
    ]  # fmt: skip
    assert (told[0]["kind"], told[0]["head_mm"]) == ("box", 25)
    assert (told[1]["kind"], told[1]["head_mm"]) == ("zip bag", 76)
    assert not {"kind", "head_mm"} & told[2].keys()


def test_a_want_may_name_its_container() -> None:
    both = replace(kitchen(), pouches=(*POUCHES, BAG, BOX))
    chain = product(BEANS)
    assert made(both, chain).packing.pouch.kind == "pouch"
    for pouch in (BAG, BOX):
        process = made(both, chain, pouch=pouch.name)
        assert process.packing.pouch == pouch
        assert "close" in [s.step for s in process.product.steps]


@pytest.mark.parametrize(
    ("where", "pouch", "said"),
    [
        (by_hand(*POUCHES), None, "no [sealer] in the kitchen, and pouches need one"),
        (replace(kitchen(pouches=()), sealer=None), None, "nothing to pack it in"),
        (by_hand(replace_size := BOX.model_copy(update={"volume": 300.0})), None,
         "no zip bag or box holds a portion of 340 g"),
        (by_hand(BAG, replace_size), "quart box", "no quart box holds"),
        (kitchen(pouches=POUCHES[:1]), "pint", "no pint holds"),
    ],
)  # fmt: skip
def test_what_is_lacking_is_said(where: Kitchen, pouch: str | None, said: str) -> None:
    with pytest.raises(CannotBeMade, match=r".") as refused:
        made(where, product(BEANS), pouch=pouch)
    assert said in refused.value.why


RAW = (WASH, TRIM, *TO_FREEZER)
SHELF = (WASH, TRIM, *TO_FREEZER[:2], step("store", fixed="2 min"))


@pytest.mark.parametrize("name", ["onion", "garlic", "brown mushroom", "cabbage", "kale", "brie"])
def test_what_a_vacuum_alone_makes_unsafe_is_frozen_in_bags(name: str) -> None:
    """Botulinum and listeria grow without air, raw cabbage kin gives off gas; in an ordinary bag,
    frozen, there is air and cold."""
    raw = product(RAW)
    with pytest.raises(CannotBeMade, match="refused for safety"):
        made(kitchen(), raw, name)
    assert made(by_hand(), raw, name).packing.pouch == BAG
    # With a machine in the house it still goes into the bag that hands close.
    both = replace(kitchen(), pouches=(*POUCHES, BAG))
    assert made(both, raw, name).packing.pouch == BAG
    with pytest.raises(CannotBeMade, match="refused for safety"):
        made(both, raw, name, pouch="quart")


@pytest.mark.parametrize("name", ["onion", "mushroom", "snap bean"])
@pytest.mark.parametrize("storage", ["shelf", "fridge"])
def test_what_is_unsafe_in_any_pack_stays_refused(name: str, storage: str) -> None:
    raw = product(SHELF, storage=storage)
    with pytest.raises(CannotBeMade, match="refused for safety"):
        made(by_hand(), raw, name)


def test_food_is_packed_cold_without_a_machine_too() -> None:
    warm = product((WASH, step("simmer", time="20 min", hands=0), *TO_FREEZER), texture="liquid")
    with pytest.raises(CannotBeMade, match="nothing chills it"):
        made(by_hand(), warm)


def test_no_crop_file_closes_by_hand() -> None:
    """Whether a pack is sealed is a matter of the kitchen, not of the food."""
    with pytest.raises(ValueError, match="the kitchen how its packs are closed"):
        product((WASH, TRIM, step("portion"), step("close"), step("freeze", fixed="2 min")))


def test_every_product_of_the_library_is_made_by_hand() -> None:
    """In bags and boxes as they are sold all that a machine's kitchen makes."""
    large = Pouch(name="gallon", kind="zip bag", width="10.5 in", length="10 in")
    where = replace(by_hand(large, BOX), dryers=kitchen().dryers)
    lacking = []
    for each in LIBRARY.crops.values():
        for chain in each.products:
            if any(s.step == "dry" for s in chain.steps):
                continue  # this kitchen has no dryer
            grams = min(300, round(400 * chain.density.value))
            try:
                process = make_process(where, each, chain, portion_grams=grams)
            except (CannotBeMade, FilesNeedMending) as refused:
                lacking.append(f"{each.name}, {chain.form}: {refused}")
                continue
            assert "seal" not in [s.step for s in process.product.steps]
    assert not lacking
