"""What a day of waiting costs each crop, and what is worth starting for, against what was read.

A row of tests/data/freshness_seen.csv is a share lost in so many days: of what was measured, or a
half where food was no longer sold, as `Freshness` says. Its source's publisher stands beside it.
"""

from __future__ import annotations

import csv

import pytest
from each_case import each
from places import DATA

from harvestplan.inputs.crops import Crop, Library
from harvestplan.inputs.figures import Figure
from harvestplan.inputs.raw_food import Place
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.worth_lost import share_lost

LIBRARY: Library = load_library()
CROPS = LIBRARY.crops
POUND, DAY = 453.59237, 86400
HOT = ("blanch", "roast", "simmer")
PLACES = ("standing", "fridge", "cellar", "room")
Row = dict[str, str]

with (DATA / "freshness_seen.csv").open(encoding="utf-8", newline="") as _file:
    SEEN: list[Row] = list(csv.DictReader(_file))


def figures() -> dict[tuple[str, str], Figure[float]]:
    """Every figure of the library by crop and place."""
    found = {
        (name, place): getattr(CROPS[name].freshness, place) for name in CROPS for place in PLACES
    }
    return {key: figure for key, figure in found.items() if figure is not None}


def a_day(name: str, place: str) -> float:
    return figures()[name, place].value


def waits_in(crop: Crop) -> dict[Place, float]:
    """Where it waits, with a cellar and without, and how many seconds it keeps there."""
    best = {crop.keeping.best_place(cellar) for cellar in (True, False)}
    times = {place: getattr(crop.keeping, place) for place in best}
    return {place: 0.0 if time is None else time.value for place, time in times.items()}


def lost_in_a_day(crop: Crop, cellar: bool) -> float:
    place = crop.keeping.best_place(cellar)
    keeps = getattr(crop.keeping, place)
    days = int(keeps.value // DAY) if keeps else 0
    return share_lost(crop, cellar=cellar, standing=0, waiting=1, keeps=days)


# Against what was read


@each("row", SEEN, lambda row: f"{row['crop']} {row['place']} {row['source']}")
def test_every_loss_that_was_read_agrees_or_is_recorded(row: Row) -> None:
    """A tenth over and under, since the figures are round."""
    figure = figures()[row["crop"], row["place"]]
    least = float(row["lost_min"]) / float(row["days_max"]) * 0.9
    most = float(row["lost_max"]) / float(row["days_min"]) * 1.1
    recorded = any(o.source == row["source"] and least <= o.value <= most for o in figure.other)
    assert least <= figure.value <= most or recorded, row["publisher"]


def test_what_is_said_to_be_seen_has_its_row() -> None:
    claimed = {
        (name, place, each.source)
        for (name, place), figure in figures().items()
        for each in (figure, *figure.other)
        if each.seen
    }
    assert claimed == {(row["crop"], row["place"], row["source"]) for row in SEEN}
    assert len(claimed) > 50


@pytest.mark.parametrize(
    ("name", "cold", "warm", "apart"),
    [
        # Indian Council of Agricultural Research: sugar lost in 24 h at 0 and at 30 °C
        ("sweet corn", 0.08, 0.52, 30),
        # Paull 1999, as Produce degradation quotes him: vitamin C in 24 h at 0 and at 10 °C
        ("kale", 24 * 0.0005, 24 * 0.0032, 10),
    ],
)
def test_a_loss_of_two_temperatures_is_taken_at_that_of_a_refrigerator(
    name: str, cold: float, warm: float, apart: float
) -> None:
    """4 °C, with an even factor for each degree between them."""
    assert a_day(name, "fridge") == pytest.approx(cold * (warm / cold) ** (4 / apart), rel=0.05)


def test_spinach_loses_in_a_week_what_carrots_lose_in_half_a_year() -> None:
    """Pandrangi and LaBorde 2004: 47 % of the folate in 8 days at 4 °C; Ilić and others 2013: 28
    to 47 % of the carotene in 180 days."""
    assert 8 * a_day("spinach", "fridge") == pytest.approx(0.47, abs=0.02)
    assert 0.282 <= 180 * a_day("carrot", "fridge") <= 0.469


# What holds for every crop


@each(("crop", "cellar"), [(crop, cellar) for crop in CROPS.values() for cellar in (True, False)])
def test_no_crop_loses_more_than_a_quarter_in_a_day(crop: Crop, cellar: bool) -> None:
    """Own judgement: what is worth growing is worth something the day after."""
    assert 0 <= lost_in_a_day(crop, cellar) <= 0.25
    if crop.stands:
        assert share_lost(crop, cellar=cellar, standing=1, waiting=0, keeps=1) <= 0.25


@each("crop", CROPS.values())
def test_what_is_good_for_two_months_loses_less_than_one_in_a_hundred(crop: Crop) -> None:
    for place, keeps in waits_in(crop).items():
        if keeps >= 60 * DAY:
            assert lost_in_a_day(crop, cellar=place == "cellar") < 0.01


@each("crop", CROPS.values())
def test_food_is_worth_half_or_more_while_it_keeps(crop: Crop) -> None:
    """The days that it keeps are shorter than those after which nobody would sell it."""
    for place, keeps in waits_in(crop).items():
        figure = figures().get((crop.name, place))
        if figure is not None:
            assert figure.value * keeps / DAY <= 0.5, place


def test_a_figure_is_of_a_place_where_the_food_waits() -> None:
    """On the plant, or where it keeps best with or without a cellar."""
    astray = [
        (name, place)
        for name, place in figures()
        if place != "standing" and place not in waits_in(CROPS[name])
    ]
    assert astray == []
    assert not [name for name, place in figures() if place == "standing" and not CROPS[name].growth]


@each("name", ["leek", "kale", "parsnip", "carrot", "cabbage", "brussels sprout", "winter squash"])
def test_what_holds_in_the_garden_loses_nothing_there(name: str) -> None:
    """Common practice, no source: it is left standing until it is wanted."""
    assert a_day(name, "standing") == 0


@each("name", ["snap bean", "shelling pea", "sweet corn", "cucumber", "summer squash", "okra",
               "broccoli", "asparagus"])  # fmt: skip
def test_what_toughens_on_the_plant_loses_more_there_than_in_the_refrigerator(name: str) -> None:
    """Common practice, no source: pick it when it is ready, whatever the day."""
    assert a_day(name, "standing") > a_day(name, "fridge")


# What is worth starting for


@each("crop", CROPS.values())
def test_every_crop_says_what_is_worth_starting_for(crop: Crop) -> None:
    """From a bunch of herbs to a pot of purée, and a kettle is not heated for less than a pound
    (common practice, no source)."""
    assert crop.least_batch is not None
    pounds = crop.least_batch.value / POUND
    assert 0.2 <= pounds <= 6
    usual = next(item for item in crop.products if item.usual)
    if any(step.step in HOT for step in usual.steps):
        assert pounds >= 0.99


@pytest.mark.parametrize(
    ("name", "pounds"),
    [("snap bean", 2), ("sweet corn", 4), ("tomato", 5), ("strawberry", 1), ("basil", 0.25)],
)
def test_batches_that_households_start_with(name: str, pounds: float) -> None:
    """Common practice, no source: 2 lb of beans, half a dozen ears, a pint of berries."""
    batch = CROPS[name].least_batch
    assert batch is not None
    assert batch.value == pytest.approx(pounds * POUND)
