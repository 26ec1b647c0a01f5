"""Containers: what goes in, how thick they lie, which one to take, how pouches sit on the bar.

Pouches and zip bags lie flat; what is rigid is reckoned in `boxes`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from harvestplan.inputs.crops import Product
from harvestplan.inputs.season_kitchen import PackKind, Pouch, Sealer
from harvestplan.kitchen import boxes

SIDE_SEAL = 0.010
BOTTOM_SEAL = 0.010
FREE_MOUTH = 0.060
"""Seals and free mouth in m (from memory; manuals ask for 50 to 75 mm free)."""
ZIP_EDGE = 0.003
"""Welds at the sides of a zip bag, m (from memory)."""
ZIP_HEAD = boxes.INCH
"""Head space in a zip bag that lies flat, below its zip, m: an inch (preserving-beans)."""
ZIP_FILL = 3 * boxes.INCH
"""Zip bags are filled to 3 in below the top, m (preserving-beans: 3 to 4 in)."""
ZIP_FILM = 70e-6
"""Film of a freezer bag, m, where its pack does not say (from memory)."""
FLAT = 0.025
"""Thickness up to which a pack counts as flat for freezing, m."""
FILL_CAP = 0.75
"""Never more than three quarters of the largest volume (equipment practice)."""
LIQUID_CAP = 0.50
"""Liquids half full, lying flat (common practice, no source)."""
EVACUATED = 0.87
"""Volume of loose pieces once the air is out: 10-20 % denser (from memory)."""
BOX = 0.93
"""Share of its own box a flat pack fills (0.91-0.97 computed)."""
GAPS = 1.15
"""Gaps between packs and on shelves (planning value, 1.1 to 1.2)."""


def usable(pouch: Pouch) -> tuple[float, float]:
    """Film width and length that food may take up, m: inside seals and free mouth of a pouch, below
    the head space of a zip bag; nothing of a box, which does not lie flat."""
    width, length = pouch.width or 0.0, pouch.length or 0.0
    if pouch.kind == "zip bag":
        return width - 2 * ZIP_EDGE, length - ZIP_HEAD
    return width - 2 * SIDE_SEAL, length - BOTTOM_SEAL - FREE_MOUTH


def flat_volume(pouch: Pouch, thickness: float) -> float:
    """Volume in mL of the pouch lying flat, `thickness` m thick, with half-round edges.

    V = a b t + (π t²/4)(a + b) + π t³/6 with a = W - π t/2, b = L - π t/2: the film does not
    stretch (rounded-edge slab, own derivation; ±10 %). Up to t = 2 W / π, where the short side is
    a half round: beyond it a and b are taken as 0, and `largest_volume` bounds the fill.
    """
    width, length = usable(pouch)
    a = max(0.0, width - math.pi * thickness / 2)
    b = max(0.0, length - math.pi * thickness / 2)
    cubic_metres = (
        a * b * thickness + math.pi * thickness**2 / 4 * (a + b) + math.pi * thickness**3 / 6
    )
    return cubic_metres * 1e6


def largest_volume(pouch: Pouch) -> float:
    """Greatest volume in mL of the sealed rectangular bag.

    Robin (2004), "paper bag problem": V = w³ (h/(π w) - 0.142 (1 - 10^(-h/w))), w ≤ h, for film
    that bends but does not stretch; 0 where the seals leave nothing. Bags are sold by a nominal
    volume about 0.6 of it.
    """
    return _fullest(*usable(pouch))


def _fullest(width: float, length: float) -> float:
    short, long = sorted((width, length))
    if short <= 0:
        return 0.0
    ratio = long / short
    return short**3 * (ratio / math.pi - 0.142 * (1 - 10**-ratio)) * 1e6


def capacity(pouch: Pouch, product: Product) -> float:
    """What it may hold of the product, mL: flat for the freezer, head space kept.

    Three quarters of the largest volume, or as much as fills a zip bag to 3 in below its top; half
    for what flows, and no thicker than `FLAT` for the freezer (equipment practice and common
    practice, no source). Of a box what its head space leaves.
    """
    if pouch.kind == "box":
        return boxes.room(pouch, product)
    cap = FILL_CAP * largest_volume(pouch)
    if pouch.kind == "zip bag":
        width, length = usable(pouch)
        cap = _fullest(width, length + ZIP_HEAD - ZIP_FILL)
    if product.texture in ("liquid", "puree"):
        cap = min(cap, LIQUID_CAP * largest_volume(pouch))
    if product.storage == "freezer":
        cap = min(cap, flat_volume(pouch, FLAT))
    return cap


def content_volume(product: Product, grams: float, pouch: Pouch | None = None) -> float:
    """Volume in mL that `grams` of the product take up in the pouch, evacuated where none is named.

    Loose pieces and leaves settle to 0.87 of their loose volume in a vacuum (from memory, 0.8 to
    0.9), and stay as they are in what hands close.
    """
    loose = product.texture in ("pieces", "leaf") and not (pouch and pouch.by_hand)
    return grams / product.density.value * (EVACUATED if loose else 1.0)


def film_volume(pouch: Pouch) -> float:
    """Volume of the bag's own film, both sides, mL."""
    return 2 * (pouch.width or 0.0) * (pouch.length or 0.0) * (pouch.film or ZIP_FILM) * 1e6


def space(pouch: Pouch, product: Product, grams: float) -> int:
    """Freezer space in mL for one pouch: fill and film, boxed, with gaps; rounded up.

    V/0.93 for the box around a flat pack (computed), times 1.15 for gaps (planning value). A rigid
    box takes its whole outside, however full it is.
    """
    if pouch.kind == "box":
        return math.ceil(boxes.outside(pouch) * GAPS)
    filled = content_volume(product, grams, pouch) + film_volume(pouch)
    return math.ceil(filled / BOX * GAPS)


def thickness(pouch: Pouch, volume: float) -> float:
    """Thickness in m, to 80 mm, at which the pouch holds `volume` mL: `flat_volume` bisected; the
    shorter way through a box."""
    if pouch.kind == "box":
        return boxes.least_width(pouch, volume)
    low, high = 0.0, 0.08
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (low, middle) if flat_volume(pouch, middle) >= volume else (middle, high)
    return high


def footprint(pouch: Pouch, volume: float) -> int:
    """Area in mm² the filled pouch takes on a tray, laid flat; rounded up: (a + t)(b + t) of the
    rounded-edge slab of `flat_volume`. A box stands on its floor."""
    if pouch.kind == "box":
        return boxes.floor(pouch)
    thick = thickness(pouch, volume)
    width, length = usable(pouch)
    shrink = math.pi * thick / 2 - thick
    return math.ceil((width - shrink) * (length - shrink) * 1e6)


def fits_machine(pouch: Pouch, sealer: Sealer | None) -> bool:
    """The mouth lies on the bar; the bag lies inside the chamber, if its size is known. What hands
    close fits every kitchen; a pouch fits none without a machine."""
    if pouch.by_hand:
        return True
    if sealer is None or (pouch.width or 0.0) > sealer.bar + 1e-9:
        return False
    if sealer.kind == "chamber" and sealer.chamber:
        return (pouch.length or 0.0) <= sealer.chamber[0] + 1e-9
    return True


def per_cycle(pouch: Pouch, sealer: Sealer | None) -> int:
    """Pouches sealed at once: side by side on the bar (common practice, no source).

    Two 6-inch pouches lie on a 12-inch bar; an external machine seals one, and hands close one at
    a time.
    """
    if pouch.by_hand or pouch.width is None or sealer is None or sealer.kind == "external":
        return 1
    return max(1, math.floor(sealer.bar / pouch.width + 1e-9))


@dataclass(frozen=True)
class Packing:
    """How a portion of a product is packed. Space mL, footprint mm², thickness m; `sides` is how
    many times sooner it freezes than a flat pack as thick (`boxes.sides`)."""

    pouch: Pouch
    portion_grams: int
    per_cycle: int
    space: int
    footprint: int
    thickness: float
    sides: float = 1.0


def choose_packing(
    product: Product, portion_grams: int, pouches: Sequence[Pouch], *, sealer: Sealer | None
) -> Packing | None:
    """The container that serves best, or None: by kind (`_kinds`), then the smallest by film area
    or volume, then by name."""
    kinds = _kinds(product, sealer)

    def rank(pouch: Pouch) -> tuple[int, float, str]:
        size = (pouch.width or 0.0) * (pouch.length or 0.0) or (pouch.volume or 0.0)
        return kinds.index(pouch.kind), size, pouch.name

    for pouch in sorted(pouches, key=rank):
        volume = content_volume(product, portion_grams, pouch)
        if fits_machine(pouch, sealer) and capacity(pouch, product) >= volume:
            return Packing(
                pouch=pouch,
                portion_grams=portion_grams,
                per_cycle=per_cycle(pouch, sealer),
                space=space(pouch, product, portion_grams),
                footprint=footprint(pouch, volume),
                thickness=thickness(pouch, volume),
                sides=boxes.sides(pouch, volume) if pouch.kind == "box" else 1.0,
            )
    return None


def _kinds(product: Product, sealer: Sealer | None) -> tuple[PackKind, ...]:
    """Kinds of containers, best first (common practice, no source).

    What flows stands best in a box: it boils in a chamber, and an external machine draws it in. All
    else lies flat, where there is a machine in its pouch.
    """
    drawn_in = product.texture == "puree" and (sealer is None or sealer.kind == "external")
    if product.texture == "liquid" or drawn_in:
        return ("box", "pouch", "zip bag")
    return ("pouch", "zip bag", "box")
