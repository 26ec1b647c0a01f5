"""What to buy in words, and each line with a key of its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from harvestplan.inputs.season import Measures, Season
from harvestplan.outputs.pack_words import pack_kind
from harvestplan.plan.models import ShoppingLine
from harvestplan.planning.shopping import by_date
from harvestplan.words import (
    at_least,
    crop_many,
    ice_mass,
    liquid,
    one_line,
    packs_called,
    plural,
    spooned,
)


def numbered(lines: Sequence[ShoppingLine]) -> list[tuple[str, ShoppingLine]]:
    """Lines by date, each with a key that stays its own when dates and amounts change."""
    seen: Counter[tuple[str, str]] = Counter()
    keyed = []
    for line in sorted(lines, key=by_date):
        seen[line.kind, line.item] += 1
        keyed.append((f"{line.kind}|{line.item}|{seen[line.kind, line.item]}", line))
    return keyed


def food_amount(line: ShoppingLine, measures: Measures) -> str:
    """How much of a food to buy: never less than is needed, by volume where it was written so."""
    if line.volume_ml is not None:
        return liquid(line.volume_ml, measures)
    return at_least(line.buy, measures)


def buy_words(line: ShoppingLine, season: Season) -> str:
    """Like "2 packs of 50 pouches 8x12", "5 1/2 lb pears", "4 tsp salt, if not in the house"."""
    measures = season.household.measures
    if line.kind == "staple":
        amount = spooned(line.buy, line.volume_ml, measures)
        return one_line(f"{amount} {line.item}, if not in the house")
    if line.kind == "ice":
        return one_line(f"{ice_mass(line.buy, measures)} {line.item}")
    if line.kind != "pouch":
        return one_line(f"{food_amount(line, measures)} {crop_many(line.item)}")
    kind = pack_kind(line.item, season)
    if line.pack is None:
        return one_line(packs_called(line.buy, kind, line.item))
    each = packs_called(line.pack, kind, line.item)
    return one_line(f"{plural(line.packs, 'pack')} of {each}")
