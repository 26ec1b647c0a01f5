"""A product with its hand work at the household's own pace."""

from __future__ import annotations

from harvestplan.inputs.crops import Product, Step
from harvestplan.kitchen.own_pace import OwnPace
from harvestplan.kitchen.steps.all_steps import kind_of


def at_pace(product: Product, pace: OwnPace) -> Product:
    """The product with the hand work of its steps at the household's own pace.

    Cooking, cooling, freezing and the sealing machine keep their own time.
    """
    steps = tuple(_step_at(step, pace.of(step.step)) for step in product.steps)
    return product.model_copy(update={"steps": steps})


def _step_at(step: Step, pace: float) -> Step:
    if not step.hands or kind_of(step.step).unattended or pace == 1.0:
        return step
    work = {
        key: figure.model_copy(update={"value": figure.value * pace})
        for key, figure in (("per_kg", step.per_kg), ("fixed", step.fixed))
        if figure is not None
    }
    return step.model_copy(update=work)
