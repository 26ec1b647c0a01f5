"""What a new kitchen file says of the sealing machine, and of what food is packed in."""

from __future__ import annotations

import json

SEALED = """\
[sealer]
kind = {kind}   # "chamber", "external", or "none"
bar = {bar}
handling = "20 s"

# The bag's width is its open mouth, which must fit on the bar."""
BY_HAND = """\
# Nothing seals in a vacuum here: zip bags and boxes are closed by hand.
[sealer]
kind = "none"   # or "chamber" or "external", with its bar = "12 in"

# Zip bags: width and length of the empty bag below its zip. Boxes and jars with a lid: the
# volume to the brim, whether the mouth is "wide" or "narrow", and the height inside where you
# know it (height = "4 in"). Food freezes too slowly in more than half a gallon, and no glass goes
# into the freezer but jars made for it."""
IN_STOCK = """\
# A line like in_stock = 40 says how many of a size lie there on the day you plan. Plans count
# the {packs} of the sessions still ahead, so count yours again, and mend the line, before
# you plan anew or buy."""

POUCH = '[[pouch]]\nname = "{}"\nwidth = "{:g} in"\nlength = "{} in"\nfilm = "3 mil"\n'
POUCHES = (("half pint", 6.0, 8), ("pint", 6.0, 10), ("quart", 8.0, 12), ("large", 10.0, 13))
"""Bag sizes as sold, in inches (common practice, no source)."""
ZIP_BAG = '[[pouch]]\nname = "{}"\nkind = "zip bag"\nwidth = "{}"\nlength = "{}"\n'
BOX = '[[pouch]]\nname = "{}"\nkind = "box"\nvolume = "{}"\nmouth = "wide"\n'
ZIP_BAGS = {
    False: (("pint bag", "6.5 in", "5.5 in"), ("quart bag", "7 in", "7.5 in"),
            ("gallon bag", "10.5 in", "10 in")),
    True: (("small bag", "17 cm", "16 cm"), ("middle bag", "20 cm", "22 cm"),
           ("large bag", "27 cm", "26 cm")),
}  # fmt: skip
"""Freezer bags as sold with US measures, and elsewhere, below the zip (from memory)."""
BOXES = {
    False: (("pint box", "1 US pint"), ("quart box", "1 US qt")),
    True: (("half-litre box", "0.5 L"), ("litre box", "1 L")),
}
"""Freezer boxes as sold with US measures, and elsewhere (common practice, no source)."""


def packs_text(kind: str, bar: str | None, bar_inches: float, *, litres: bool) -> str:
    """The tables of the machine and its pouches, or without a `bar` of bags and boxes, in `litres`
    or in pints and quarts."""
    if bar is None:
        zips = (ZIP_BAG.format(*size) for size in ZIP_BAGS[litres])
        tables = [*zips, *(BOX.format(*size) for size in BOXES[litres])]
        head, packs = BY_HAND, "bags and boxes"
    else:
        fitting = [size for size in POUCHES if size[1] <= bar_inches]
        tables = [POUCH.format(*size) for size in fitting or [("pint", bar_inches, 10)]]
        # JSON's escapes are TOML's, for what a person types as a length.
        head, packs = SEALED.format(kind=json.dumps(kind), bar=json.dumps(bar)), "pouches"
    return "\n".join([head, IN_STOCK.format(packs=packs), "\n".join(tables)])
