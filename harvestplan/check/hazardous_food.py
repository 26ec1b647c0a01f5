"""V13: what a food carries, held against what the plan's tasks do to it.

Classes, names and days are the kitchen's; what was done, and in which order, is read from the tasks
of the written plan, a first sitting's before those of its second.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from harvestplan.check.facts import Facts, Sitting
from harvestplan.kitchen.hazards import (
    AIRLESS,
    COOKED,
    DAY,
    DECLARE,
    FLESH,
    FROZEN,
    HEAT,
    UNDECLARED,
    classes_of,
    fridge_limit,
    is_bought_dry,
    is_dry,
    kinds_of,
    raw_days,
)
from harvestplan.kitchen.refusals import CANNING_WORDS, OIL_LIMIT
from harvestplan.kitchen.steps.blanch import Blanch
from harvestplan.kitchen.steps.dry import Dry
from harvestplan.kitchen.steps.seal import Seal
from harvestplan.kitchen.steps.simmer import Simmer
from harvestplan.plan.models import Task


def hazards_found(facts: Facts, sitting: Sitting) -> Iterator[str]:
    """A sentence for each way in which the sitting's food is made unsafe."""
    tasks = history(facts, sitting)
    said = [*_waited(facts, sitting), *_dried_raw(sitting, tasks)]
    if sitting.kind != "first":
        said += [*_sealed_raw(sitting, tasks), *_kept(sitting, tasks), *_called(sitting)]
    if said and UNDECLARED in classes_of(sitting.crop, sitting.product):
        said.append(f"{sitting.where}: {DECLARE}.")
    yield from said


def history(facts: Facts, sitting: Sitting) -> list[Task]:
    """What is done to the food, a first sitting included, by start."""
    first = next((s for s in facts.sittings if s.run is sitting.first), None)
    tasks = (*(first.tasks if first else ()), *sitting.tasks)
    return sorted(tasks, key=lambda task: task.start)


def dry_food(sitting: Sitting, tasks: Sequence[Task]) -> bool:
    """Whether it is dry when it is packed: bought so and not cooked in water, or after hours in
    the dryer."""
    if is_bought_dry(sitting.crop, sitting.product):
        return not {Simmer.name, Blanch.name} & _before_the_bag(tasks)
    dried = any(task.step == Dry.name for task in tasks)
    return dried and is_dry(sitting.crop, sitting.product)


def _waited(facts: Facts, sitting: Sitting) -> Iterator[str]:
    """Raw meat, poultry and fish that lay in the refrigerator for too long before the session."""
    most = raw_days(sitting.crop)
    for share in sitting.run.lots if most is not None else ():
        lot = facts.lots.get(share.lot)
        days = (facts.day(sitting.session.start) - lot.ready).days if lot else 0
        if most is not None and days > most:
            yield (
                f"{sitting.where}: raw {sitting.crop.name} has waited {days} days; {most} are the "
                "most for it."
            )


def _before_the_bag(tasks: Sequence[Task]) -> set[str]:
    """Steps that had ended when the first bag was closed; all of them where none is."""
    closed = min((task.start for task in tasks if task.step == Seal.name), default=None)
    return {task.step for task in tasks if closed is None or task.end <= closed}


def _sealed_raw(sitting: Sitting, tasks: Sequence[Task]) -> Iterator[str]:
    """Onion kin, mushrooms, sprouts and soft cheese grow botulinum or listeria without air, raw
    cabbage kin gives off gas (equipment practice)."""
    crop, product = sitting.crop, sitting.product
    sealed = any(task.step == Seal.name for task in tasks)
    if not sealed or is_bought_dry(crop, product):
        return
    done, classes = _before_the_bag(tasks), classes_of(crop, product)
    frozen = bool(done & set(FROZEN)) and product.storage == "freezer"
    if classes & {"soft cheese", UNDECLARED}:
        if not frozen:
            yield f"{sitting.where}: {crop.name} is sealed before it is frozen."
    elif classes & AIRLESS and not frozen and not done & {*HEAT, Dry.name}:
        yield f"{sitting.where}: raw {crop.name} is sealed before it is blanched or frozen."
    if "cabbage kin" in kinds_of(crop, product) and not done & {*HEAT, Dry.name}:
        yield f"{sitting.where}: raw {crop.name} is sealed before it is blanched; it gives off gas."


def _dried_raw(sitting: Sitting, tasks: Sequence[Task]) -> Iterator[str]:
    """USDA: meat is heated to 160 °F, poultry to 165 °F, before it is dried."""
    loaded = min((task.start for task in tasks if task.step == Dry.name), default=None)
    classes = classes_of(sitting.crop, sitting.product)
    if loaded is None or not classes & {*FLESH, UNDECLARED}:
        return
    if not any(task.step in COOKED and task.end <= loaded for task in tasks):
        yield (
            f"{sitting.where}: {sitting.crop.name} is dried before it is heated to 160 °F (71 °C), "
            "poultry to 165 °F (74 °C)."
        )


def _kept(sitting: Sitting, tasks: Sequence[Task]) -> Iterator[str]:
    """How long, and where."""
    crop, product = sitting.crop, sitting.product
    if product.storage == "freezer" or dry_food(sitting, tasks):
        return
    if product.storage == "shelf":
        yield f"{sitting.where}: moist food is sealed and stored unfrozen."
        return
    longest = max(product.keeps.value, product.keeps.high or 0.0) / DAY
    most = fridge_limit(crop, product, _before_the_bag(tasks)).days
    if longest > most:
        yield (
            f"{sitting.where}: it is to keep {longest:g} days in the refrigerator; {most} are the "
            "most for it."
        )


def _called(sitting: Sitting) -> Iterator[str]:
    """What its name alone gives away: canning, and oil beyond its days."""
    product = sitting.product
    words = set(re.findall(r"\w+", sitting.run.product.lower()))
    if words & CANNING_WORDS:
        yield f"{sitting.where}: canning wants a tested process; no plan holds it."
    long = product.storage == "shelf" or product.keeps.value > OIL_LIMIT
    oily = words & {"oil", "confit"} and product.storage != "freezer"
    if oily and long and not is_bought_dry(sitting.crop, product):
        yield f"{sitting.where}: botulinum bacteria grow under oil; it keeps 4 days in the cold."
