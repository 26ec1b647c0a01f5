"""Washing: once, for all of a run's food."""

from __future__ import annotations

import math

from harvestplan.inputs.crops import Crop, Product, Step
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.steps.hand_work import HandStep


class Wash(HandStep):
    """Raw food washed whole, in a basin where there is one, else under the tap."""

    name = "wash"
    scope = "run"
    vessel = "bath"
    vessel_if_any = True
    usual_verb = "wash"

    def vessels(
        self, kitchen: Kitchen, crop: Crop, product: Product, *, step: Step
    ) -> dict[str, float]:
        """The basins; more than one takes is washed a basinful after the other."""
        return {bath.name: math.inf for bath in kitchen.baths}
