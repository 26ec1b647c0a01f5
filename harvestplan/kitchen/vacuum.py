"""The vacuum chamber: how long the pump takes, and what food too warm for it does."""

from __future__ import annotations

import math
from typing import Literal

from harvestplan.kitchen.sealing import CHILL_LIMIT
from harvestplan.kitchen.water import saturation_temperature

END_PRESSURE = 1000.0
"""Pressure in Pa at which a household chamber ends, 99 % of the air out (planning value)."""
LOWEST_PRESSURE = 200.0
"""Pressure in Pa a small oil pump reaches at best (planning value, from memory)."""
REFUSE_ABOVE = 10.0
"""Moist food warmer than this, °C, boils over: water boils at 7 °C at 10 mbar (IAPWS R7-97).
Makers' manuals ask for 3 °C, since steam spoils the pump's oil."""
EVAPORATION_HEAT = 2_470_000.0
"""Heat of evaporation of water near 10 °C, J/kg (steam tables, from memory)."""

Verdict = Literal["refuse", "warn", "fine"]


def pump_down_seconds(
    volume: float, speed: float, start: float, end: float, lowest: float = 0.0
) -> float:
    """Seconds to pump a chamber of `volume` mL from `start` to `end` Pa.

    t = (V/S) ln((p0 - pu)/(p1 - pu)) with the pump's `speed` S in mL/s and its `lowest` pressure
    pu (vacuum technology texts). S falls near pu, so measured times are 20 to 50 % longer (from
    memory). The food's own volume is not part of `volume`.

    Raises ValueError where the pump never reaches `end`.
    """
    if not lowest < end <= start:
        raise ValueError(f"a pump that reaches {lowest} Pa cannot go from {start} to {end} Pa")
    return volume / speed * math.log((start - lowest) / (end - lowest))


def boils_above(pressure: float = END_PRESSURE) -> float:
    """Temperature in °C above which moist food boils in the chamber at `pressure` in Pa.

    `water.saturation_temperature` (IAPWS R7-97), from 611 Pa on; salt and sugar raise it a little.
    """
    return saturation_temperature(pressure)


def judge_temperature(temperature: float, moist: bool) -> Verdict:
    """Whether food at `temperature` °C may go into the chamber; dry food always may.

    Warned above 5 °C, refused above 10 °C: water boils at 7 °C at 10 mbar (IAPWS R7-97).
    """
    if not moist or temperature <= CHILL_LIMIT:
        return "fine"
    return "refuse" if temperature > REFUSE_ABOVE else "warn"


def boiled_off(specific_heat: float, start: float, end: float) -> float:
    """Share of its mass that food loses as steam when boiling cools it from `start` to `end` °C.

    x = c (T0 - T1) / h_fg with c in J/(kg K), heat balance, textbook; for losses of a few percent,
    between 0 and 40 °C.
    """
    return max(0.0, specific_heat * (start - end) / EVAPORATION_HEAT)
