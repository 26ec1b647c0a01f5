"""Rigid boxes and jars: how much head space food wants as it freezes, and what room is left.

Food swells by up to a tenth as its water turns to ice. Without head space it lifts the lid or
breaks the glass.
"""

from __future__ import annotations

import math

from harvestplan.inputs.crops import Product
from harvestplan.inputs.season_kitchen import Mouth, Pouch

INCH = 0.0254
PINT = 600.0
"""mL up to which a container counts as a pint, above it as a quart: a UK pint and half a litre are
pints (own judgement; the table knows pints and quarts alone)."""
LARGEST = 1893.0
"""mL, half a US gallon: in larger ones fruit and vegetables freeze too slowly (nchfp-containers;
USDA AIB 410 says the same)."""
SWELLING = 1.09
"""Volume of ice over that of its water (physics, from memory)."""
WALL = 0.002
"""Walls of a freezer box, m (from memory)."""
JAR_SHAPE = 2.0
"""A jar with a narrow mouth is twice as high as wide, a box as high as wide, where nobody says how
high it is (own judgement: a low one loses most to its head space)."""

# Pint and quart, in inches: NCHFP, headspace to allow between packed food and closure.
_LIQUID_PACK: dict[Mouth, tuple[float, float]] = {"wide": (0.5, 1.0), "narrow": (0.75, 1.5)}
_JUICE: dict[Mouth, tuple[float, float]] = {"wide": (0.5, 1.0), "narrow": (1.5, 1.5)}
_DRY_PACK: dict[Mouth, tuple[float, float]] = {"wide": (0.5, 0.5), "narrow": (0.5, 0.5)}


def head_space(box: Pouch, product: Product) -> float:
    """Head space in m that the product wants in a box; 0 where it does not freeze in it.

    The published table (nchfp-headspace) by pint or quart and by width of mouth: what flows as a
    juice, purée as crushed fruit, all else as packed dry.
    """
    if product.storage != "freezer" or box.mouth is None:
        return 0.0
    table = _DRY_PACK
    if product.texture == "liquid":
        table = _JUICE
    elif product.texture == "puree":
        table = _LIQUID_PACK
    return table[box.mouth][(box.volume or 0.0) > PINT] * INCH


def inside(box: Pouch) -> tuple[float, float]:
    """Width and height inside, m, of a square box that holds its volume to the brim."""
    cubic_metres = (box.volume or 0.0) / 1e6
    shape = JAR_SHAPE if box.mouth == "narrow" else 1.0
    height = box.height or (cubic_metres * shape**2) ** (1 / 3)
    return math.sqrt(cubic_metres / height), height


def room(box: Pouch, product: Product) -> float:
    """What a box may hold of the product, mL: head space kept, and what flows has room to swell.

    Nothing that is to be frozen in a box of more than half a gallon (nchfp-containers).
    """
    whole = box.volume or 0.0
    if product.storage == "freezer" and whole > LARGEST + 1:
        return 0.0
    _, height = inside(box)
    left = whole * max(0.0, 1 - head_space(box, product) / height)
    flows = product.storage == "freezer" and product.texture in ("liquid", "puree")
    return min(left, whole / SWELLING) if flows else left


def outside(box: Pouch) -> float:
    """Volume of a closed box with its walls, mL, however full it is (geometry)."""
    width, height = inside(box)
    return (width + 2 * WALL) ** 2 * (height + 2 * WALL) * 1e6


def floor(box: Pouch) -> int:
    """Area in mm² that it stands on; rounded up."""
    width, _ = inside(box)
    return math.ceil((width + 2 * WALL) ** 2 * 1e6)


def least_width(box: Pouch, volume: float) -> float:
    """The shortest way through `volume` mL of food in it, m: across, or from below to the top
    (geometry)."""
    width, height = inside(box)
    return min(width, height * volume / (box.volume or math.inf))


def sides(box: Pouch, volume: float) -> float:
    """Seconds in which a slab as thick as the shortest way through it freezes, over its food's own.

    1 + d/b + d/c for a brick of d ≤ b ≤ c: its surface over that of the slab (geometry), which is
    what counts where the air film rules, as in a household freezer.
    """
    width, height = inside(box)
    ways = sorted((width, width, height * volume / (box.volume or math.inf)))
    return 1 + ways[0] / ways[1] + ways[0] / ways[2]
