"""Blanching over steam: what a basket takes in one layer, and how the chain changes for it."""

from __future__ import annotations

from harvestplan.inputs.crops import Crop, Product, Step

LEAF_LAYER = 0.0254
"""Leaves and shreds lie loosely an inch deep (common practice, no source); all else in a single
layer of pieces, so that steam reaches every part (NCHFP, nchfp-blanching)."""
WATER_DEPTH = 2 * 0.0254
"""One to two inches of water boil below the basket (NCHFP, nchfp-blanching), m."""


def over_steam(step: Step) -> bool:
    """Whether a blanching step is done over steam: it has no water."""
    return step.water is None


def steamed(product: Product) -> Product | None:
    """The product with its blanching over steam; None where no steaming time is known for it.

    Time and clock are the steam's own; the cooling, given as a ratio, follows. A time for water is
    never turned into one for steam, nor what is said of other sizes, and what would go into the
    water is left out.
    """
    if not any(step.steam for step in product.steps):
        return None
    steps = tuple(_over_steam(step) for step in product.steps)
    return product.model_copy(update={"steps": steps})


def _over_steam(step: Step) -> Step:
    if step.steam is None:
        return step
    changes = {
        "time": step.steam.time,
        "clock": step.steam.clock,
        "water": None,
        "steam": None,
        "mixed": None,
        "ingredients": (),
    }
    return step.model_copy(update=changes)


def layer_grams(basket: float, step: Step, crop: Crop, *, product: Product) -> float:
    """Food in g that lies in one layer in a basket of `basket` m².

    The layer is as deep as one piece, at the density of the loose raw food: the cautious side for
    pieces laid side by side (own reckoning, no source).
    """
    assert step.piece is not None
    depth = step.piece.size.value
    if product.texture == "leaf":
        depth = max(depth, LEAF_LAYER)
    return basket * depth * crop.raw_density.value * 1e6
