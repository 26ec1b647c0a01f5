"""Heat in and out of food: specific heat, how fast a piece takes it up, ice to take it out."""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from typing import Literal

WATER_HEAT = 4190.0
"""Specific heat of water, J/(kg K) (as in KöMaL physics problem P.4476, Nov 2012, seen)."""
ICE_LATENT_HEAT = 334_000.0
"""Heat of fusion of ice, J/kg; times the share of water it gives the latent heats of vegetables in
ASHRAE Refrigeration 2006, ch. 9, table 3 (seen)."""
ICE_HEAT = 2090.0
"""Specific heat of ice, J/(kg K) (steam tables, from memory)."""
DIFFUSIVITY = 1.4e-7
"""Thermal diffusivity of watery plant tissue, m²/s (from memory, not checked)."""

Shape = Literal["slab", "cylinder", "sphere"]

# First zeros of the Bessel function J0.
_J0_ZEROS = (
    2.404825557695773, 5.520078110286311, 8.653727912911013, 11.791534439014281,
    14.930917708487787, 18.071063967910924, 21.21163662987926, 24.352471530749302,
)  # fmt: skip


def specific_heat(water_share: float) -> float:
    """Specific heat of unfrozen food in J/(kg K) from its mass share of water.

    Chen (1985): c = 4.19 - 2.30 s - 0.628 s³ kJ/(kg K) with the share of solids s; within 0.3 %
    of the ASHRAE Refrigeration 2006 ch. 9 table for vegetables with 5 to 25 % solids. Above
    freezing only; dry beans and grain are an extrapolation, up to a tenth off (own judgement).

    Raises ValueError where the share is none.
    """
    if not 0 <= water_share <= 1:
        raise ValueError(f"a share of water lies between 0 and 1, not at {water_share:g}")
    solids = 1 - water_share
    return 1000 * (4.19 - 2.30 * solids - 0.628 * solids**3)


@functools.lru_cache(maxsize=65536)
def heat_taken_up(shape: Shape, size: float, seconds: float) -> float:
    """Share (0 to 1) of its final heat a piece has taken up after `seconds` in boiling water.

    `size` is a slab's thickness or a diameter in m. Series solution of conduction in a solid of
    one `DIFFUSIVITY` with the surface held at the water's temperature (Carslaw & Jaeger; any
    text on heat transfer), for watery plants in plenty of stirred water, at any time. Ends of
    cylinders and edges of slabs are neglected, so that short pieces are a little quicker.

    Raises ValueError where the size is not above 0.
    """
    if size <= 0:
        raise ValueError(f"a piece has a size, not {size:g} m")
    if seconds <= 0:
        return 0.0
    fourier = DIFFUSIVITY * seconds / (size / 2) ** 2
    if shape == "slab":
        left = sum(
            8
            / ((2 * n + 1) ** 2 * math.pi**2)
            * math.exp(-((2 * n + 1) ** 2) * math.pi**2 * fourier / 4)
            for n in range(60)
        )
    elif shape == "cylinder":
        left = sum(4 / b**2 * math.exp(-(b**2) * fourier) for b in _J0_ZEROS)
        left += _cylinder_tail(fourier)
    else:
        left = (
            6
            / math.pi**2
            * sum(math.exp(-(n**2) * math.pi**2 * fourier) / n**2 for n in range(1, 200))
        )
    return min(1.0, max(0.0, 1 - left))


def _cylinder_tail(fourier: float) -> float:
    # Higher zeros of J0 lie near (n - 1/4) pi; enough of them make the sum 1 at time zero.
    return sum(
        4 / zero**2 * math.exp(-(zero**2) * fourier)
        for zero in ((n - 0.25) * math.pi for n in range(len(_J0_ZEROS) + 1, 200))
    )


def heat_to_warm(parts: Sequence[tuple[float, float]], rise: float) -> float:
    """Heat in J that warms all parts (mass kg, specific heat J/(kg K)) by `rise` K.

    Q = sum(m c) ΔT, textbook; nothing may melt or boil on the way.
    """
    return sum(mass * heat for mass, heat in parts) * rise


def mixed_temperature(parts: Sequence[tuple[float, float, float]]) -> float:
    """Temperature in °C where parts (mass kg, specific heat J/(kg K), °C) meet, nothing lost.

    Heat balance, textbook; nothing may melt or boil on the way.
    """
    capacity = sum(mass * heat for mass, heat, _ in parts)
    return sum(mass * heat * start for mass, heat, start in parts) / capacity


def ice_per_mass(water_share: float, start: float, end: float, *, ice_temperature: float) -> float:
    """Mass of ice per mass of food to cool it from `start` to `end` °C, water leaving at `end`.

    Heat balance: x = c (T0 - T1) / (L + c_w T1 + c_ice |T_ice|); no melt loss included. Food
    above freezing, cooled to 0 °C or more, by ice at 0 °C or below.

    Raises ValueError outside that range.
    """
    if end < 0 or start < end or ice_temperature > 0:
        raise ValueError(
            f"ice at {ice_temperature:g} °C cools nothing from {start:g} to {end:g} °C"
        )
    taken = specific_heat(water_share) * (start - end)
    per_ice = ICE_LATENT_HEAT + WATER_HEAT * end + ICE_HEAT * abs(ice_temperature)
    return taken / per_ice


def still_share_left(depth: float, seconds: float) -> float:
    """Share (0 to 1) of its difference to the bath that a pan `depth` m deep has left after
    standing still for so many seconds, cooled from below alone.

    Conduction in a slab of one `DIFFUSIVITY` that is insulated on top: half of a slab twice as
    thick (`heat_taken_up`; Carslaw & Jaeger). Holds for watery purée in a pan above 0 m deep.
    """
    return 1 - heat_taken_up("slab", 2 * depth, seconds)


def stirred_cooling_seconds(depth: float, start: float, end: float, *, bath: float) -> float:
    """Seconds to cool a stirred pan `depth` m deep from `start` to `end` °C in an ice bath.

    Lumped cooling t = (rho c d / h) ln((T0-Ta)/(T1-Ta)) with rho 1030 kg/m³, c 3950 J/(kg K) and
    h = 300 W/(m² K) over both faces for a stirred ice bath (computed estimate, not measured).
    Holds for 25 to 100 mm of purée or soup kept in motion; what stands still takes many times as
    long.

    Raises ValueError where the bath is not colder than `end`.
    """
    if not bath < end <= start:
        raise ValueError(f"a bath at {bath:g} °C does not cool food from {start:g} to {end:g} °C")
    return _stirred_tau(depth) * math.log((start - bath) / (end - bath))


def stirred_to(depth: float, start: float, seconds: float, *, bath: float) -> float:
    """Temperature in °C that a stirred pan `depth` m deep comes to in so many seconds, by the
    computed estimate of `stirred_cooling_seconds`; never below the bath's."""
    return bath + (start - bath) * math.exp(-seconds / _stirred_tau(depth))


def _stirred_tau(depth: float) -> float:
    return 1030.0 * 3950.0 * depth / 300.0
