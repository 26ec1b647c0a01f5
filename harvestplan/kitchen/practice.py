"""How practised a household says it is: its pace until its own evenings tell."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from harvestplan.inputs.crops import Product, Step
from harvestplan.inputs.season import Practised
from harvestplan.kitchen.pot import leaves
from harvestplan.kitchen.steps.all_steps import kind_of


@dataclass(frozen=True)
class Practice:
    """Minutes of hand work per minute of the crop file: of each of the `steps` that differ, and of
    all the work on a kg of raw food (`whole`)."""

    steps: Mapping[str, float] = field(default_factory=dict)
    whole: float = 1.0


BOOK_PRACTICE = Practice()


def practice_of(product: Product, practised: Practised) -> Practice:
    """A beginner takes the `high` of each step's minutes, practised hands the `low`; a step without
    such a range takes its `value`. Cooking and cooling keep their own time."""
    if practised == "some":
        return BOOK_PRACTICE
    steps: dict[str, float] = {}
    book = own = 0.0
    share = 1.0
    for step in product.steps:
        if step.hands and not kind_of(step.step).unattended:
            ratio = _ratio(step, practised)
            work = share * step.hands * step.per_kg.value if step.per_kg else 0.0
            book, own = book + work, own + work * ratio
            if ratio != 1.0:
                steps[step.step] = round(ratio, 3)
        share *= leaves(step)
    return Practice(steps, own / book if book else 1.0)


def _ratio(step: Step, practised: Practised) -> float:
    """That of the minutes for each kg, which are the most of the work, else of the fixed ones."""
    for figure in (step.per_kg, step.fixed):
        if figure is not None and figure.value:
            end = figure.high if practised == "beginner" else figure.low
            if end is not None:
                return end / figure.value
    return 1.0
