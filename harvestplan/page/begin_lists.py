"""What is grown and wanted, picked from lists: with suggested amounts for eaters and garden."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

from harvestplan.inputs.crops import Crop, Library
from harvestplan.inputs.quantities import QuantityError, read_quantity
from harvestplan.inputs.spoken.said_foods import meant_crop, meant_product
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.kitchen.crop_library import load_library
from harvestplan.new_season import read_answers as read
from harvestplan.new_season.starter import Grown, WantAnswer
from harvestplan.page.site import Wrong

A_HEAD = 12
"""Portions of a food that one eater has in a winter, about one in two weeks (common practice, no
source): where a list has to begin somewhere."""


@cache
def library() -> Library:
    """The crops that come with the program."""
    return load_library(Path("/nonexistent"))


def as_grown(row: dict[str, str], a: dict[str, Any]) -> Grown:
    """A row of what is grown; raises Wrong at its field."""
    measures = a.get("measures") or "US"
    size = row["size"] or ("10 m" if measures == "metric" else "30 ft")
    try:
        part = read.grown(f"{row['crop']}, {size}", library(), measures)
    except Unclear as error:
        found = meant_crop(row["crop"], library()) is not None
        raise Wrong.unclear(error, "size" if found else "crop") from None
    usual = read.usual_start(part[3], _frost(a))
    if row["begun"]:
        try:
            day = read.date(row["begun"], usual, dt.date.fromisoformat(a["today"]))[0]
        except Unclear as error:
            raise Wrong.unclear(error, "begun") from None
        if not 1950 <= day.year <= 2200:
            raise Wrong("Look at the year.", "begun")
    else:
        day = usual
    return read.planting(part, day)


def _frost(a: dict[str, Any]) -> dt.date:
    """The last frost of the season's year, as far as it was said."""
    year = dt.date.fromisoformat(a.get("start") or f"{a['today'][:4]}-05-01").year
    said = a.get("last_frost") and read.month_day(a["last_frost"])[0]
    month, day = (int(part) for part in (said or "05-10").split("-"))
    return dt.date(year, month, min(day, 28))


def as_wanted(row: dict[str, str], a: dict[str, Any], before: Sequence[Any]) -> WantAnswer:
    """A row of what is wanted; raises Wrong at its field."""
    measures = a.get("measures") or "US"
    size = row["portion"] or usual_size(measures)
    count = row["portions"]
    if not count.isdigit() or not 1 <= int(count) <= 5000:
        raise Wrong("How many portions? Write a whole number.", "portions")
    known = [WantAnswer(w["product"], 1, size) for w in before]
    try:
        return read.wanted(
            f"{row['product']} {count} of {size}", library(), measures, before=known
        )[0]
    except Unclear as error:
        found = meant_product(row["product"], library()) is not None
        raise Wrong.unclear(error, "portion" if found else "product") from None


def usual_size(measures: str) -> str:
    """What a portion is where nobody says."""
    return "350 g" if measures == "metric" else "12 oz"


def grown_suggestions(a: dict[str, Any]) -> dict[str, Any]:
    """Every crop by every name, and an amount to begin with."""
    crops = [c for c in library().crops.values() if c.kind == "grown"]
    return {
        "names": sorted({name for c in crops for name in (c.name, *c.also)}),
        "size": "10 m" if a.get("measures") == "metric" else "30 ft",
    }


def wanted_suggestions(a: dict[str, Any]) -> dict[str, Any]:
    """Every product by every name; of what is grown the usual one, with a number to begin with."""
    measures = a.get("measures") or "US"
    eaters = int(a.get("eaters") or 2)
    products = {
        f"{name}, {product.form}"
        for crop in library().crops.values()
        for name in (crop.name, *crop.also)
        for product in crop.products
    }
    taken = {meant_product(w["product"], library()) or w["product"] for w in a["wanted"]}
    rows: list[dict[str, Any]] = []
    for row in a["grown"]:
        grown = as_grown(row, a)
        crop = library().find_crop(grown.crop)
        if crop is None or not crop.products:
            continue
        usual = next((p for p in crop.products if p.usual), crop.products[0])
        name = f"{crop.name}, {usual.form}"
        if name in taken or any(name == each["product"] for each in rows):
            continue
        count, why = _portions(crop, grown, usual.packed_share, eaters, measures)
        rows.append({"product": name, "portions": count, "why": why, "size": usual_size(measures)})
    return {"names": sorted(products), "rows": rows, "size": usual_size(measures)}


def _portions(
    crop: Crop, grown: Grown, packed: float, eaters: int, measures: str
) -> tuple[int, str]:
    """As much as so many eat of one food in a winter, or as the garden gives, if that is less."""
    eat = A_HEAD * eaters
    size = read_quantity(usual_size(measures), "mass", measures).value
    grams = _yield(crop, grown, measures)
    gives = math.floor(grams * packed / size) if grams else eat
    if grams and gives < eat:
        return max(1, gives), "about what that planting gives"
    return eat, f"about one in two weeks for {eaters}"


def _yield(crop: Crop, grown: Grown, measures: str) -> float:
    """g that the planting gives in a season by the crop's own figures; 0 where they do not say."""
    yields = crop.yields
    if yields is None:
        return 0.0
    try:
        if grown.basis == "plants" and yields.per_plant:
            return float(yields.per_plant.value) * int(grown.amount)
        if grown.basis == "row" and yields.per_row:
            metres = read_quantity(str(grown.amount), "length", measures).value
            return float(yields.per_row.value) * metres
        if grown.basis == "area" and yields.per_area:
            square = read_quantity(str(grown.amount), "area", measures).value
            return float(yields.per_area.value) * square
    except (QuantityError, TypeError):
        return 0.0
    return 0.0
