"""How a product's packs are closed: sealed in the machine, or by hand."""

from __future__ import annotations

from harvestplan.inputs.crops import Product, Step
from harvestplan.inputs.season_kitchen import Pouch
from harvestplan.kitchen.steps.close_pack import ClosePack
from harvestplan.kitchen.steps.seal import Seal

WAYS = (Seal.name, ClosePack.name)


def closed_in(product: Product, pouch: Pouch) -> Product:
    """The product's chain with its packs closed as this container wants it.

    Crop files write of sealing in a machine; what they warn of there concerns the vacuum, and is
    left out where hands close the pack.
    """
    way = ClosePack.name if pouch.by_hand else Seal.name
    if all(step.step == way for step in product.steps if step.step in WAYS):
        return product
    steps = tuple(_closed(step, way) for step in product.steps)
    return product.model_copy(update={"steps": steps})


def _closed(step: Step, way: str) -> Step:
    return step.model_copy(update={"step": way, "caution": ""}) if step.step in WAYS else step
