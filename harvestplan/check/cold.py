"""V17: hot food is stirred cold in time, and what is cold stays so until it is packed."""

from __future__ import annotations

from collections.abc import Iterator

from harvestplan.check.chains import Chain, feeds
from harvestplan.check.facts import Facts, Finding, Sitting, disagreements, seconds
from harvestplan.kitchen.steps.all_steps import find_kind, kind_of
from harvestplan.kitchen.steps.chill import CHILL_TO, TURN, Chill, stages, stir_seconds
from harvestplan.kitchen.steps.keep_cold import IN_THE_ROOM, KeepCold
from harvestplan.kitchen.steps.stir import Stir
from harvestplan.plan.models import Task

FIRST_STAGE = 2 * 3600
"""Seconds in which cooked food is down to 70 °F (snhd-cool)."""


def check_cold(facts: Facts) -> Iterator[Finding]:
    """V17."""
    for sitting in facts.ahead:
        for message in (*_chilled(sitting), *_waiting(sitting)):
            yield Finding("V17", message)


def _chilled(sitting: Sitting) -> Iterator[str]:
    """Each pan is stirred from when it comes into the ice water, and is cold in time."""
    cooked = any(kind_of(step.step).cooks for step in sitting.product.steps)
    for task in sitting.tasks_of(Chill.name):
        yield from disagreements(sitting.where, task, {"to_c": CHILL_TO})
        stirring = [
            each
            for each in sitting.tasks_of(Stir.name)
            if each.batch == task.batch and task.start <= each.start <= each.end <= task.end
        ]
        stirred = sum(seconds(each) for each in stirring if each.hands)
        least = stir_seconds(cooked)
        at_once = any(each.start == task.start for each in stirring)
        left = _longest_unstirred(task, stirring)
        if left > TURN:
            yield f"{sitting.where}: {task.id} stands unstirred for {left / 60:.0f} min."
        if stirred < least - 1 or not at_once:
            yield (
                f"{sitting.where}: {task.id} is stirred for {stirred / 60:.0f} min from its "
                f"beginning; {least / 60:.0f} min of somebody's hands are needed."
            )
        hot = [t for t in _batch(sitting, task) if _cooked(t) and t.end <= task.start]
        if cooked and hot:
            warm = (task.start - max(t.end for t in hot)).total_seconds() + stages(True)[0]
            if warm > FIRST_STAGE:
                yield (
                    f"{sitting.where}: {task.id} brings food to 70 °F {warm / 3600:.1f} h after it "
                    "was cooked; 2 h are the limit."
                )


def _longest_unstirred(chill: Task, stirring: list[Task]) -> float:
    """Seconds between two turns of stirring at the most, or from the last to the end."""
    turns = sorted(stirring, key=lambda each: each.start)
    ends = [chill.start, *(each.end for each in turns)]
    begins = [*(each.start for each in turns), chill.end]
    return max((b - a).total_seconds() for a, b in zip(ends, begins, strict=True))


def _cooked(task: Task) -> bool:
    """Whether a task cooked its food."""
    kind = find_kind(task.step)
    return kind is not None and kind.cooks


def _batch(sitting: Sitting, task: Task) -> list[Task]:
    return [each for each in sitting.tasks if each.batch == task.batch]


def _waiting(sitting: Sitting) -> Iterator[str]:
    """Cooled food that waits for the table waits in the fridge."""
    chain = Chain.of(sitting)
    for batch, path in chain.batches.items():
        cooled = any(_cools(task.step) for _, task in path)
        groups = [chain.groups[f.group] for f in feeds(sitting, chain) if f.batch == batch]
        starts = [packing[0][1].start for packing in groups if packing]
        if not cooled or not starts:
            continue
        waits = (min(starts) - path[-1][1].end).total_seconds()
        kept = [
            task
            for task in sitting.tasks_of(KeepCold.name)
            if task.batch == batch and task.start <= path[-1][1].end and task.end >= min(starts)
        ]
        if waits > IN_THE_ROOM and not kept:
            yield (
                f"{sitting.where}: batch {batch} waits {waits / 60:.0f} min to be packed and is "
                "not put into the fridge."
            )


def _cools(step: str) -> bool:
    kind = kind_of(step)
    return kind.cools and not kind.freezes and not kind.filled_once
