"""Formulas that the program does without, to hold those against that it reckons with.

They are held to published worked examples themselves.
"""

from __future__ import annotations

import math

from harvestplan.kitchen.freezing_time import (
    FROZEN_THROUGH,
    Composition,
    FreezingFood,
)
from harvestplan.kitchen.heat import ICE_LATENT_HEAT, Shape
from harvestplan.kitchen.water import saturation_temperature

FAN_AIR = 15.0
"""Surface coefficient in W/(m² K) in a cabinet with a fan (from memory)."""

# Plank's P and R for a slab cooled on both faces, a long cylinder and a sphere.
_PLANK: dict[Shape, tuple[float, float]] = {
    "slab": (1 / 2, 1 / 8),
    "cylinder": (1 / 4, 1 / 16),
    "sphere": (1 / 6, 1 / 24),
}


def latent_heat(water_share: float) -> float:
    """Heat of freezing of a food in J/kg: 334 kJ for each kg of its water.

    Gives the values of ASHRAE Refrigeration 2006, ch. 9, table 3. All water counted, though a part
    never freezes: a few percent too much for dry foods, the slow side.
    """
    return ICE_LATENT_HEAT * water_share


def from_composition(food: Composition) -> FreezingFood:
    """Unfrozen at 5 °C, frozen at -10 °C."""
    return FreezingFood(
        density=food.density(5.0),
        frozen_density=food.density(FROZEN_THROUGH),
        heat=food.specific_heat(5.0),
        frozen_heat=food.specific_heat(FROZEN_THROUGH),
        latent=latent_heat(food.water),
        frozen_conductivity=food.conductivity(FROZEN_THROUGH),
        freezing_point=food.freezing_point,
    )


def wrapped(surface: float, *layers: tuple[float, float]) -> float:
    """Surface coefficient in W/(m² K) through wrappings: 1/h' = 1/h + sum of x/k.

    `layers` are pairs of thickness x in m and conductivity k in W/(m K).

    Resistances in series, textbook, for layers thin against the pack.
    """
    return 1 / (1 / surface + sum(thick / conductivity for thick, conductivity in layers))


def plank_seconds(
    shape: Shape, size: float, food: FreezingFood, air: float, surface: float
) -> float:
    """Plank (1913): seconds from the freezing point to frozen, nothing cooled before or after.

    t = rho L / (Tf - Ta) (P a/h + R a²/k); `size` a is the slab's thickness or the diameter.
    10 to 15 % short for packs that start at 5 °C. `food.density` is the density used. Any size
    and surface; heat of freezing must rule, as in moist foods.

    Raises ValueError where the air is no colder than the freezing point.
    """
    p, r = _PLANK[shape]
    drive = food.freezing_point - air
    if drive <= 0:
        raise ValueError(f"air at {air:g} °C does not freeze this food")
    path = p * size / surface + r * size**2 / food.frozen_conductivity
    return food.density * food.latent / drive * path


def cleland_earle_seconds(
    thickness: float,
    food: FreezingFood,
    air: float,
    surface: float,
    start: float,
    centre: float = FROZEN_THROUGH,
) -> float:
    """Cleland & Earle (1979): seconds for a slab from `start` °C to `centre` °C in the middle.

    Plank's formula with P and R fitted to the Plank and Stefan numbers (constants from memory);
    5 to 9 % below a numerical solution for packs of 20 to 40 mm. For air of -45 to -15 °C (range
    from memory).

    Raises ValueError where the centre never gets so cold.
    """
    if centre <= air or air >= FROZEN_THROUGH:
        raise ValueError(f"in air at {air:g} °C the centre never reaches {centre:g} °C")
    point, k = food.freezing_point, food.frozen_conductivity
    heat = food.frozen_density * food.heat_to_freeze(point, FROZEN_THROUGH)
    plank = food.density * food.heat * (start - point) / heat
    stefan = food.frozen_density * food.frozen_heat * (point - air) / heat
    p = 0.5 * (1.026 + 0.5808 * plank + stefan * (0.2296 * plank + 0.105))
    r = 0.125 * (1.202 + stefan * (3.41 * plank + 0.7336))
    tempering = 1 - 1.65 * stefan / k * math.log((centre - air) / (FROZEN_THROUGH - air))
    path = p * thickness / surface + r * thickness**2 / k
    return heat / (point - air) * path * tempering


def saturation_pressure(temperature: float) -> float:
    """Vapour pressure of water in Pa at which `saturation_temperature` gives `temperature` in °C,
    bisected."""
    low, high = 611.3, 22.0e6
    for _ in range(100):
        middle = math.sqrt(low * high)
        cooler = saturation_temperature(middle) < temperature
        low, high = (middle, high) if cooler else (low, middle)
    return high
