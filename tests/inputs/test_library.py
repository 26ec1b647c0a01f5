"""The crop library: what ships, what a household adds, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from counted import counted
from inputs.season_folder import write
from places import CROPS

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs import library as library_module
from harvestplan.kitchen.crop_library import load_library

BEAN = (CROPS / "snap-bean.toml").read_text("utf-8")
SOURCE = '[OWN]\ntitle = "Our own scales"\n'


def own(tmp_path: Path, text: str, sources: str = SOURCE) -> Path:
    """A season folder with one crop file of its own."""
    write(tmp_path / "crops", own=text, sources=sources)
    return tmp_path


def flaws_of(folder: Path) -> tuple[Flaw, ...]:
    with pytest.raises(FilesNeedMending) as caught:
        load_library(folder)
    return caught.value.flaws


def test_what_ships_is_sound_and_found_by_any_name() -> None:
    library = load_library()
    assert library.sources
    for crop in library.crops.values():
        for name in (crop.name, *crop.also):
            assert library.find_crop(name.upper()) is crop
    assert library.product_names()


def test_the_library_is_read_once() -> None:
    assert load_library() is load_library()


def test_a_crop_file_is_read_with_little_work() -> None:
    """Every command reads all of them."""
    load_library()  # builds the models
    library_module._own_library.cache_clear()
    library, calls = counted(load_library)
    assert calls < 20_000 * len(library.crops)  # 6,000 were counted for each


def test_a_household_adds_a_crop(tmp_path: Path) -> None:
    text = BEAN.replace('name = "snap bean"', 'name = "yardlong bean"', 1)
    also = next(line for line in text.split("\n") if line.startswith("also"))
    library = load_library(own(tmp_path, text.replace(also, "also = []")))
    assert {"snap bean", "yardlong bean"} <= set(library.crops)
    assert "OWN" in library.sources
    assert "yardlong bean" not in load_library().crops


def test_a_household_overrides_a_crop_with_its_own_source(tmp_path: Path) -> None:
    first = next(line for line in BEAN.split("\n") if line.startswith("water_share"))
    figure = 'water_share = { value = 0.5, source = "OWN", seen = true }'
    library = load_library(own(tmp_path, BEAN.replace(first, figure)))
    assert library.crops["snap bean"].water_share.value == 0.5
    assert load_library().crops["snap bean"].water_share.value != 0.5


def test_a_name_that_differs_by_an_accent_is_no_name_of_its_own(tmp_path: Path) -> None:
    """Lines of the diary are read without regard to accents: they would go to one of them."""
    text = BEAN.replace('name = "snap bean"', 'name = "Pêach"', 1)
    also = next(line for line in text.split("\n") if line.startswith("also"))
    (flaw,) = flaws_of(own(tmp_path, text.replace(also, "also = []")))
    assert "leads to peach and to Pêach" in flaw.message


def test_an_own_crop_with_capitals_is_found(tmp_path: Path) -> None:
    text = BEAN.replace('name = "snap bean"', 'name = "Yardlong Bean"', 1)
    text = text.replace('form = "cut"', 'form = "Cut"', 1)
    also = next(line for line in text.split("\n") if line.startswith("also"))
    library = load_library(own(tmp_path, text.replace(also, 'also = ["Snake Bean"]')))
    for name in ("Yardlong Bean", "yardlong bean", "snake bean"):
        assert library.crop(name).name == "Yardlong Bean"
    assert library.full_name("yardlong bean, CUT") == "Yardlong Bean, Cut"


def test_a_season_folder_without_crops(tmp_path: Path) -> None:
    assert load_library(tmp_path) is load_library()


def test_an_unlisted_source_names_file_and_key(tmp_path: Path) -> None:
    lines = BEAN.split("\n")
    number = next(n for n, line in enumerate(lines) if line.startswith("water_share"))
    lines[number] = 'water_share = { value = 0.5, source = "NOWHERE", seen = true }'
    (flaw,) = flaws_of(own(tmp_path, "\n".join(lines)))
    assert (flaw.file, flaw.line) == ("crops/own.toml", number + 1)
    assert "NOWHERE" in flaw.message and "water_share" in flaw.message


def test_a_figure_without_a_source(tmp_path: Path) -> None:
    lines = BEAN.split("\n")
    number = next(n for n, line in enumerate(lines) if line.startswith("water_share"))
    lines[number] = "water_share = { value = 0.5, seen = true }"
    (flaw,) = flaws_of(own(tmp_path, "\n".join(lines)))
    assert flaw.line == number + 1
    assert '"water_share"' in flaw.message and 'needs "source"' in flaw.message


def test_slips_in_a_crop_file(tmp_path: Path) -> None:
    (flaw,) = flaws_of(own(tmp_path / "a", BEAN + "\nname = garden\n"))
    assert flaw.file == "crops/own.toml" and "quotes" in flaw.message
    flaws = flaws_of(own(tmp_path / "b", BEAN.replace("water_share", "water_shair", 1)))
    assert any("water_shair" in flaw.message and "water_share" in flaw.hint for flaw in flaws)


def test_a_slip_in_the_sources(tmp_path: Path) -> None:
    (flaw,) = flaws_of(own(tmp_path, BEAN, '[OWN]\npublisher = "us"\n'))
    assert (flaw.file, flaw.line) == ("crops/sources.toml", 1)
    assert 'needs "title"' in flaw.message


def test_one_name_leads_to_one_crop(tmp_path: Path) -> None:
    text = BEAN.replace('name = "snap bean"', 'name = "new bean"', 1)
    also = next(line for line in text.split("\n") if line.startswith("also"))
    (flaw, *_) = flaws_of(own(tmp_path, text.replace(also, 'also = ["tomato"]')))
    assert '"tomato"' in flaw.message and "new bean" in flaw.message
