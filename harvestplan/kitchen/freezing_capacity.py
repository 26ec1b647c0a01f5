"""What a freezer can take in a day."""

from __future__ import annotations

from harvestplan.inputs.season_kitchen import Freezer

CAUTIOUS = 2.0
"""Pounds per cubic foot in 24 h: the cautious end of 2 to 3 (USDA AIB 410; Univ. of Minnesota
Extension)."""
POUNDS_PER_CUBIC_FOOT = 453.59237 / 28316.846592
"""One pound per cubic foot as g/mL."""


def limit_by_volume(volume: float, pounds_per_cubic_foot: float = CAUTIOUS) -> float:
    """Mass in g that a freezer of `volume` mL takes in 24 h by the rule per cubic foot.

    Two to three pounds (USDA AIB 410, usda-aib410; umn-load), for household freezers at 0 °F or
    colder, food spread out. The European four-star freezer takes 2.8 (EC 643/2009).
    """
    return pounds_per_cubic_foot * POUNDS_PER_CUBIC_FOOT * volume


def freezing_limit(freezer: Freezer) -> int:
    """Mass in g a freezer may take in any 24 hours: as declared by its maker or the household, or
    the USDA's rule per volume, `limit_by_volume`."""
    if freezer.freezing_per_day is not None:
        return int(freezer.freezing_per_day)
    return int(limit_by_volume(freezer.volume))
