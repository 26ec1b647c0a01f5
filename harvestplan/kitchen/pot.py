"""The blanching pot: how much goes in, how long until it boils again, how long it stays in."""

from __future__ import annotations

from dataclasses import dataclass

from harvestplan.inputs.crops import Piece, Step
from harvestplan.inputs.season import Pot
from harvestplan.kitchen.heat import (
    WATER_HEAT,
    heat_taken_up,
    heat_to_warm,
    mixed_temperature,
    specific_heat,
)
from harvestplan.kitchen.water import boiling_point

EFFICIENCY = {"gas": 0.40, "electric": 0.75, "induction": 0.85}
"""Burner to pot: US DOE test figures as quoted by trade pages; gas 0.32 is the pessimistic one."""
LID_LOSS = 150.0
"""Heat a lidded pot near the boil loses, W (own estimate)."""
FILL = 0.75
"""Share of the pot's volume that holds water (common practice, no source)."""
TAP_TEMPERATURE = 15.0
"""Temperature of water and food at the start, °C (planning value)."""
HIGH_ALTITUDE = 5000 * 0.3048
"""From here on blanching takes one minute more (Utah State University Extension)."""


@dataclass(frozen=True)
class Blancher:
    """One pot on its burner at one altitude. Water in mL, power in W (net, into the water)."""

    name: str
    water: float
    power: float
    boil: float
    own_batch: float | None
    one_minute: bool

    @classmethod
    def from_pot(cls, pot: Pot, altitude: float) -> Blancher:
        efficiency = pot.efficiency if pot.efficiency is not None else EFFICIENCY[pot.kind]
        return cls(
            name=pot.name,
            water=FILL * pot.volume,
            power=efficiency * pot.power - LID_LOSS,
            boil=boiling_point(altitude),
            own_batch=pot.batch,
            one_minute=pot.one_minute,
        )

    def heat_up_seconds(self) -> float:
        """From tap-cold to the boil, lid on: (m c ΔT) / P; the pot's own metal is neglected."""
        water = (self.water / 1000, WATER_HEAT)
        return heat_to_warm([water], self.boil - TAP_TEMPERATURE) / self.power

    def dip(self, grams: float, water_share: float) -> float:
        """Kelvins the boiling water falls when `grams` of food take up all their heat at once."""
        food = (grams / 1000, specific_heat(water_share), TAP_TEMPERATURE)
        return self.boil - mixed_temperature([(self.water / 1000, WATER_HEAT, self.boil), food])

    def return_seconds(self, grams: float, water_share: float, piece: Piece | None) -> float:
        """Seconds until the water boils again after `grams` of food went in.

        The water is back when the burner has caught up with what the food took:
        P t = m c (Tb - T0) phi(t). A household that timed its own batch (back within one
        minute) sets the power instead. Without a known piece phi = 1, the slow side.
        """
        heat = grams / 1000 * specific_heat(water_share) * (self.boil - TAP_TEMPERATURE)
        power = self._power_seen(water_share, piece)
        if piece is None:
            return heat / power
        low, high = 0.0, heat / power
        for _ in range(40):
            middle = (low + high) / 2
            taken = heat * heat_taken_up(piece.shape, piece.size.value, middle)
            low, high = (low, middle) if power * middle >= taken else (middle, high)
        return high

    def _power_seen(self, water_share: float, piece: Piece | None) -> float:
        if self.own_batch is None:
            return self.power
        heat = self.own_batch / 1000 * specific_heat(water_share) * (self.boil - TAP_TEMPERATURE)
        return heat * _share_in_a_minute(piece) / 60

    def one_minute_grams(self, water_share: float, piece: Piece | None) -> float:
        """The largest batch that is back at the boil within one minute, g."""
        per_gram = specific_heat(water_share) / 1000 * (self.boil - TAP_TEMPERATURE)
        return self._power_seen(water_share, piece) * 60 / (per_gram * _share_in_a_minute(piece))

    def limit_grams(self, step: Step, water_share: float) -> float:
        """The largest batch of a blanching step, g.

        The water ratio of the food (1 US gal per lb, 2 for leaves: NCHFP), or the batch the
        household measured; with `one_minute` also the one-minute batch.
        """
        assert step.water is not None
        limit = self.own_batch or self.water / step.water.value
        if self.one_minute:
            limit = min(limit, self.one_minute_grams(water_share, step.piece))
        return limit


def _share_in_a_minute(piece: Piece | None) -> float:
    return 1.0 if piece is None else heat_taken_up(piece.shape, piece.size.value, 60.0)


def blanch_seconds(step: Step, altitude: float) -> float:
    """Blanching time in s from where the step's clock starts, altitude (m) included."""
    assert step.time is not None
    return step.time.value + (60.0 if altitude >= HIGH_ALTITUDE - 1e-6 else 0.0)
