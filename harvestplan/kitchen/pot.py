"""The pot: how much goes in, how long until it boils again, how long the food stays in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from harvestplan.inputs.crops import Crop, Piece, Product, Step
from harvestplan.inputs.season import Season
from harvestplan.inputs.season_kitchen import Pot, Stove
from harvestplan.kitchen.heat import (
    WATER_HEAT,
    heat_taken_up,
    heat_to_warm,
    mixed_temperature,
    specific_heat,
)
from harvestplan.kitchen.steaming import WATER_DEPTH, layer_grams, over_steam
from harvestplan.kitchen.water import boiling_point

EFFICIENCY = {"gas": 0.40, "electric": 0.75, "induction": 0.85}
"""Burner to pot: US DOE test figures as quoted by trade pages; gas 0.32 is the pessimistic one."""
LID_LOSS = 150.0
"""Heat a lidded pot near the boil loses, W (own estimate)."""
FILL = 0.75
"""Share of the pot's volume that holds food and water (common practice, no source)."""
TAP_TEMPERATURE = 15.0
"""Temperature of water and food at the start, °C (planning value)."""
HOT_TAP = 49.0
"""Temperature of hot tap water, °C: 120 °F (US Consumer Product Safety Commission's advice for
water heaters, from memory)."""
HIGH_ALTITUDE = 5000 * 0.3048
"""From here on blanching takes one minute more (Utah State University Extension, usu-veg)."""


def burner_watts(pots: Sequence[Pot], stoves: Sequence[Stove]) -> dict[str, float]:
    """Power in W of each pot's burner when every pot of its stove is on.

    A stove's power is shared evenly, and what a weak burner cannot draw goes to the others: each
    gets min(own burner, share), the sum never exceeds the stove. So a plan holds whichever pots
    are on at once; with fewer on, the water boils sooner than planned. A pot that names no stove
    has its burner's full power.
    """
    watts = {pot.name: pot.power for pot in pots}
    for stove in stoves:
        left = stove.power
        on_it = sorted((p for p in pots if p.stove == stove.name), key=lambda pot: pot.power)
        for waiting, pot in zip(range(len(on_it), 0, -1), on_it, strict=True):
            watts[pot.name] = min(pot.power, left / waiting)
            left -= watts[pot.name]
    return watts


def blanchers(season: Season) -> tuple[Blancher, ...]:
    """The season's pots on their burners, but for those that never come to the boil."""
    altitude = season.household.altitude
    watts = burner_watts(season.pot, season.stove)
    found = (Blancher.from_pot(pot, altitude, watts[pot.name]) for pot in season.pot)
    return tuple(pot for pot in found if pot.power > 0)


@dataclass(frozen=True)
class Blancher:
    """One pot on its burner at one altitude. Water in mL, power in W (net, into the water).

    `basket` is the area in m² of its steaming basket, None without one; `tap` is the temperature in
    °C of the water it is filled with.
    """

    name: str
    water: float
    power: float
    boil: float
    own_batch: float | None
    one_minute: bool
    basket: float | None = None
    tap: float = TAP_TEMPERATURE

    @classmethod
    def from_pot(cls, pot: Pot, altitude: float, watts: float | None = None) -> Blancher:
        """The pot at `altitude` m on a burner that gives `watts`; its own full power where None."""
        efficiency = pot.efficiency if pot.efficiency is not None else EFFICIENCY[pot.kind]
        return cls(
            name=pot.name,
            water=FILL * pot.volume,
            power=efficiency * (pot.power if watts is None else watts) - LID_LOSS,
            boil=boiling_point(altitude),
            own_batch=pot.batch,
            one_minute=pot.one_minute,
            basket=pot.basket,
            tap=HOT_TAP if pot.tap == "hot" else TAP_TEMPERATURE,
        )

    @property
    def steam_water(self) -> float:
        """Water in mL below the steaming basket."""
        return min(self.water, (self.basket or 0.0) * WATER_DEPTH * 1e6)

    def heat_up_seconds(self, water: float | None = None) -> float:
        """Seconds from the tap's temperature to the boil, lid on, of `water` mL (a pot filled for
        blanching).

        t = m c ΔT / P with the net power P; the pot's own metal, 2 to 5 % of the heat, is
        neglected. From any height at which water boils above tap temperature.
        """
        filled = ((self.water if water is None else water) / 1000, WATER_HEAT)
        return heat_to_warm([filled], self.boil - self.tap) / self.power

    def cook_up_seconds(self, step: Step, grams: float, water_share: float) -> float:
        """Seconds until `grams` of food and the water it is cooked in come from cold to the boil.

        t = sum(m c) ΔT / P, as in `heat_up_seconds`; to the step's own temperature where it is not
        boiled. What the food gains in the step counts as water; what left it warm from the step
        before is not counted, the slow side.
        """
        added = max(step.water.value if step.water else 0.0, leaves(step) - 1)
        parts = [(grams / 1000, specific_heat(water_share)), (added * grams / 1000, WATER_HEAT)]
        hot = min(self.boil, step.heat_to.value) if step.heat_to else self.boil
        return heat_to_warm(parts, hot - TAP_TEMPERATURE) / self.power

    def dip(self, grams: float, water_share: float) -> float:
        """Kelvins the boiling water falls when `grams` of food take up all their heat at once.

        Heat balance of water and food, nothing lost: the greatest dip there can be.
        """
        food = (grams / 1000, specific_heat(water_share), TAP_TEMPERATURE)
        return self.boil - mixed_temperature([(self.water / 1000, WATER_HEAT, self.boil), food])

    def return_seconds(self, grams: float, water_share: float, piece: Piece | None) -> float:
        """Seconds until the water boils again after `grams` of food went in.

        The water is back when the burner has caught up with what the food took:
        P t = m c (Tb - T0) phi(t). A household that timed its own batch (back within one
        minute) sets the power instead: as found, with the pots on that are usually on. Without a
        known piece phi = 1, the slow side. Holds for pieces in plenty of water (a few litres to
        the kg): their surface is taken to stay at the boiling point, the slow side too.
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
        return heat * _share(piece, 60.0) / 60

    def one_minute_grams(self, water_share: float, piece: Piece | None) -> float:
        """The largest batch that is back at the boil within one minute, g: P 60 s / (c ΔT phi).

        The one-minute rule is NCHFP's (nchfp-blanching); the heat balance as in `return_seconds`.
        """
        per_gram = specific_heat(water_share) / 1000 * (self.boil - TAP_TEMPERATURE)
        return self._power_seen(water_share, piece) * 60 / (per_gram * _share(piece, 60.0))

    def limit_grams(self, step: Step, crop: Crop, product: Product) -> float:
        """The largest batch of a blanching step, g; 0 over steam in a pot without a basket.

        In water: the water ratio of the food (1 US gal per lb, 2 for leaves: NCHFP), or the batch
        the household measured; with `one_minute` also the one-minute batch. Over steam: one layer
        in the basket, and no more than the burner heats through within the steaming time.
        """
        water_share = crop.water_share.value
        if over_steam(step):
            layer = layer_grams(self.basket or 0.0, step, crop, product=product)
            return min(layer, self.steam_grams(step, water_share))
        assert step.water is not None
        limit = self.own_batch or self.water / step.water.value
        if self.one_minute:
            limit = min(limit, self.one_minute_grams(water_share, step.piece))
        return limit

    def steam_grams(self, step: Step, water_share: float) -> float:
        """The most food in g that the burner's steam heats through in the step's own time.

        P t = m c ΔT phi(t), as in `return_seconds`: steam gives up its heat on the food as fast as
        the burner makes it.
        """
        assert step.time is not None
        per_gram = specific_heat(water_share) / 1000 * (self.boil - TAP_TEMPERATURE)
        taken = _share(step.piece, step.time.value)
        return self.power * step.time.value / (per_gram * taken)


def leaves(step: Step) -> float:
    """Mass after the step per mass before it."""
    return step.leaves.value if step.leaves else 1.0


def cooked_limit(volume: float, step: Step) -> float:
    """The largest batch in g entering a cooking step in a pot of `volume` mL.

    Food and water, 1 mL to the gram, fill three quarters; the rest is head space for what boils
    up (common practice, no source). Water by the step's own ratio, or what the food gains.
    """
    water = step.water.value if step.water else 0.0
    return FILL * volume / max(1 + water, leaves(step), 1.0)


def _share(piece: Piece | None, seconds: float) -> float:
    return 1.0 if piece is None else heat_taken_up(piece.shape, piece.size.value, seconds)


def blanch_seconds(step: Step, altitude: float) -> float:
    """Blanching time in s from where the step's clock starts, altitude (m) included.

    The crop file's time and a minute more from 5000 ft on (usu-veg); over steam as well, where no
    source speaks of altitude (own judgement, the safe side).
    """
    assert step.time is not None
    return step.time.value + (60.0 if altitude >= HIGH_ALTITUDE - 1e-6 else 0.0)
