"""A product as this kitchen makes it: pouch, pot load and the grams behind each portion."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from harvestplan.inputs.crops import Crop, Product
from harvestplan.inputs.quantities import Quantity
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.freezing_time import FreezingFood, pack_seconds
from harvestplan.kitchen.own_pace import BOOK_PACE, OwnPace
from harvestplan.kitchen.pouches import Packing
from harvestplan.kitchen.soaked import water_share

MILLI = 1000
SMALL = 250
"""Grams below which a portion's raw food is counted more finely than in grams."""


@dataclass(frozen=True)
class Process:
    """One chain in one kitchen, its hand work at the household's own pace.

    raw_milligrams   raw food that gives one full portion, in mg
    batch_limit      largest batch in raw grams, or None where nothing limits it
    vessels          names of the pots (or ovens) that take such a batch, per step
    smaller          of steps that may be done in any vessel, the batch in g that each takes
    sitting_limit    most raw grams of one sitting, where a dryer must take all of it at once
    dryer            that dryer: it is full from the first sitting on, for `wait_least` seconds
    cooked           whether a step cooks it through
    loose_area       area in mm² that one portion's loose pieces take on freezing trays, 0 for none
    """

    crop: Crop
    product: Product
    kitchen: Kitchen
    portion_grams: int
    packing: Packing
    raw_milligrams: int
    batch_limit: float | None
    vessels: dict[str, tuple[str, ...]]
    sitting_limit: int | None = None
    dryer: str | None = None
    cooked: bool = False
    loose_area: int = 0
    smaller: Mapping[str, Mapping[str, float]] = field(default_factory=dict)

    def units(self, step: str, grams: float) -> tuple[str, ...]:
        """The vessels that take `grams` entering a step."""
        full = self.vessels.get(step, ())
        others = self.smaller.get(step, {})
        return (*full, *(n for n, most in others.items() if most >= grams and n not in full))

    @property
    def name(self) -> str:
        return f"{self.crop.name}, {self.product.form}"

    @property
    def pace(self) -> OwnPace:
        """The household's minutes of hand work per minute of the crop file."""
        return self.kitchen.paces.get(self.name, BOOK_PACE)

    @property
    def frozen(self) -> bool:
        return self.product.storage == "freezer"

    @property
    def pause(self) -> int | None:
        """Index of the step after which a second sitting may follow, or None."""
        for index, step in enumerate(self.product.steps):
            if step.pause_limit is not None:
                return index
        return None

    @property
    def wait_least(self) -> float:
        """Seconds that at least lie between two sittings; above 0 there are always two."""
        pause = self.pause
        least = None if pause is None else self.product.steps[pause].pause_least
        return least.value if least else 0.0

    def share_before(self, index: int) -> float:
        """Mass entering step `index` per mass of raw food."""
        share = 1.0
        for step in self.product.steps[:index]:
            share *= step.leaves.value if step.leaves else 1.0
        return share

    @property
    def packed_cold(self) -> bool:
        """Whether a second sitting packs what froze on trays: short work that boils no pot."""
        pause = self.pause
        return pause is not None and self.loose_area > 0

    def freezing_hours(self, packs: int = 1) -> float:
        """Hours until a pack is frozen, in still air at -18 °C (`pack_seconds`; ±35 %).

        `packs` laid on one another freeze as one thick pack: two take more than twice as long, so
        stacking fresh packs gains nothing.
        """
        food = FreezingFood.from_water(water_share(self.crop, self.product))
        slab = pack_seconds(packs * self.packing.thickness, food)
        return slab / self.packing.sides / 3600

    @property
    def raw_per_portion(self) -> int:
        """Whole raw grams of which one portion can surely be made."""
        return self.raw(1)

    def raw(self, pouches: int) -> int:
        """Raw grams that give so many full portions, rounded up."""
        return -(-pouches * self.raw_milligrams // MILLI)

    def pouches_of(self, raw_grams: int) -> int:
        """Full portions that raw grams give, rounded down."""
        return raw_grams * MILLI // self.raw_milligrams

    def packed(self, raw_grams: int, pouches: int) -> int:
        """Grams packed from raw grams, rounded down, as far as the pouches hold them."""
        made = math.floor(raw_grams * self.product.packed_share + 1e-9)
        return min(made, pouches * self.portion_grams)


def raw_milligrams(product: Product, portion_grams: int) -> int:
    """Raw food behind a portion, in mg; of portions that are not small a whole number of grams.

    Dozens of small portions, each with its part of a gram left over, would leave whole portions
    over; of larger ones no evening makes so many.
    """
    grams = portion_grams / product.packed_share
    if portion_grams >= SMALL:
        return MILLI * math.ceil(grams - 1e-9)
    return math.ceil(MILLI * grams - 1e-9)


def portion_in_grams(product: Product, portion: Quantity) -> int:
    """A portion in g; a volume is converted with the product's density."""
    return max(1, round(portion.grams(product.density.value)))
