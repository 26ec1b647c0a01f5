"""The sealing machine: what a cycle takes and the settings to start from."""

from __future__ import annotations

import math
from dataclasses import dataclass

from harvestplan.inputs.crops import Product
from harvestplan.inputs.season_kitchen import Pouch, Sealer

BAR_COOL = 3.0
VENT = 3.0
"""Seconds the bar cools and the chamber fills again (from memory)."""
CHILL_LIMIT = 5.0
"""Moist food goes into the chamber at 5 °C or colder: water boils at 7 °C at 10 mbar
(IAPWS saturation curve)."""


@dataclass(frozen=True)
class CycleSettings:
    """Starting values in s for one cycle; `note` says what to watch."""

    pump_down: float
    seal: float
    note: str

    def seconds(self, sealer: Sealer, pouches: int) -> float:
        """Length of one cycle with `pouches` in the chamber, handling included."""
        return self.pump_down + self.seal + BAR_COOL + VENT + sealer.handling * pouches

    def machine_seconds(self) -> float:
        """Running time the cycle adds to the machine's service clock."""
        return self.pump_down + self.seal + BAR_COOL + VENT


def settings_for(product: Product, pouch: Pouch) -> CycleSettings:
    """Pump-down by texture (common practice, no source), seal time by film (from memory).

    A purée that holds air foams at a long pump-down and wants a short one; the same food as a
    soup stands a longer one.
    """
    if product.foams:
        pump, note = 12.0, "short pump-down: it foams; stop when bubbles rise towards the bar"
    elif product.texture == "liquid":
        pump, note = 22.0, "lay the pouch flat, half full; stop when it starts to bubble"
    elif product.texture == "dry":
        pump, note = 35.0, "pad sharp pieces; keep powders in their own bag"
    else:
        pump, note = 30.0, "dry surface and a clean, dry mouth"
    return CycleSettings(pump_down=pump, seal=seal_seconds(pouch.film or 0.0), note=note)


def seal_seconds(film: float) -> float:
    """Seal time in s for a film thickness in m: 2 s at 3 mil, half a second more per mil.

    From memory, for laminated bags of 2 to 6 mil; bounded to 1.5 to 3.5 s. The machine's own
    manual comes first.
    """
    mil = film / 25.4e-6
    return min(3.5, max(1.5, 2.0 + 0.5 * (mil - 3)))


def cycles(pouches: int, per_cycle: int) -> int:
    """Closings of the machine for `pouches`, `per_cycle` at a time, rounded up."""
    return math.ceil(pouches / per_cycle)
