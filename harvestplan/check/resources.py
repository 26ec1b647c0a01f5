"""V2 and V3: no pot, bath, oven, machine, tray or hand is asked for more than it can do."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from harvestplan.check.facts import Facts, Finding, Sitting, number
from harvestplan.inputs.season import Season
from harvestplan.kitchen.pouches import content_volume, footprint
from harvestplan.kitchen.steps.all_steps import KINDS, names_where
from harvestplan.kitchen.steps.dry import Dry
from harvestplan.kitchen.steps.freeze import Freeze
from harvestplan.kitchen.steps.portion import Portion
from harvestplan.kitchen.steps.settings import freezer_of
from harvestplan.kitchen.steps.step_kind import Vessel
from harvestplan.kitchen.steps.tray_freeze import TrayFreeze
from harvestplan.plan.models import Session, Task
from harvestplan.plan.spans import DAY

WITHOUT = names_where(lambda kind: kind.vessel_if_any)


def check_equipment(facts: Facts) -> Iterator[Finding]:
    """V2, vessels and machine: each step has its unit, and a unit does one task at a time."""
    for message in (*_unit_names(facts), *_double_use(facts), *_drying_at_once(facts)):
        yield Finding("V2", message)


def _units_by_step(season: Season) -> dict[str, set[str]]:
    units: dict[Vessel, set[str]] = {
        "pot": {pot.name for pot in season.pot},
        "bath": {bath.name for bath in season.bath},
        "oven": {oven.name for oven in season.oven},
        "dryer": {dryer.name for dryer in season.dryer},
        "sealer": set(season.machine.units) if season.machine else set(),
    }
    return {kind.name: units[kind.vessel] for kind in KINDS if kind.vessel is not None}


def _unit_names(facts: Facts) -> Iterator[str]:
    serving = _units_by_step(facts.season)
    known = set().union(*serving.values())
    for session in facts.sessions_ahead:
        where = facts.clock(session.start)
        for task in session.tasks:
            for name in task.equipment:
                if name not in known:
                    yield f'{where}: the task {task.id} uses "{name}", which the kitchen has not.'
                elif name not in serving.get(task.step, known):
                    yield f'{where}: the task {task.id} cannot {task.step} in "{name}".'
            needs_none = task.step in WITHOUT and not serving[task.step]
            if task.step in serving and len(task.equipment) != 1 and not needs_none:
                yield (
                    f"{where}: the task {task.id} needs one unit to {task.step} in, it names "
                    f"{len(task.equipment)}."
                )


def _double_use(facts: Facts) -> Iterator[str]:
    basins = {bath.name for bath in facts.season.bath}
    held: dict[str, list[Task]] = defaultdict(list)
    for session in facts.sessions:
        for task in session.tasks:
            for name in set(task.equipment) - basins:
                held[name].append(task)
    for name, tasks in sorted(held.items()):
        tasks.sort(key=lambda task: (task.start, task.end))
        last = tasks[0]
        for task in tasks[1:]:
            if task.start < last.end:
                yield (
                    f"{facts.clock(task.start)}: {name} is wanted by {task.id} while {last.id} "
                    f"holds it until {facts.clock(last.end)}."
                )
            last = max(last, task, key=lambda each: each.end)


def _drying_at_once(facts: Facts) -> Iterator[str]:
    """A dryer is taken from its filling until the food is dry, long after the session."""
    held: dict[str, list[tuple[dt.datetime, dt.datetime, str]]] = defaultdict(list)
    for sitting in facts.sittings:
        hours = next((s.pause_least for _, s in sitting.steps if s.step == Dry.name), None)
        for task in sitting.tasks_of(Dry.name):
            until = task.end + dt.timedelta(seconds=hours.value if hours else 0)
            for name in task.equipment:
                held[name].append((task.start, until, sitting.run.id))
    for name, spans in sorted(held.items()):
        spans.sort()
        for (_, until, run), (start, _, next_run) in pairwise(spans):
            ahead = facts.day(start) >= facts.plan.as_of
            if run != next_run and start < until and ahead:
                yield f"{facts.clock(start)}: {name} is filled for {next_run} while {run} dries."


def check_hands(facts: Facts) -> Iterator[Finding]:
    """V3: each task has the hands of its step, and there are hands for all that goes on."""
    for sitting in facts.ahead:
        needed: dict[str, set[int]] = defaultdict(set)
        for _, step in sitting.steps:
            needed[step.step].add(step.hands)
        for task in sitting.tasks:
            if task.step in needed and task.hands not in needed[task.step]:
                yield Finding(
                    "V3",
                    f"{sitting.where}: {task.id} counts on {task.hands} people; to {task.step} "
                    f"takes {min(needed[task.step])}.",
                )
    for session in facts.sessions_ahead:
        for message in _cooks(session):
            yield Finding("V3", f"{facts.clock(session.start)}: {message}")
    for session in facts.sessions:
        for moment in sorted({task.start for task in session.tasks}):
            busy = sum(t.hands for t in session.tasks if t.start <= moment < t.end)
            if busy > session.hands:
                yield Finding(
                    "V3",
                    f"{facts.clock(session.start)}: at {facts.clock(moment)} the tasks need "
                    f"{busy} people and there are {session.hands}.",
                )


def _cooks(session: Session) -> Iterator[str]:
    """Each task says whose hands it takes, and nobody works at two at once; a plan of old names
    nobody."""
    if not any(task.cooks for task in session.tasks):
        return
    people = {name for task in session.tasks for name in task.cooks}
    if len(people) > session.hands:
        yield f"{len(people)} cooks are named, there are {session.hands} people."
    for task in session.tasks:
        if len(set(task.cooks)) != task.hands:
            yield f"{task.id} takes {task.hands} people and names {len(set(task.cooks))}."
    for name in sorted(people):
        ours = sorted((t for t in session.tasks if name in t.cooks), key=lambda t: (t.start, t.end))
        for one, other in pairwise(ours):
            if other.start < one.end:
                yield f"{name} is to be at {one.id} and at {other.id} at once."


@dataclass(frozen=True)
class _OnTrays:
    """Area in mm² taken in a freezer from start to end."""

    freezer: object
    start: dt.datetime
    end: dt.datetime
    area: float
    loose: bool


def check_trays(facts: Facts) -> Iterator[Finding]:
    """V2 and V7, trays: loose pieces and flat packs lie in a single layer until frozen.

    Packs lie for 24 hours, loose pieces from the tray freeze until they are portioned. Packs alone
    past the area are V7; loose pieces beside them V2.
    """
    lying = [each for sitting in facts.sittings for each in _on_trays(facts, sitting)]
    for freezer in facts.season.freezer:
        if freezer.tray_area is None:
            continue
        room = freezer.tray_area * 1e6
        here = [each for each in lying if each.freezer == freezer.name]
        for moment in sorted({each.start for each in here}):
            if facts.day(moment) < facts.plan.as_of:
                continue
            now = [each for each in here if each.start <= moment < each.end]
            packs = sum(each.area for each in now if not each.loose)
            total = sum(each.area for each in now)
            if total > room + 1:
                yield Finding(
                    "V7" if packs > room + 1 else "V2",
                    f"{facts.clock(moment)}: what lies flat in {freezer.name} takes "
                    f"{total / 100:.0f} cm² of trays; there are {room / 100:.0f} cm².",
                )


def _on_trays(facts: Facts, sitting: Sitting) -> Iterator[_OnTrays]:
    pouch = facts.pouch(sitting.run.pouch)
    loads = {i: step.tray_load for i, step in sitting.steps if step.step == TrayFreeze.name}
    load = next((load for load in loads.values() if load is not None), None)
    for task in sitting.tasks:
        freezer = freezer_of(task)
        if task.step == TrayFreeze.name and load is not None:
            until = _portioned(facts, sitting, task)
            yield _OnTrays(
                freezer, task.start, until, area=task.grams / load.value * 1e6, loose=True
            )
        elif task.step == Freeze.name and pouch is not None:
            if any(step.step == TrayFreeze.name for step in sitting.product.steps):
                continue  # it comes frozen from the trays and may be stacked
            volume = content_volume(sitting.product, sitting.run.portion_grams, pouch)
            area = footprint(pouch, volume) * (number(task, "pouches") or 0)
            yield _OnTrays(freezer, task.start, task.start + DAY, area=area, loose=False)


def _portioned(facts: Facts, sitting: Sitting, task: Task) -> dt.datetime:
    """When what was frozen on trays is taken off them: at the next portioning."""
    packing = facts.second_of(sitting) if sitting.kind == "first" else sitting
    portions = packing.tasks_of(Portion.name) if packing else []
    starts = [portion.start for portion in portions if portion.start >= task.end]
    return min(starts, default=max(task.end, task.start + DAY))
