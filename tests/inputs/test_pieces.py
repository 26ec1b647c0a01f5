"""What is counted by the piece: "a dozen ears", "2 courgettes"."""

from __future__ import annotations

from pathlib import Path

import pytest

from harvestplan.inputs.counted_food import CountedFood
from harvestplan.inputs.spoken.said_numbers import figures
from harvestplan.kitchen.crop_library import load_library
from harvestplan.records.names import names_in
from harvestplan.words.pieces import counted, pieces

CROPS = load_library().crops
FOODS = {name: crop.counted.food for name, crop in CROPS.items() if crop.counted}
TOLD = [name for name, food in FOODS.items() if food.told]

BUSHEL = 35 * 453.59237
"""g of sweet corn in husk to the bushel, about five dozen ears (usu-corn of the crop files)."""


def test_five_dozen_ears_are_about_a_bushel() -> None:
    assert FOODS["sweet corn"].grams * 60 == pytest.approx(BUSHEL, rel=0.02)


@pytest.mark.parametrize(
    ("grams", "crop", "measures", "words"),
    [
        (100, "sweet corn", "US", ""),  # less than half an ear is not told
        (200, "sweet corn", "US", "1 ear"),
        (1590, "sweet corn", "US", "6 ears"),
        (2915, "sweet corn", "US", "11 ears"),
        (3180, "sweet corn", "US", "a dozen ears"),
        (4770, "sweet corn", "metric", "1 1/2 dozen ears"),
        (6360, "sweet corn", "UK", "2 dozen ears"),
        (20_000, "sweet corn", "US", ""),  # a cartload is weighed
        (392, "summer squash", "UK", "2 courgettes"),
        (196, "summer squash", "metric", "1 courgette"),
        (392, "summer squash", "US", "2 zucchini"),
        (1100, "eggplant", "UK", "2 aubergines"),
        (5000, "tomato", "US", ""),  # people say pounds of tomatoes
        (500, "pea", "US", ""),
    ],
)
def test_small_amounts_are_told_by_the_piece(
    grams: float, crop: str, measures: str, words: str
) -> None:
    assert pieces(grams, FOODS.get(crop), measures) == words  # type: ignore[arg-type]


def test_what_is_told_can_be_heard() -> None:
    """Each count comes back as the mass it stood for, to half a piece, or half a dozen."""
    for crop in TOLD:
        food = FOODS[crop]
        one = food.grams
        for count in range(1, 31):
            for measures in ("US", "UK", "metric"):
                told = pieces(count * one, food, measures)  # type: ignore[arg-type]
                heard = counted(figures(told), food)
                assert heard is not None and heard[1], told
                slack = 3 * one if food.dozens and count >= 12 else 0
                assert heard[0] == pytest.approx(count * one, abs=slack + 0.01), told


@pytest.mark.parametrize(
    ("said", "count"),
    [("a dozen ears", 12), ("half a dozen cobs", 6), ("1 1/2 dozen ears", 18), ("two ears", 2),
     ("6 big ears", 6), ("2 dozen", 24)],
)  # fmt: skip
def test_ears_as_people_say_them(said: str, count: int) -> None:
    heard = counted(figures(said), FOODS["sweet corn"])
    assert heard is not None and heard[0] == pytest.approx(count * 265)


@pytest.mark.parametrize("said", ["12 lb", "3 tomatoes", "0 ears", "ears", "a few ears"])
def test_what_is_no_count_of_ears(said: str) -> None:
    assert counted(figures(said), FOODS["sweet corn"]) is None


def test_the_diary_hears_the_crop_files_figures(tmp_path: Path) -> None:
    """Its commands read the names alone of the crop files, by lines, for quickness."""
    assert names_in(tmp_path).counted == FOODS
    own = (
        'name = "melon"\ncounted = { one = "melon", many = "melons", weight = { value = "1.5 kg", '
    )
    (tmp_path / "crops").mkdir()
    (tmp_path / "crops" / "melon.toml").write_text(own + 'source = "memory", seen = false } }\n')
    assert names_in(tmp_path).counted["melon"] == CountedFood(1500, "melon", "melons")


PORTIONS = {
    "tomato": 123, "pepper": 119, "cucumber": 301, "summer squash": 196, "eggplant": 548,
    "cabbage": 908, "cauliflower": 588, "apple": 182, "pear": 178, "peach": 150, "onion": 110,
    "potato": 213, "carrot": 61, "turnip": 122,
}  # fmt: skip
"""Household weights of USDA's Standard Reference, file WEIGHT, foods 11527, 11333, 11205, 11641,
11209, 11109, 11135, 09003, 09252, 09236, 11282, 11352, 11124 and 11564: "medium", or the whole one
where there is no medium. Read there on 30 November 2026."""


def test_pieces_weigh_what_the_standard_reference_has() -> None:
    for crop, grams in PORTIONS.items():
        table = CROPS[crop].counted
        assert table is not None and table.weight.seen and table.weight.source == "SRW"
        assert table.weight.value == grams
    assert set(FOODS) - set(PORTIONS) == {"sweet corn", "kohlrabi"}
