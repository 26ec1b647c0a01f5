"""Every row of the tables that was read, against the crop files: it agrees or is recorded there.

The tables under tests/data name the publisher beside each row. A row without a product is of a form
that the library does not put by.
"""

from __future__ import annotations

import csv
from typing import Any

from each_case import each
from places import DATA

from harvestplan.inputs.crops import Library, Product, Step
from harvestplan.inputs.figures import Figure
from harvestplan.kitchen.crop_library import load_library

LIBRARY: Library = load_library()
POUND, PINT = 453.59237, 473.176473  # g, mL
SIZES = ("small", "medium", "large", "up to")
Row = dict[str, str]


def rows(name: str) -> list[Row]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["product"]]


def product(name: str) -> Product:
    found = LIBRARY.find_product(name)
    assert found is not None, name
    return found[1]


def step(name: str, word: str) -> Step:
    return next(step for step in product(name).steps if step.step == word)


def agrees_or_is_recorded(row: Row, figure: Figure[Any]) -> bool:
    """The figure lies in the row's minutes, the row's source stands beside it with its value, or
    the row is of another size within the figure's range."""
    low, high = float(row["minutes_min"]) * 60, float(row["minutes_max"]) * 60
    if low <= figure.value <= high:
        return True
    if any(other.source == row["source"] and low <= other.value <= high for other in figure.other):
        return True
    sized = any(size in row["printed"] for size in SIZES)
    return sized and (figure.low or 0) <= low and high <= (figure.high or 0)


def named(row: Row) -> str:
    return f"{row['product']} {row['source']}"


STEAMED, COOKED = rows("steaming_seen.csv"), rows("cooking_seen.csv")
FROZEN = rows("frozen_yield_seen.csv")


def test_the_tables_are_whole() -> None:
    assert (len(STEAMED), len(COOKED), len(FROZEN)) == (30, 7, 43)
    assert len({row["product"] for row in STEAMED}) == 16


@each("row", STEAMED, named)
def test_every_steaming_time_that_was_read_agrees_or_is_recorded(row: Row) -> None:
    steam = step(row["product"], "blanch").steam
    assert steam is not None
    assert steam.clock == "lid on"
    assert agrees_or_is_recorded(row, steam.time), row["bulletin"]


@each("row", [row for row in STEAMED if row["cool_minutes"]], named)
def test_steamed_food_is_cooled_as_long_as_the_table_says(row: Row) -> None:
    """Once the steaming time, twice for corn."""
    ratio = step(row["product"], "cool").ratio
    assert ratio is not None
    assert ratio.value == float(row["cool_minutes"]) / float(row["minutes_min"])


def test_every_product_with_a_steaming_time_has_its_row() -> None:
    with_steam = {
        f"{crop.name}, {item.form}"
        for crop in LIBRARY.crops.values()
        for item in crop.products
        if any(each.steam for each in item.steps)
    }
    assert with_steam == {row["product"] for row in STEAMED}


@each("row", COOKED, named)
def test_every_cooking_time_that_was_read_agrees_or_is_recorded(row: Row) -> None:
    time = step(row["product"], row["step"]).time
    assert time is not None
    assert agrees_or_is_recorded(row, time), row["bulletin"]


@each("row", FROZEN, named)
def test_every_yield_that_was_read_agrees_or_is_recorded(row: Row) -> None:
    """Pints from fresh food, packed share and density together; 5 % over and under, since tables
    count whole pints. What differs stands beside the density or a share, with its source."""
    item = product(row["product"])
    per_pound = POUND * item.packed_share / item.density.value / PINT
    least, most = (float(row[key]) * per_pound for key in ("fresh_lb_min", "fresh_lb_max"))
    low, high = float(row["pints_min"]) * 0.95, float(row["pints_max"]) * 1.05
    figures = [item.density, *(each.leaves for each in item.steps if each.leaves)]
    sources = {figure.source for figure in figures}
    sources |= {other.source for figure in figures for other in figure.other}
    assert (least <= high and most >= low) or row["source"] in sources, row["publisher"]
