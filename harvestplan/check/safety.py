"""V13: nothing unsafe is made, whatever a crop file or a plan says."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from harvestplan.check.facts import Facts, Finding, Sitting, number
from harvestplan.kitchen.refusals import (
    CABBAGE_KIN,
    COOKED,
    DRY_CROP,
    FROZEN,
    HEAT,
    NEVER_RAW,
    SOFT_CHEESE,
    is_kin,
    judge,
    ways_to_cool,
)
from harvestplan.kitchen.sealing import CHILL_LIMIT
from harvestplan.kitchen.steps.chill import Chill
from harvestplan.kitchen.steps.close_pack import ClosePack
from harvestplan.kitchen.steps.dry import Dry
from harvestplan.kitchen.steps.puree import Puree
from harvestplan.kitchen.steps.seal import Seal
from harvestplan.plan.models import Task


def check_safety(facts: Facts) -> Iterator[Finding]:
    """V13."""
    for message in (*_refused(facts), *(m for s in facts.ahead for m in _sealed(facts, s))):
        yield Finding("V13", message)


def _refused(facts: Facts) -> Iterator[str]:
    for session in facts.sessions_ahead:
        for run in session.runs:
            crop_name, _, form = (part.strip().lower() for part in run.product.partition(","))
            crop = facts.library.find_crop(crop_name)
            for refusal in crop.refused if crop else ():
                if refusal.form == form:
                    yield f"{facts.clock(session.start)}, {run.product} is refused: {refusal.why}"


def _sealed(facts: Facts, sitting: Sitting) -> Iterator[str]:
    product, where = sitting.product, sitting.where
    packing = facts.second_of(sitting) if sitting.kind == "first" else sitting
    pouch = facts.pouch(packing.run.pouch) if packing else None
    refused = judge(product, sitting.crop, vacuum=pouch is None or not pouch.by_hand)
    if refused is not None:
        yield f"{where}: {refused}."
    seals = sitting.tasks_of(Seal.name)
    closings = seals or sitting.tasks_of(ClosePack.name)
    if sitting.kind == "first" or not closings:
        return
    if product.storage == "shelf" and product.texture != "dry":
        yield f"{where}: moist food is sealed and stored unfrozen."
    before = _ended_before(facts, sitting, min(task.start for task in closings))
    if seals or product.storage != "freezer":
        yield from _raw(sitting, {task.step for task in before})
    yield from _warm(sitting, before)
    for task in (*before, *sitting.tasks):
        if task.step == Chill.name:
            cold = number(task, "to_c")
            if cold is None or cold > CHILL_LIMIT:
                yield (
                    f"{where}: {task.id} chills to {cold} °C; {CHILL_LIMIT:g} °C or colder "
                    f"goes into the {'chamber' if seals else 'freezer'}."
                )


def _raw(sitting: Sitting, done: set[str]) -> Iterator[str]:
    """Onion kin, mushrooms and soft cheese grow botulinum or listeria without air, raw cabbage kin
    gives off gas (equipment practice): what is done to them before they are sealed."""
    crop = sitting.crop
    if is_kin(crop, SOFT_CHEESE):
        safe = set(FROZEN)
    elif is_kin(crop, NEVER_RAW):
        safe = {*HEAT, Dry.name, *FROZEN}
    elif is_kin(crop, CABBAGE_KIN):
        safe = {*HEAT, Dry.name}
    else:
        return
    if crop.water_share.value >= DRY_CROP and not safe & done:
        yield f"{sitting.where}: raw {crop.name} is sealed before it is blanched or frozen."


def _ended_before(facts: Facts, sitting: Sitting, moment: dt.datetime) -> list[Task]:
    """What was done to the food by then, a first sitting included."""
    first = next((s for s in facts.sittings if s.run is sitting.first), None)
    tasks = (*(first.tasks if first else ()), *sitting.tasks)
    return sorted((task for task in tasks if task.end <= moment), key=lambda task: task.start)


def _warm(sitting: Sitting, before: list[Task]) -> Iterator[str]:
    """Cooked food goes into the chamber cold."""
    steps = [step.step for step in sitting.product.steps]
    cooked = any(step in (*COOKED, Puree.name) for step in steps)
    if not cooked or not {Seal.name, ClosePack.name} & set(steps):
        return
    ways = ways_to_cool(sitting.product)
    # Each batch's own order is judged by its chain; here the first of all must be cold.
    hot = min((i for i, task in enumerate(before) if task.step in COOKED), default=-1)
    if not any(task.step in ways for task in before[hot + 1 :]):
        yield f"{sitting.where}: food is sealed warm; it was not chilled after cooking."
