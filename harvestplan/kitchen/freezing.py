"""What a freezer can take in a day."""

from __future__ import annotations

from harvestplan.inputs.season import Freezer

POUNDS_PER_CUBIC_FOOT = 453.59237 / 28316.846592 * 2
"""2 lb per cubic foot in 24 h, the cautious end of 2 to 3 (USDA AIB 410; Univ. of Minnesota
Extension), as g/mL."""


def freezing_limit(freezer: Freezer) -> int:
    """Mass in g a freezer may take in any 24 hours: declared, or the rule per volume."""
    if freezer.freezing_per_day is not None:
        return int(freezer.freezing_per_day)
    return int(POUNDS_PER_CUBIC_FOOT * freezer.volume)
