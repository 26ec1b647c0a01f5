"""A household's crop file takes no refusal and no hazard from a food that the library knows."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from places import CROPS

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.crops import Crop
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.hazards import classes_of, handles_raw_meat
from harvestplan.kitchen.refusals import judge

LIBRARY = load_library()


def stood_in_for(tmp_path: Path, crop: str, *changes: tuple[str, str]) -> Crop:
    """The library's crop after a household's file of the same name, changed by patterns."""
    text = (CROPS / f"{crop}.toml").read_text(encoding="utf-8")
    for pattern, instead in changes:
        text, count = re.subn(pattern, instead, text, count=1)
        assert count == 1, pattern
    (tmp_path / "crops").mkdir(exist_ok=True)
    (tmp_path / "crops" / f"{crop}.toml").write_text(text, encoding="utf-8")
    return load_library(tmp_path).crop(crop.replace("-", " "))


NO_REFUSALS = (r"(?ms)^\[\[refused\]\]\n.*?(?=^\[\[products\]\])", "")
NO_CLASS = (r'(?m)^hazard = ".*"\n', "")


def as_class(hazard: str) -> tuple[str, str]:
    return r'(?m)^hazard = ".*"$', f'hazard = "{hazard}"'


def test_refusals_stay(tmp_path: Path) -> None:
    crop = stood_in_for(tmp_path, "minced-meat", NO_REFUSALS)
    assert crop.refused == LIBRARY.crops["minced meat"].refused
    assert crop.refused


def test_a_product_of_a_refused_form_is_refused(tmp_path: Path) -> None:
    for name, form in (("minced-meat", "sealed, chilled"), ("garlic", "raw, sealed"),
                       ("snap-bean", "unblanched, frozen")):  # fmt: skip
        change = (r'(?s)(\[\[products\]\]\nform = )"[^"]*"', rf'\1"{form}"')
        crop = stood_in_for(tmp_path, name, NO_REFUSALS, change)
        (product,) = crop.products
        assert product.form == form
        (known,) = (r for r in LIBRARY.crops[crop.name].refused if r.form == form)
        assert known.why.rstrip(".") in (judge(product, crop) or "")


@pytest.mark.parametrize("hazard", ["dry food", "acid fruit", "other", "smoked fish"])
def test_a_milder_class_takes_nothing_away(hazard: str, tmp_path: Path) -> None:
    crop = stood_in_for(tmp_path, "minced-meat", as_class(hazard))
    assert "raw ground meat" in classes_of(crop, crop.products[0])
    assert handles_raw_meat(crop, crop.products[0])


def test_without_a_class_the_library_s_holds(tmp_path: Path) -> None:
    for name in ("snap-bean", "apple", "shrimp"):
        crop = stood_in_for(tmp_path, name, NO_CLASS)
        assert crop.hazard == LIBRARY.crops[crop.name].hazard


def test_a_stricter_class_of_the_household_holds(tmp_path: Path) -> None:
    assert stood_in_for(tmp_path, "snap-bean", as_class("sprouts")).hazard == "sprouts"
    assert stood_in_for(tmp_path, "snap-bean", as_class("dry food")).hazard == "other"


def test_what_a_food_contains_and_that_it_is_eaten_raw_stays() -> None:
    from harvestplan.inputs.library import _kept_safe

    berry = LIBRARY.crops["strawberry"]
    raw = berry.products[0].model_copy(update={"eaten_raw": True})
    known = berry.model_copy(update={"allergens": ("fish",), "products": (raw,)})
    own = berry.model_copy(
        update={
            "allergens": ("milk",),
            "products": (raw.model_copy(update={"eaten_raw": False}),),
        }
    )
    kept = _kept_safe(own, known)
    assert kept.allergens == ("milk", "fish")
    assert kept.products[0].eaten_raw


def test_an_unknown_class_is_told_with_the_known_ones(tmp_path: Path) -> None:
    with pytest.raises(FilesNeedMending, match=r"raw fish"):
        stood_in_for(tmp_path, "shrimp", as_class("seafood"))


def test_a_second_file_for_a_known_name_is_refused(tmp_path: Path) -> None:
    """Renaming does not help: "ground beef" leads to minced meat."""
    text = (CROPS / "carrot.toml").read_text(encoding="utf-8")
    text = re.sub(r'(?m)^name = "carrot"$', 'name = "ground beef"', text)
    (tmp_path / "crops").mkdir()
    (tmp_path / "crops" / "ground-beef.toml").write_text(text, encoding="utf-8")
    with pytest.raises(FilesNeedMending, match="ground beef"):
        load_library(tmp_path)
