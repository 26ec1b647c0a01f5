"""Foods that people count: "a dozen ears", "2 courgettes"; which, and what one weighs, the crop
files say."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import TYPE_CHECKING

from harvestplan.inputs.counted_food import CountedFood

if TYPE_CHECKING:
    from harvestplan.inputs.season import Measures

MOST = 30
"""Pieces up to which a pick is counted."""
_SAID = re.compile(
    r"(?P<count>\d{1,4}(?:\.\d)?(?: [13]/[24])?|[13]/[24])"
    r"(?: (?:(?:big|large|small|medium|good|fine|whole) )?(?P<of>[a-z]+))?"
)


def pieces(grams: float, food: CountedFood | None, measures: Measures) -> str:
    """How many of them that is: "8 ears", "1 1/2 dozen ears"; empty where people would not count,
    or where it is less than one."""
    if food is None or not food.told:
        return ""
    count = round(grams / food.grams)
    if not 1 <= count <= MOST:
        return ""
    name = food.named(count, measures)
    if food.dozens and count >= 12:
        dozens = Fraction(round(count / 6), 2)
        whole = f"{int(dozens)} " if dozens >= 1 else ""
        half = f"{dozens % 1} " if dozens % 1 else ""
        return f"a dozen {name}" if dozens == 1 else f"{whole}{half}dozen {name}"
    return f"{count} {name}"


def in_pieces(grams: float, food: CountedFood | None, measures: Measures) -> str:
    """To stand behind an amount: " (8 ears)"; empty where `pieces` is."""
    count = pieces(grams, food, measures)
    return f" ({count})" if count else ""


def counted(said: str, food: CountedFood | None) -> tuple[float, bool] | None:
    """Of words whose numbers stand in figures, like "12 ears": the mass in g, and whether they name
    the pieces; None where they tell none of this food.

    "4" alone may be pieces, or a unit may be missing.
    """
    found = _SAID.fullmatch(said)
    if food is None or found is None:
        return None
    last = {word.rpartition(" ")[2] for word in (food.one, food.many, *(food.american or ()))}
    last |= {"piece", "pieces", "cob", "cobs"} if food.one == "ear" else {"piece", "pieces"}
    if found["of"] and found["of"] not in last:
        return None
    count = sum(Fraction(part) for part in found["count"].split())
    return (float(count) * food.grams, bool(found["of"])) if count else None
