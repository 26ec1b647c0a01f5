"""V13: nothing unsafe is made, whatever a crop file or a plan says.

The kitchen is asked for its refusals, and the tasks are looked at on their own: neither is believed
for the other.
"""

from __future__ import annotations

from collections.abc import Iterator

from harvestplan.check.facts import Facts, Finding, Sitting, number
from harvestplan.check.hazardous_food import dry_food, hazards_found, history
from harvestplan.inputs.ids import fold
from harvestplan.inputs.safety_answers import safety_answer
from harvestplan.kitchen.hazards import COOKED
from harvestplan.kitchen.refusals import judge, ways_to_cool
from harvestplan.kitchen.sealing import CHILL_LIMIT
from harvestplan.kitchen.steps.chill import Chill
from harvestplan.kitchen.steps.close_pack import ClosePack
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
            where = f"{facts.clock(session.start)}, {run.product}"
            for refusal in crop.refused if crop else ():
                if fold(refusal.form) == fold(form):
                    yield f"{where} is refused: {refusal.why}"
            unknown = facts.library.find_product(run.product) is None
            if unknown and (answer := safety_answer(run.product)) is not None:
                yield f"{where}: {answer.why}."


def _sealed(facts: Facts, sitting: Sitting) -> Iterator[str]:
    product, where = sitting.product, sitting.where
    packing = facts.second_of(sitting) if sitting.kind == "first" else sitting
    pouch = facts.pouch(packing.run.pouch) if packing else None
    refused = judge(product, sitting.crop, vacuum=pouch is None or not pouch.by_hand)
    if refused is not None:
        yield f"{where}: {refused}."
    yield from hazards_found(facts, sitting)
    seals = sitting.tasks_of(Seal.name)
    closings = seals or sitting.tasks_of(ClosePack.name)
    done = history(facts, sitting)
    if sitting.kind == "first" or not closings or dry_food(sitting, done):
        return
    first_bag = min(task.start for task in closings)
    yield from _warm(sitting, [task for task in done if task.end <= first_bag])
    for task in done:
        if task.step == Chill.name:
            cold = number(task, "to_c")
            if cold is None or cold > CHILL_LIMIT:
                yield (
                    f"{where}: {task.id} chills to {cold} °C; {CHILL_LIMIT:g} °C or colder "
                    f"goes into the {'chamber' if seals else 'freezer'}."
                )


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
