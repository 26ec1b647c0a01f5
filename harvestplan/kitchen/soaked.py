"""Food that takes up water: dried beans that were soaked and boiled hold as much as fresh food."""

from __future__ import annotations

import math
from itertools import takewhile

from harvestplan.inputs.crops import Crop, Product


def water_share(crop: Crop, product: Product, before: str | None = None) -> float:
    """The share of water in the food as it enters the step `before`, or as it is packed.

    What it gains in a step that is done in water is water; what it loses on the way is little
    beside that and is not reckoned.
    """
    steps = takewhile(lambda step: step.step != before, product.steps)
    gains = [s.leaves.value for s in steps if s.water and s.leaves and s.leaves.value > 1]
    return 1 - (1 - crop.water_share.value) / math.prod(gains)
