"""V20: what a chain adds stands in its steps, in the amount that the crop file gives."""

from __future__ import annotations

from collections.abc import Iterator

from harvestplan.check.facts import Facts, Finding, Sitting, number
from harvestplan.inputs.crops import Step
from harvestplan.inputs.ingredients import Ingredient
from harvestplan.kitchen.steps.all_steps import names_where
from harvestplan.plan.models import Session, Task

FILLS = names_where(lambda kind: kind.fills)
KEEPS_WATER = names_where(lambda kind: kind.keeps_water)
PACKED = names_where(lambda kind: kind.scope == "table")
"""Their tasks state what is packed, not what enters the step."""
SLACK = 1.0
"""g: tasks and ingredients are in whole grams."""


def check_ingredients(facts: Facts) -> Iterator[Finding]:
    """V20."""
    for sitting in facts.ahead:
        for message in _messages(sitting):
            yield Finding("V20", f"{sitting.where}: {message}")


def _messages(sitting: Sitting) -> Iterator[str]:
    for index, step in sitting.steps:
        for task in sitting.tasks_of(step.step):
            said = {each.item: each.grams for each in task.ingredients}
            wanted = {
                each.item: _grams(sitting, index, step, task=task, each=each)
                for each in step.ingredients
            }
            for item in sorted(said.keys() - wanted.keys()):
                yield f"{task.id} adds {item}, which the crop file does not."
            for item, (low, high) in wanted.items():
                grams = said.get(item, 0)
                if not low <= grams <= high:
                    amount = f"{(low + high) / 2:.0f} g of {item}"
                    told = f"{grams} g" if item in said else "none"
                    yield f"{task.id} wants {amount}, and says {told}."


def _grams(
    sitting: Sitting, index: int, step: Step, *, task: Task, each: Ingredient
) -> tuple[float, float]:
    """The least and the most that a task may add."""
    if not each.in_water:
        entering = float(task.grams)
        if step.step in PACKED:
            steps = sitting.product.steps
            entering /= sitting.share_before(len(steps)) / sitting.share_before(index)
        return _around(each.grams(entering, 0.0), each.grams(SLACK, 0.0))
    water = number(task, "water_ml") or 0.0
    if step.step in KEEPS_WATER and _there_already(sitting.session, task, each.item):
        return 0.0, 0.0
    return _around(each.grams(0.0, water), 0.0)


def _around(grams: float, slack: float) -> tuple[float, float]:
    """Whole grams, one at least."""
    return max(1.0, grams - slack - SLACK), max(1.0, grams + slack + SLACK)


def _there_already(session: Session, task: Task, item: str) -> bool:
    """Whether an earlier potful put the item into the same water."""
    pot = [each for each in session.tasks if set(each.equipment) & set(task.equipment)]
    filled = [each.end for each in pot if each.step in FILLS and each.end <= task.start]
    since = max(filled, default=session.start)
    return any(
        since <= each.start < task.start and any(added.item == item for added in each.ingredients)
        for each in pot
        if each.step in KEEPS_WATER
    )
