"""A want's cups and a purchase's gallons stay cups and gallons wherever they are read."""

from __future__ import annotations

import datetime as dt

import pytest
from places import DEMO

from harvestplan.inputs.load import load_season
from harvestplan.inputs.season import Season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.as_asked import packed_words, raw_food
from harvestplan.outputs.shopping_words import buy_words
from harvestplan.planning.shopping import shopping_lines

LIBRARY = load_library(DEMO)
CUP, GALLON = 236.5882365, 3785.411784
"""mL, NIST Handbook 44 (from memory)."""


@pytest.fixture(scope="module")
def season() -> Season:
    """The demo's: two gallons of cider bought, cups of it wanted, all else by weight."""
    return load_season(DEMO, LIBRARY).season


def test_a_pouch_wanted_as_cups_reads_as_cups(season: Season) -> None:
    found = LIBRARY.find_product("apple cider, juice")
    assert found is not None
    grams = 2 * CUP * found[1].density.value
    assert packed_words("apple cider, juice", grams, season, LIBRARY) == "2 cups"
    assert packed_words("apple cider, juice", grams / 2, season, LIBRARY) == "1 cup"
    assert packed_words("snap bean, cut", 340.2, season, LIBRARY) == "12 oz"


def test_cider_is_had_in_gallons_and_corn_in_ears(season: Season) -> None:
    crop = LIBRARY.find_crop("cider")
    assert crop is not None
    grams = 2 * GALLON * crop.raw_density.value
    assert raw_food("apple cider", grams, season, LIBRARY) == "2 gal apple cider"
    assert raw_food("shrimp", 4 * 453.6, season, LIBRARY) == "4 lb shrimp"
    assert raw_food("sweet corn", 3180, season, LIBRARY) == "7 lb sweet corn (a dozen ears)"


def test_cider_is_bought_in_gallons(season: Season) -> None:
    lines = shopping_lines([], season, LIBRARY, as_of=dt.date(2027, 3, 15))
    told = {line.item: buy_words(line, season) for line in lines if line.kind == "food"}
    assert told["apple cider"] == "2 gal apple cider"
    assert told["shrimp"] == "4 lb shrimp"
