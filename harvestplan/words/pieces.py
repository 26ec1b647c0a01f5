"""Foods that people count: "a dozen ears", "2 courgettes".

What a medium one weighs as it is picked. Sources: `KY_AP` of the crop files (ears in husk, 7 lb the
dozen); the others from the household weights of USDA's Standard Reference (`SRW`), each of the
portion named "medium", or of the whole vegetable where there is no medium. Those marked mem were
not seen there, but taken from memory.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from harvestplan.inputs.season import Measures


@dataclass(frozen=True)
class CountedFood:
    """One of a food: what it weighs in g, what one and many are called."""

    grams: float
    one: str
    many: str
    american: tuple[str, str] | None = None
    """The same with US measures, where the word differs by country."""

    def named(self, count: float, measures: Measures) -> str:
        """One or many of it: "ear", "ears"."""
        one, many = self.american if self.american and measures == "US" else (self.one, self.many)
        return one if count <= 1 else many


PIECES = {
    "sweet corn": CountedFood(265, "ear", "ears"),
    "tomato": CountedFood(123, "tomato", "tomatoes"),
    "pepper": CountedFood(119, "pepper", "peppers"),
    "cucumber": CountedFood(301, "cucumber", "cucumbers"),
    "summer squash": CountedFood(196, "courgette", "courgettes", ("zucchini", "zucchini")),  # mem
    "eggplant": CountedFood(548, "aubergine", "aubergines", ("eggplant", "eggplants")),  # mem
    "cabbage": CountedFood(908, "head", "heads"),
    "cauliflower": CountedFood(588, "head", "heads"),
    "kohlrabi": CountedFood(150, "kohlrabi", "kohlrabi"),  # mem
    "apple": CountedFood(182, "apple", "apples"),  # mem
    "pear": CountedFood(178, "pear", "pears"),  # mem
    "peach": CountedFood(150, "peach", "peaches"),  # mem
    "onion": CountedFood(110, "onion", "onions"),
    "potato": CountedFood(213, "potato", "potatoes"),
    "carrot": CountedFood(61, "carrot", "carrots"),
    "turnip": CountedFood(122, "turnip", "turnips"),
}
"""By crop. Those whose sizes differ by more than half, like squashes that keep, are left out."""
BY_DOZEN = frozenset({"sweet corn"})
TOLD = frozenset({"sweet corn", "cucumber", "summer squash", "eggplant", "cabbage", "cauliflower",
                  "pepper", "kohlrabi"})  # fmt: skip
"""Those of which a small pick is told by the piece; of the others people say pounds."""
MOST = 30
"""Pieces up to which a pick is counted."""
_SAID = re.compile(
    r"(?P<count>\d{1,4}(?:\.\d)?(?: [13]/[24])?|[13]/[24])"
    r"(?: (?:(?:big|large|small|medium|good|fine|whole) )?(?P<of>[a-z]+))?"
)


def pieces(grams: float, crop: str, measures: Measures) -> str:
    """How many of them that is: "8 ears", "1 1/2 dozen ears"; empty where people would not count,
    or where it is less than one."""
    piece = PIECES.get(crop)
    count = round(grams / piece.grams) if piece else 0
    if piece is None or crop not in TOLD or not 1 <= count <= MOST:
        return ""
    name = piece.named(count, measures)
    if crop in BY_DOZEN and count >= 12:
        dozens = Fraction(round(count / 6), 2)
        whole = f"{int(dozens)} " if dozens >= 1 else ""
        half = f"{dozens % 1} " if dozens % 1 else ""
        return f"a dozen {name}" if dozens == 1 else f"{whole}{half}dozen {name}"
    return f"{count} {name}"


def in_pieces(grams: float, crop: str, measures: Measures) -> str:
    """To stand behind an amount: " (8 ears)"; empty where `pieces` is."""
    count = pieces(grams, crop, measures)
    return f" ({count})" if count else ""


def counted(said: str, crop: str) -> tuple[float, bool] | None:
    """Of words whose numbers stand in figures, like "12 ears": the mass in g, and whether they name
    the pieces; None where they tell none of this crop.

    "4" alone may be pieces, or a unit may be missing.
    """
    piece, found = PIECES.get(crop), _SAID.fullmatch(said)
    if piece is None or found is None:
        return None
    last = {word.rpartition(" ")[2] for word in (piece.one, piece.many, *(piece.american or ()))}
    last |= {"piece", "pieces", "cob", "cobs"} if crop == "sweet corn" else {"piece", "pieces"}
    if found["of"] and found["of"] not in last:
        return None
    count = sum(Fraction(part) for part in found["count"].split())
    return (float(count) * piece.grams, bool(found["of"])) if count else None
