"""Ice: what takes the heat out of a potful or a pan, and what it costs the freezer to make it."""

from __future__ import annotations

import math

from harvestplan.kitchen.freezing_time import FreezingFood
from harvestplan.kitchen.heat import ICE_HEAT, ICE_LATENT_HEAT, WATER_HEAT, ice_per_mass

MELT = 1.2
"""A fifth more for what the bath, its walls and the room melt (planning value)."""
COOLED = 4.0
"""Temperature in °C to which blanched food is cooled."""
TAP, FREEZER = 15.0, -18.0
"""Water before it is made to ice, and the ice made of it, °C (planning values)."""
ICE_DENSITY, CUBES = 0.917, 0.6
"""Density of ice, g/mL (steam tables, from memory), and the share of a bag of cubes that is ice
(common practice, no source)."""
PER_BLANCHED = 1.08
"""kg of ice at 0 °C that cool 1 kg of watery vegetables from 100 to 4 °C (heat balance,
calculated); NCHFP asks for about one to one."""
PER_CHILLED = 1.0
"""The same for purée from 95 to 5 °C (heat balance, calculated)."""


def ice_grams(grams: float, water_share: float, start: float, *, end: float) -> int:
    """Bought ice in g, wet at 0 °C, that cools `grams` of food from `start` to `end` °C.

    Heat balance of `heat.ice_per_mass` in its range, with a fifth more for what melts on its own;
    NCHFP's rule (nchfp-cooling-copy), about a pound of ice to the pound of vegetables, is near.
    """
    return math.ceil(
        MELT * grams * ice_per_mass(water_share, start, end, ice_temperature=0.0) - 1e-9
    )


def ice_space(ice: float) -> int:
    """Space in mL that `ice` g take in the freezer, as cubes in bags (planning value)."""
    return math.ceil(ice / (ICE_DENSITY * CUBES) - 1e-9)


def freezing_load(ice: float) -> float:
    """Fresh food in g that burdens the freezer as much as making `ice` g of ice in it.

    Both by the heat taken out: tap water to ice at -18 °C against watery food (nine tenths
    water) from 5 to -18 °C. A planning rule for food of 75 to 95 % water (own reckoning).
    """
    water = WATER_HEAT * TAP + ICE_LATENT_HEAT + ICE_HEAT * -FREEZER
    return ice * water / FreezingFood.from_water(0.9).heat_to_freeze(5.0, FREEZER)
