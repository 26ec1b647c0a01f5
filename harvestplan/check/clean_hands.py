"""V15 and V19: raw meat after all other food or cleaned between; each food on a clean board."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from harvestplan.check.facts import Facts, Finding, Sitting, seconds
from harvestplan.kitchen.hazards import handles_raw_meat, is_eaten_raw
from harvestplan.kitchen.steps.all_steps import CHAIN_STEPS
from harvestplan.kitchen.steps.change_over import CHANGE_OVER, ChangeOver
from harvestplan.kitchen.steps.sanitise import SANITISE, Sanitise
from harvestplan.plan.models import Session, Task

OPEN = frozenset(kind.name for kind in CHAIN_STEPS if not kind.closed)
"""Steps of a chain at which food lies open on board, in bowls or in the machine."""


def check_clean(facts: Facts) -> Iterator[Finding]:
    """V15 and V19."""
    for session in facts.sessions_ahead:
        sittings = [s for s in facts.ahead if s.session.uid == session.uid]
        where = facts.clock(session.start)
        for message in _after_meat(session, sittings):
            yield Finding("V15", f"{where}: {message}")
        for message in _between_foods(session, sittings):
            yield Finding("V19", f"{where}: {message}")


def _open(sitting: Sitting) -> list[Task]:
    return [task for task in sitting.tasks if task.step in OPEN]


def _after_meat(session: Session, sittings: list[Sitting]) -> Iterator[str]:
    raw = [task for s in sittings if handles_raw_meat(s.crop, s.product) for task in _open(s)]
    cleaned = [task for task in session.tasks if task.step == Sanitise.name]
    for task in cleaned:
        if seconds(task) < SANITISE - 1 or task.hands < 1:
            yield f"{task.id} is too short, or counts on nobody; {SANITISE // 60} min are needed."
    for sitting in sittings:
        if handles_raw_meat(sitting.crop, sitting.product):
            continue
        for task in _open(sitting):
            before = [each for each in raw if each.start < task.end]
            if not before:
                continue
            first = min(before, key=lambda each: each.start)
            if is_eaten_raw(sitting.crop, sitting.product):
                yield (
                    f"{task.id} comes after the raw meat of {first.id}; {sitting.run.product} is "
                    "eaten raw."
                )
                break
            if not any(_clean(each, before, task) for each in cleaned):
                yield f"{task.id} comes after the raw meat of {first.id}, with no cleaning between."
                break


def _clean(cleaning: Task, raw: list[Task], task: Task) -> bool:
    """Whether all that is raw was over when the cleaning began, and that before the task."""
    return all(each.end <= cleaning.start for each in raw) and cleaning.end <= task.start


def _between_foods(session: Session, sittings: list[Sitting]) -> Iterator[str]:
    """Where there are several runs, board, bowls and basin are wiped and rinsed for each; two
    products of one crop are one food."""
    if len(sittings) < 2:
        return
    for sitting in sittings:
        same = [other for other in sittings if other.crop.name == sitting.crop.name]
        wiped = [task for other in same for task in other.tasks_of(ChangeOver.name)]
        begun = [task.start for task in sitting.tasks if task.hands and task.step in OPEN]
        if begun and not any(_ready(task, min(begun)) for task in wiped):
            yield (
                f"{sitting.run.product} is begun without {CHANGE_OVER // 60} min to wipe and rinse "
                "what another food was worked with."
            )


def _ready(task: Task, begun: dt.datetime) -> bool:
    return task.hands >= 1 and seconds(task) >= CHANGE_OVER - 1 and task.end <= begun
