"""Amounts in the measure in which the household gave them: a want's cups, a purchase's gallons."""

from __future__ import annotations

from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.words import crop_many, in_pieces, liquid, mass, volume


def packed_words(product: str, grams: float, season: Season, library: Library) -> str:
    """What is in a pouch: "2 cups" where portions of that were wanted, else by weight."""
    measures, found = season.household.measures, library.find_product(product)
    if found is None:
        return mass(grams, measures)
    for want in season.want:
        if want.portion.kind == "volume" and library.find_product(want.product) == found:
            return volume(grams / found[1].density.value, measures)
    return mass(grams, measures)


def raw_words(crop: str, grams: float, season: Season, library: Library) -> str:
    """Raw food as it was bought: "2 gal", else by weight."""
    measures, found = season.household.measures, library.find_crop(crop)
    for bought in season.bought:
        of = library.find_crop(bought.item.partition(",")[0])
        if found is not None and bought.amount.kind == "volume" and of is found:
            return liquid(grams / found.raw_density.value, measures)
    return mass(grams, measures)


def raw_food(crop: str, grams: float, season: Season, library: Library) -> str:
    """Like "2 gal apple cider", "3 1/2 lb sweet corn (6 ears)"."""
    count = in_pieces(grams, library.counted(crop), season.household.measures)
    return f"{raw_words(crop, grams, season, library)} {crop_many(crop)}{count}"
