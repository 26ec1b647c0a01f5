"""V18: what lies on trays is packed once it is frozen, and in time; and what a visit is for."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator

from harvestplan.check.facts import PACK_STEPS, Facts, Finding, Sitting, disagreements
from harvestplan.inputs.crops import Step
from harvestplan.kitchen.steps.change_over import ChangeOver
from harvestplan.kitchen.steps.clean_up import CleanUp
from harvestplan.kitchen.steps.portion import Portion
from harvestplan.kitchen.steps.sanitise import Sanitise
from harvestplan.kitchen.steps.set_up import SetUp
from harvestplan.kitchen.steps.tray_freeze import TrayFreeze
from harvestplan.kitchen.tray_times import tray_seconds
from harvestplan.plan.models import Session, Task

AT_A_VISIT = (SetUp.name, ChangeOver.name, *PACK_STEPS, Sanitise.name, CleanUp.name)
"""All that is done at a visit: nothing is cut there, and no pot boils."""


def check_trays_packed(facts: Facts) -> Iterator[Finding]:
    """V18."""
    for message in (*_trays(facts), *_visits(facts)):
        yield Finding("V18", message)


def _trays(facts: Facts) -> Iterator[str]:
    laid_out = [s for s in facts.sittings if s.tasks_of(TrayFreeze.name)]
    for sitting in laid_out:
        packing = sitting if sitting.kind == "whole" else facts.second_of(sitting)
        done = packing is not None and packing.session.status == "done"
        if done or (packing is None and sitting.session.status == "done"):
            continue
        step = next((s for _, s in sitting.steps if s.step == TrayFreeze.name), None)
        if step is None or step.piece is None:
            yield f"{sitting.where}: nobody knows how long its pieces take to freeze on trays."
            continue
        trays = sitting.tasks_of(TrayFreeze.name)
        portioned = packing.tasks_of(Portion.name) if packing else []
        if not portioned:
            yield f"{sitting.where}: what is laid on trays is never packed."
            continue
        yield from _in_time(facts, sitting, step, trays=trays, portioned=portioned)


def _in_time(
    facts: Facts, sitting: Sitting, step: Step, *, trays: list[Task], portioned: list[Task]
) -> Iterator[str]:
    """It is packed when it is frozen, and before it dries out."""
    assert step.piece is not None
    frozen = tray_seconds(step.piece, sitting.crop.water_share.value)
    packed = min(task.start for task in portioned)
    if sitting.kind == "whole":
        # The step lasts until it is frozen, the laying out before that; each batch by itself.
        lain = min(_lain(trays, task) for task in portioned)
    else:
        lain = (packed - max(task.end for task in trays)).total_seconds()
        for task in trays:
            minutes = math.ceil(max(frozen, step.pause_least.value if step.pause_least else 0) / 60)
            yield from disagreements(sitting.where, task, {"minutes": minutes})
    if lain < frozen:
        yield (
            f"{sitting.where}: what was laid on trays is packed at {facts.clock(packed)}, after "
            f"{lain / 3600:.1f} h; its pieces take {frozen / 3600:.1f} h to freeze."
        )
    if step.pause_limit is None:
        return
    until = min(task.end for task in trays) + dt.timedelta(seconds=step.pause_limit.value)
    if packed > until:
        yield (
            f"{sitting.where}: what was laid on trays is packed at {facts.clock(packed)}; after "
            f"{facts.clock(until)} it has dried out."
        )


def _lain(trays: list[Task], portioned: Task) -> float:
    """Seconds that what is portioned lay on its trays: of its batch, or of all."""
    own = [task for task in trays if portioned.batch in (None, task.batch)] or trays
    return (portioned.start - max(task.start for task in own)).total_seconds()


def _visits(facts: Facts) -> Iterator[str]:
    for session in facts.sessions_ahead:
        if session.is_visit:
            yield from _visit(facts, session)


def _visit(facts: Facts, visit: Session) -> Iterator[str]:
    where = facts.clock(visit.start)
    for task in visit.tasks:
        if task.step not in AT_A_VISIT:
            yield f"{where}: {task.id} is no work for a visit, which only packs."
    for run in visit.runs:
        if run.second_sitting_of is None:
            yield f"{where}: {run.product} is begun at a visit, which only packs."
