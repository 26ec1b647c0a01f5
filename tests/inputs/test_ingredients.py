"""Ingredients as crop files write them: by food or by water, by mass or by spoon."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from places import CROPS
from pydantic import ValidationError

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.ingredients import Ingredient
from harvestplan.kitchen.crop_library import load_library

CUP, POUND, GALLON = 236.588, 453.592, 3785.41  # mL, g, mL


def ingredient(amount: str, **keys: Any) -> Ingredient:
    figure = {"value": amount, "source": "TEST", "seen": False}
    return Ingredient.model_validate({"item": "honey", "amount": figure} | keys)


HONEY = {"density": {"value": "1.4 kg per L", "source": "TEST", "seen": False}}


@pytest.mark.parametrize(
    ("amount", "food", "water", "grams"),
    [
        ("1 cup per lb", POUND, 0.0, 1.4 * CUP),
        ("4 tsp per gal", 0.0, GALLON, 1.4 * 4 * CUP / 48),
        ("20 g per kg", 500.0, 9999.0, 10.0),
        ("20 g per L", 9999.0, 500.0, 10.0),
        ("1/4 tsp per 1 3/4 lb", 1.75 * POUND, 0.0, 1.4 * CUP / 192),
    ],
)
def test_an_amount_is_for_the_food_or_for_the_water(
    amount: str, food: float, water: float, grams: float
) -> None:
    found = ingredient(amount, **HONEY)
    assert found.grams(food, water) == pytest.approx(grams, rel=1e-4)
    assert found.in_water == ("gal" in amount or "L" in amount)


def test_a_spoon_of_what_is_not_on_the_shelf_wants_its_density() -> None:
    with pytest.raises(ValidationError, match=r"density of the item.*staples\.toml"):
        ingredient("1 cup per lb")
    assert ingredient("20 g per kg").grams(1000, 0) == pytest.approx(20)


@pytest.mark.parametrize("wrong", ["1 cup", "4 tsp per min", "2 lb per 0 lb", "5 per lb", "per"])
def test_an_amount_says_per_how_much(wrong: str) -> None:
    with pytest.raises(ValidationError):
        ingredient(wrong, **HONEY)


def own_folder(folder: Path, old: str, new: str, staples: str = "") -> Path:
    (folder / "crops").mkdir()
    text = (CROPS / "eggplant.toml").read_text(encoding="utf-8")
    assert old in text
    (folder / "crops" / "eggplant.toml").write_text(text.replace(old, new), encoding="utf-8")
    if staples:
        (folder / "crops" / "staples.toml").write_text(staples, encoding="utf-8")
    return folder


def test_a_household_has_a_shelf_of_its_own(tmp_path: Path) -> None:
    staples = '[verjus]\ndensity = { value = "1 kg per L", source = "memory", seen = false }\n'
    folder = own_folder(tmp_path, 'item = "lemon juice"', 'item = "verjus"', staples)
    library = load_library(folder)
    steps = library.crops["eggplant"].products[0].steps
    (item,) = next(step for step in steps if step.step == "blanch").ingredients
    assert item.item == "verjus"
    assert item.grams(0.0, GALLON) == pytest.approx(CUP / 2, rel=1e-4)
    assert {"verjus", "salt"} <= set(library.staples)


@pytest.mark.parametrize(
    ("old", "new", "staples", "words"),
    [
        ('item = "lemon juice"', 'item = "verjus"', "", "add the item to staples.toml"),
        ('item = "lemon juice"', 'item = "verjus"', "[verjus]\n", "density"),
        ('item = "lemon juice"', 'item = "salt"',
         '[salt]\ndensity = { value = "1 kg per L", source = "hearsay", seen = false }\n',
         'cites the source "hearsay"'),
        ('step = "blanch"\n', 'step = "blanch"\nverb = "scald"\n', "",
         "verb and size belong to work of hands"),
        ('verb = "peel and slice"', 'verb = "Peel. Slice"', "", "verb"),
        ("slices of {1/3 in}", "slices of {1/3 lb}", "", "measures mass"),
        ("slices of {1/3 in}", "slices of {1/3 in", "", "braces hold a length"),
        ("leaves = { value = 0.81,", "leaves = { value = 1.81,", "", "what the ingredients add"),
    ],
)  # fmt: skip
def test_a_slip_in_what_is_added_or_said(
    tmp_path: Path, old: str, new: str, staples: str, words: str
) -> None:
    with pytest.raises(FilesNeedMending) as refused:
        load_library(own_folder(tmp_path, old, new, staples))
    assert words in str(refused.value)
    assert "crops/" in str(refused.value)
