"""How a kitchen makes a product: its pouch and its vessels chosen, or why it cannot be made."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.kitchen.at_pace import at_pace
from harvestplan.kitchen.closing import closed_in
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.own_pace import BOOK_PACE
from harvestplan.kitchen.pot import leaves
from harvestplan.kitchen.pouches import Packing, choose_packing
from harvestplan.kitchen.process import MILLI, Process, raw_milligrams
from harvestplan.kitchen.refusals import judge
from harvestplan.kitchen.steaming import steamed
from harvestplan.kitchen.steps.all_steps import kind_of
from harvestplan.kitchen.steps.step_kind import ChainStep
from harvestplan.kitchen.steps.tray_freeze import TrayFreeze
from harvestplan.kitchen.tray_times import with_tray_times


def make_process(
    kitchen: Kitchen,
    crop: Crop,
    product: Product,
    portion_grams: int,
    *,
    steam: bool = False,
    portions: int | None = None,
    pouch: str | None = None,
) -> Process:
    """The product as this kitchen makes it.

    With `steam` it is blanched over steam. `portions`, where known, is the most that one sitting
    may have to dry: see `_dryer_for`. `pouch` names the container, where that is not left open.

    Raises CannotBeMade with what is missing or unsafe.
    """
    packing = _packing(kitchen, crop, product, portion_grams, pouch=pouch)
    if product.storage == "freezer" and not kitchen.freezers:
        raise CannotBeMade("there is no [[freezer]] in the kitchen")
    product = closed_in(product, packing.pouch)
    product = at_pace(product, kitchen.paces.get(f"{crop.name}, {product.form}", BOOK_PACE))
    product = with_tray_times(crop, product)
    if steam:
        product = _over_steam(product)
    behind = raw_milligrams(product, portion_grams)
    held = _hold(kitchen, crop, product, wanted=portions and -(-portions * behind // MILLI))
    return Process(
        crop=crop,
        product=product,
        kitchen=kitchen,
        portion_grams=portion_grams,
        packing=packing,
        raw_milligrams=behind,
        batch_limit=held.batch,
        vessels=held.vessels,
        sitting_limit=held.sitting,
        dryer=held.dryer,
        cooked=any(kind.cooks for kind, _, _ in _entering(product)),
        loose_area=_loose_area(product, -(-behind // MILLI)),
        smaller=held.smaller,
    )


def _packing(
    kitchen: Kitchen, crop: Crop, product: Product, portion_grams: int, *, pouch: str | None
) -> Packing:
    """The container: the one that is named, else any; what is refused in a vacuum alone goes into
    one without."""
    refused = judge(product, crop)
    if refused is not None and judge(product, crop, vacuum=False) is not None:
        raise CannotBeMade(refused)
    named = [each for each in kitchen.pouches if pouch in (None, each.name)]
    fitting = [each for each in named if each.by_hand or refused is None]
    packing = choose_packing(product, portion_grams, fitting, sealer=kitchen.sealer)
    if packing is None:
        raise CannotBeMade(refused or _no_packing(kitchen, portion_grams, pouch))
    return packing


def _no_packing(kitchen: Kitchen, portion_grams: int, pouch: str | None) -> str:
    if not kitchen.pouches:
        return "there is nothing to pack it in; list your pouches, zip bags or boxes as [[pouch]]"
    machine, listed = kitchen.sealer, [p for p in kitchen.pouches if pouch in (None, p.name)]
    sealed = [each for each in listed if not each.by_hand]
    if machine is None and len(sealed) == len(listed):
        return (
            "there is no [sealer] in the kitchen, and pouches need one; list zip bags or boxes, "
            'as [[pouch]] with kind = "zip bag" or "box"'
        )
    what = pouch or ("pouch" if machine else "zip bag or box")
    fits = " and fits the sealing machine" if machine and sealed else ""
    return f"no {what} holds a portion of {portion_grams} g with its head space{fits}"


def _over_steam(product: Product) -> Product:
    changed = steamed(product)
    if changed is None:
        raise CannotBeMade(
            "no time for blanching it over steam is known; take steam = true off the want"
        )
    return changed


def _entering(product: Product) -> Iterator[tuple[ChainStep, Step, float]]:
    """Each step with its kind, and the mass that enters it per mass of raw food."""
    share = 1.0
    for step in product.steps:
        yield kind_of(step.step), step, share
        share *= leaves(step)


def _loose_area(product: Product, raw_per_portion: int) -> int:
    """Area in mm² of a portion's loose pieces on freezing trays; 0 without any. Tasks state whole
    grams batch by batch: a gram more covers their rounding."""
    for kind, step, share in _entering(product):
        if kind.name == TrayFreeze.name and step.tray_load is not None:
            return math.ceil((raw_per_portion * share + 1) / step.tray_load.value * 1e6)
    return 0


@dataclass(frozen=True)
class _Held:
    """What a kitchen's vessels take of a chain: raw g of a batch and of a sitting, and which."""

    batch: float | None
    sitting: int | None
    dryer: str | None
    vessels: dict[str, tuple[str, ...]]
    smaller: dict[str, dict[str, float]]


def _hold(kitchen: Kitchen, crop: Crop, product: Product, *, wanted: int | None) -> _Held:
    limits: list[float] = []
    sitting: int | None = None
    dryer: str | None = None
    vessels: dict[str, tuple[str, ...]] = {}
    smaller: dict[str, dict[str, float]] = {}
    for kind, step, share in _entering(product):
        found = kind.vessels(kitchen, crop, product, step=step)
        if kind.any_vessel:
            smaller[step.step] = found
        if kind.filled_once:
            # A dryer is loaded once and then shut: it takes all of the sitting, in any batches.
            rooms = {name: math.floor(room / share) for name, room in found.items()}
            dryer = _dryer_for(rooms, wanted)
            sitting, vessels[step.step] = rooms[dryer], (dryer,)
        elif found:
            largest = max(found.values())
            if math.isfinite(largest):
                limits.append(math.floor(largest) / share)
            vessels[step.step] = tuple(found)
    # Whole grams, so that batches rounded to the gram stay within it.
    limit = max(1, math.floor(min(limits))) if limits else None
    if limit is not None:
        vessels |= _eligible(kitchen, crop, product, limit=limit)
    return _Held(limit, sitting, dryer, vessels=vessels, smaller=smaller)


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


def _eligible(
    kitchen: Kitchen, crop: Crop, product: Product, *, limit: float
) -> dict[str, tuple[str, ...]]:
    """Of each step's vessels those that take a full batch."""
    kept: dict[str, tuple[str, ...]] = {}
    for kind, step, share in _entering(product):
        found = {} if kind.filled_once else kind.vessels(kitchen, crop, product, step=step)
        if found:
            kept[step.step] = tuple(n for n, size in found.items() if size >= limit * share - 1e-6)
    return kept
