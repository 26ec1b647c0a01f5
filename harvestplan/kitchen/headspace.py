"""Head space in rigid containers: food swells as it freezes."""

from __future__ import annotations

from typing import Literal

INCH = 0.0254

Pack = Literal["liquid", "dry", "juice"]
"""Liquid pack: fruit in juice, sugar, syrup or water, crushed fruit, purée. Dry pack: fruit or
vegetables without added sugar or liquid."""
Mouth = Literal["wide", "narrow"]
Size = Literal["pint", "quart"]

HEAD_SPACE: dict[tuple[Pack, Mouth, Size], float] = {
    ("liquid", "wide", "pint"): 0.5 * INCH,
    ("liquid", "wide", "quart"): 1.0 * INCH,
    ("liquid", "narrow", "pint"): 0.75 * INCH,
    ("liquid", "narrow", "quart"): 1.5 * INCH,
    ("dry", "wide", "pint"): 0.5 * INCH,
    ("dry", "wide", "quart"): 0.5 * INCH,
    ("dry", "narrow", "pint"): 0.5 * INCH,
    ("dry", "narrow", "quart"): 0.5 * INCH,
    ("juice", "wide", "pint"): 0.5 * INCH,
    ("juice", "wide", "quart"): 1.0 * INCH,
    ("juice", "narrow", "pint"): 1.5 * INCH,
    ("juice", "narrow", "quart"): 1.5 * INCH,
}
"""Between food and closure, m (nchfp-headspace: National Center for Home Food Preservation,
Headspace to allow between packed food and closure, 2006; seen). Loose vegetables that leave air
between the pieces, such as asparagus and broccoli, need none; evacuated flat pouches give way."""


def head_space(pack: Pack, mouth: Mouth, size: Size) -> float:
    """Head space in m for a straight or wide-mouthed or a narrow container of a US size."""
    return HEAD_SPACE[pack, mouth, size]
