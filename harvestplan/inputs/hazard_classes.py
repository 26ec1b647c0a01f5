"""Hazard classes: what a food may carry, whatever a household makes of it.

A crop file says `hazard = "raw meat"`; a product may add a class of its own. A file that says none
leaves its food in the strictest.
"""

from __future__ import annotations

import typing
from typing import Literal

Hazard = Literal[
    "raw meat",
    "raw ground meat",
    "raw poultry",
    "raw fish",
    "smoked fish",
    "raw mushroom",
    "raw onion kin",
    "cooked low-acid",
    "soft cheese",
    "sprouts",
    "acid fruit",
    "dry food",
    "other",
]
"""Raw ground meat: offal as well. Raw fish: shellfish as well. Smoked fish: cured and salted as
well. Raw onion kin: garlic, shallots, leeks, chives. Sprouts: of beans and seeds, not Brussels
sprouts. Other: vegetables and herbs, tomatoes among them, whose acid is not to be relied on."""

HAZARDS: tuple[Hazard, ...] = typing.get_args(Hazard)
MILD: tuple[Hazard, ...] = ("dry food", "acid fruit", "other")
"""The classes without a hazard of their own, from the mildest on."""


def stricter(own: Hazard | None, known: Hazard | None) -> Hazard | None:
    """Of what a household's file says of a food and what the library knows of it.

    Two classes that are not mild differ in kind; then the file's stands, and the food's names tell
    the other.
    """
    if own is None or known is None:
        return own or known
    if own in MILD and known in MILD:
        return max(own, known, key=MILD.index)
    return known if own in MILD else own
