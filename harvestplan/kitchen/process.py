"""A product as this kitchen makes it: pouch, pot load and the grams behind each portion."""

from __future__ import annotations

import math
from dataclasses import dataclass

from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.inputs.quantities import Quantity
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.experience import BOOK_PACE, OwnPace, at_pace
from harvestplan.kitchen.freezing_time import FreezingFood, pack_seconds
from harvestplan.kitchen.pot import cooked_limit, leaves
from harvestplan.kitchen.pouches import Packing, choose_packing
from harvestplan.kitchen.refusals import judge
from harvestplan.kitchen.steaming import over_steam, steamed

CHILL_SHARE = 0.5
"""Share of a cooling bath the pan takes; the rest is ice water (common practice, no source)."""
GROUP_STEPS = ("portion", "seal", "freeze", "store")
"""Steps done for several batches at once, at the packing table."""


@dataclass(frozen=True)
class Process:
    """One chain in one kitchen, its hand work at the household's own pace.

    raw_per_portion  raw grams that give one full portion
    batch_limit      largest batch in raw grams, or None where nothing limits it
    vessels          names of the pots (or ovens) that take such a batch, per step
    sitting_limit    most raw grams of one sitting, where a dryer must take all of it at once
    """

    crop: Crop
    product: Product
    kitchen: Kitchen
    portion_grams: int
    packing: Packing
    raw_per_portion: int
    batch_limit: float | None
    vessels: dict[str, tuple[str, ...]]
    sitting_limit: int | None = None

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

    @property
    def chilled_volume(self) -> float:
        """mL in the fridge between two sittings, per raw g; 0 where it does not wait there."""
        pause = self.pause
        if pause is None or not self.product.waits_chilled:
            return 0.0
        return self.share_before(pause + 1) / self.product.density.value

    @property
    def dryer(self) -> str | None:
        """The dryer it fills from the first sitting on, for `wait_least` seconds after it."""
        return next(iter(self.vessels.get("dry", ())), None)

    @property
    def loose_area(self) -> int:
        """Area in mm² that one portion's loose pieces take on freezing trays; 0 without any."""
        for index, step in enumerate(self.product.steps):
            if step.step == "tray freeze" and step.tray_load is not None:
                grams = self.raw_per_portion * self.share_before(index)
                return math.ceil(grams / step.tray_load.value * 1e6)
        return 0

    def share_before(self, index: int) -> float:
        """Mass entering step `index` per mass of raw food."""
        share = 1.0
        for step in self.product.steps[:index]:
            share *= step.leaves.value if step.leaves else 1.0
        return share

    def freezing_hours(self, packs: int = 1) -> float:
        """Hours until a flat pack is frozen, in still air at -18 °C (`pack_seconds`; ±35 %).

        `packs` laid on one another freeze as one thick pack: two take more than twice as long, so
        stacking fresh packs gains nothing.
        """
        food = FreezingFood.from_water(self.crop.water_share.value)
        return pack_seconds(packs * self.packing.thickness, food) / 3600

    def packed(self, raw_grams: int, pouches: int) -> int:
        """Grams packed from raw grams, rounded down, as far as the pouches hold them."""
        made = math.floor(raw_grams * self.product.packed_share + 1e-9)
        return min(made, pouches * self.portion_grams)


def portion_in_grams(product: Product, portion: Quantity) -> int:
    """A portion in g; a volume is converted with the product's density."""
    return max(1, round(portion.grams(product.density.value)))


def make_process(
    kitchen: Kitchen,
    crop: Crop,
    product: Product,
    portion_grams: int,
    steam: bool = False,
    portions: int | None = None,
) -> Process | str:
    """The product as this kitchen makes it, or a sentence saying what is missing or unsafe.

    With `steam` it is blanched over steam. `portions`, where known, is the most that one sitting
    may have to dry: see `_dryer_for`.
    """
    refused = judge(product, crop)
    if refused is not None:
        return refused
    if kitchen.sealer is None:
        return "there is no [sealer] in the kitchen"
    if product.storage == "freezer" and not kitchen.freezers:
        return "there is no [[freezer]] in the kitchen"
    product = at_pace(product, kitchen.paces.get(f"{crop.name}, {product.form}", BOOK_PACE))
    packing = choose_packing(product, portion_grams, kitchen.pouches, kitchen.sealer)
    if packing is None:
        return (
            f"no pouch holds a portion of {portion_grams} g with its head space "
            "and fits the sealing machine"
        )
    if steam:
        changed = steamed(product)
        if changed is None:
            return "no time for blanching it over steam is known; take steam = true off the want"
        product = changed
    raw_per_portion = math.ceil(portion_grams / product.packed_share - 1e-9)
    held = _hold(kitchen, crop, product, portions and portions * raw_per_portion)
    if isinstance(held, str):
        return held
    return Process(
        crop=crop,
        product=product,
        kitchen=kitchen,
        portion_grams=portion_grams,
        packing=packing,
        raw_per_portion=raw_per_portion,
        batch_limit=held.batch,
        vessels=held.vessels,
        sitting_limit=held.sitting,
    )


@dataclass(frozen=True)
class _Held:
    """What a kitchen's vessels take of a chain: raw g of a batch and of a sitting, and which."""

    batch: float | None
    sitting: int | None
    vessels: dict[str, tuple[str, ...]]


def _hold(kitchen: Kitchen, crop: Crop, product: Product, wanted: int | None) -> _Held | str:
    limits: list[float] = []
    sitting: int | None = None
    vessels: dict[str, tuple[str, ...]] = {}
    share = 1.0
    for step in product.steps:
        found = _vessels(kitchen, crop, product, step)
        if isinstance(found, str):
            return found
        if step.step == "dry":
            # A dryer is loaded once and then shut: it takes all of the sitting, in any batches.
            rooms = {name: math.floor(room / share) for name, room in found.items()}
            name = _dryer_for(rooms, wanted)
            sitting, vessels["dry"] = rooms[name], (name,)
        elif found:
            largest = max(found.values())
            if math.isfinite(largest):
                limits.append(math.floor(largest) / share)
            vessels[step.step] = tuple(found)
        share *= leaves(step)
    # Whole grams, so that batches rounded to the gram stay within it.
    limit = max(1, math.floor(min(limits))) if limits else None
    if limit is not None:
        vessels = _eligible(kitchen, crop, product, limit, vessels)
    return _Held(limit, sitting, vessels)


def _dryer_for(rooms: dict[str, int], wanted: int | None) -> str:
    """The dryer a product always goes into: the smallest that takes all that is wanted of it, in
    raw g, at once, else the largest.

    One run lies in one dryer, so that products of different dryers dry side by side and each run
    may come off its trays by itself; a run is never laid out over two.
    """
    enough = [name for name, room in rooms.items() if wanted is not None and room >= wanted]
    return (
        min(enough, key=lambda n: (rooms[n], n)) if enough else max(rooms, key=lambda n: rooms[n])
    )


def _vessels(kitchen: Kitchen, crop: Crop, product: Product, step: Step) -> dict[str, float] | str:
    """Vessels for a step with the largest batch (g entering the step) each takes."""
    match step.step:
        case "blanch":
            found = {p.name: p.limit_grams(step, crop, product) for p in kitchen.pots}
            if over_steam(step):
                found = {name: grams for name, grams in found.items() if grams >= 1}
                return found or "no [[pot]] has a basket to steam in"
            return found or "there is no [[pot]] to blanch in"
        case "simmer":
            volumes = kitchen.pot_volumes
            found = {name: cooked_limit(volume, step) for name, volume in volumes.items()}
            return found or "there is no [[pot]] to cook in"
        case "roast":
            found = {oven.name: oven.trays * oven.tray_load for oven in kitchen.ovens}
            return found or "there is no [[oven]] to roast in"
        case "chill":
            found = {bath.name: CHILL_SHARE * bath.volume for bath in kitchen.baths}
            return found or "there is no [[bath]] to chill in"
        case "cool":
            # A potful always fits its bath: the bath holds one batch at a time (V2).
            cooling = {bath.name: math.inf for bath in kitchen.baths}
            return cooling or "there is no [[bath]] to cool in"
        case "dry":
            load = step.tray_load.value if step.tray_load else 0.0
            drying = {d.name: d.trays * d.tray_area * load for d in kitchen.dryers}
            return drying or "there is no [[dryer]] to dry in"
        case _:
            return {}


def _eligible(
    kitchen: Kitchen,
    crop: Crop,
    product: Product,
    limit: float,
    vessels: dict[str, tuple[str, ...]],
) -> dict[str, tuple[str, ...]]:
    """Of each step's vessels those that take a full batch."""
    kept = dict(vessels)
    share = 1.0
    for step in product.steps:
        found = {} if step.step == "dry" else _vessels(kitchen, crop, product, step)
        if isinstance(found, dict) and found:
            batch = limit * share
            kept[step.step] = tuple(n for n, size in found.items() if size >= batch - 1e-6)
        share *= leaves(step)
    return kept
