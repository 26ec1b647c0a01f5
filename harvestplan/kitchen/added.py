"""What a task adds to its food, in whole grams; and what is in the water already."""

from __future__ import annotations

from collections.abc import Iterable

from harvestplan.inputs.crops import Step
from harvestplan.kitchen.steps.all_steps import find_kind
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.plan.models import AddedItem, Task


def added_items(step: Step, grams: float, settings: Settings) -> tuple[AddedItem, ...]:
    """The step's ingredients for `grams` of food entering it, in the water of its settings."""
    water = settings.water()
    return tuple(
        AddedItem(item=each.item, grams=whole_grams(each.grams(grams, water)))
        for each in step.ingredients
        if water or not each.in_water
    )


def whole_grams(grams: float) -> int:
    """To the gram, 1 at the least."""
    return max(1, round(grams))


def once_a_filling(tasks: Iterable[Task]) -> tuple[Task, ...]:
    """The tasks of a session by start, without what an earlier one put into the water of its pot.

    Water that a pot keeps from one potful to the next is salted or soured once, until it is
    filled afresh.
    """
    there: set[tuple[str, str]] = set()
    found = []
    for task in sorted(tasks, key=lambda task: (task.start, task.end, task.id)):
        kind = find_kind(task.step)
        if kind is not None and kind.fills:
            there = {(pot, item) for pot, item in there if pot not in task.equipment}
        if kind is not None and kind.keeps_water and task.ingredients:
            pot = ", ".join(task.equipment)
            new = tuple(each for each in task.ingredients if (pot, each.item) not in there)
            there |= {(pot, each.item) for each in new}
            task = task.model_copy(update={"ingredients": new})
        found.append(task)
    return tuple(found)
