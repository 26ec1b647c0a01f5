"""V4: each batch goes through its chain in order and never stands in the room for too long."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from harvestplan.check.facts import (
    PACK_STEPS,
    RUN_STEPS,
    Facts,
    Finding,
    Sitting,
    work_seconds,
)
from harvestplan.inputs.crops import Step
from harvestplan.kitchen.steps.all_steps import names_where
from harvestplan.kitchen.steps.blanch import Blanch
from harvestplan.kitchen.steps.cool import Cool
from harvestplan.kitchen.steps.tray_freeze import TrayFreeze
from harvestplan.plan.models import Session, Task

ROOM_LIMIT = dt.timedelta(hours=2)
"""Cut, blanched or cooked food stays in the room two hours in all (USDA / eatright.org)."""
CUTS = names_where(lambda kind: kind.cuts)
WARMS = names_where(lambda kind: kind.warms)
CONTROLLED = names_where(lambda kind: kind.controlled)
FINAL = names_where(lambda kind: kind.final)
"""Between steps that keep food hot or cold it stands in the room, until the last of them."""
KITCHEN_STEPS = names_where(lambda kind: kind.scope == "session")
OWN_TIME = names_where(lambda kind: kind.own_time)


def check_chains(facts: Facts) -> Iterator[Finding]:
    """V4."""
    for message in _messages(facts):
        yield Finding("V4", message)


def _messages(facts: Facts) -> Iterator[str]:
    for session in facts.sessions:
        yield from _strays(session, facts.clock(session.start))
    for session in facts.sessions_ahead:
        yield from _unknown(facts, session)
    for sitting in facts.ahead:
        chain = Chain.of(sitting)
        yield from chain.flaws
        yield from _order(facts, sitting, chain)
        yield from _fed(sitting, chain)
        yield from _room(sitting, chain)
        if sitting.kind == "second":
            yield from _pause(facts, sitting)
        if sitting.kind == "whole" and any(s.pause_least for s in sitting.product.steps):
            yield f"{sitting.where}: {sitting.run.product} cannot be finished in one sitting."


def _strays(session: Session, where: str) -> Iterator[str]:
    runs = {run.id for run in session.runs}
    for task in session.tasks:
        if task.run is not None and task.run not in runs:
            yield f'{where}: the task {task.id} belongs to no run of the session ("{task.run}").'


def _unknown(facts: Facts, session: Session) -> Iterator[str]:
    where = facts.clock(session.start)
    for run in session.runs:
        if facts.library.find_product(run.product) is None:
            yield f'{where}: no crop file knows the product "{run.product}".'


@dataclass(frozen=True)
class Chain:
    """Tasks of a sitting beside their steps: of the run, by batch, by group packed together."""

    run: tuple[tuple[int, Task], ...]
    batches: dict[int | None, tuple[tuple[int, Task], ...]]
    groups: dict[int | None, tuple[tuple[int, Task], ...]]
    flaws: tuple[str, ...]

    @classmethod
    def of(cls, sitting: Sitting) -> Chain:
        run: list[Task] = []
        batches: dict[int | None, list[Task]] = defaultdict(list)
        groups: dict[int | None, list[Task]] = defaultdict(list)
        for task in sitting.tasks:
            if task.step in KITCHEN_STEPS:
                continue  # the kitchen's own, judged by what it is for
            if task.step in RUN_STEPS:
                run.append(task)
            elif task.step in PACK_STEPS:
                groups[task.batch].append(task)
            else:
                batches[task.batch].append(task)
        flaws: list[str] = []
        run_steps = [(i, s) for i, s in sitting.steps if s.step in RUN_STEPS]
        packing = [(i, s) for i, s in sitting.steps if s.step in PACK_STEPS]
        steps = [(i, s) for i, s in sitting.steps if s.step not in (*RUN_STEPS, *PACK_STEPS)]
        if packing and not groups:
            groups[None] = []
        if any(_must_be(step) for _, step in steps) and not batches:
            batches[1] = []
        return cls(
            run=_matched(sitting, run_steps, run, of="", flaws=flaws),
            batches={
                b: _matched(sitting, steps, batches[b], of=f" of batch {b}", flaws=flaws)
                for b in sorted(batches, key=_numbered)
            },
            groups={
                g: _matched(
                    sitting, packing, groups[g], of=f" of packing group {g or 1}", flaws=flaws
                )
                for g in sorted(groups, key=_numbered)
            },
            flaws=tuple(flaws),
        )


def _numbered(batch: int | None) -> int:
    return batch or 0


def _must_be(step: Step) -> bool:
    """A step on a batch that takes no time may be left out of the tasks."""
    return step.step in OWN_TIME or work_seconds(step, 1.0) > 0


def _matched(
    sitting: Sitting,
    steps: Sequence[tuple[int, Step]],
    tasks: Sequence[Task],
    *,
    of: str,
    flaws: list[str],
) -> tuple[tuple[int, Task], ...]:
    """Steps with their tasks in the chain's order; a step that comes twice takes them by time."""
    left: dict[str, list[Task]] = defaultdict(list)
    for task in sorted(tasks, key=lambda task: (task.start, task.end)):
        left[task.step].append(task)
    pairs = []
    for index, step in steps:
        if left[step.step]:
            pairs.append((index, left[step.step].pop(0)))
        elif _must_be(step) or step.step in (*RUN_STEPS, *PACK_STEPS):
            flaws.append(f'{sitting.where}: the step "{step.step}"{of} is missing.')
    for extra in (task for tasks in left.values() for task in tasks):
        flaws.append(f'{sitting.where}: the task {extra.id} ("{extra.step}"{of}) is one too many.')
    return tuple(pairs)


def _order(facts: Facts, sitting: Sitting, chain: Chain) -> Iterator[str]:
    for path in (*chain.batches.values(), *chain.groups.values()):
        whole = sorted((*chain.run, *path), key=lambda pair: pair[0])
        for (_, before), (_, after) in pairwise(whole):
            if after.start < before.end:
                yield (
                    f"{sitting.where}: {after.id} begins at {facts.clock(after.start)}, before "
                    f"{before.id} ends at {facts.clock(before.end)}."
                )
        for (_, before), (_, after) in pairwise(path):
            late = (after.start - before.end).total_seconds()
            if (before.step, after.step) == (Blanch.name, Cool.name) and late > 0:
                yield (
                    f"{sitting.where}: batch {after.batch} waits {late:.0f} s between blanching "
                    "and cooling; it is cooled at once."
                )


@dataclass(frozen=True)
class Feed:
    """Batch `batch` goes, at least in part, into the packing group `group`."""

    batch: int | None
    group: int | None


def feeds(sitting: Sitting, chain: Chain) -> Iterator[Feed]:
    """Which batches fill which groups: food is packed in the order of its batches' numbers."""
    share = sitting.share_before(len(sitting.product.steps))
    slack = 1 + len(chain.batches) / 2  # each batch's grams are rounded
    begin = 0.0
    for batch, path in chain.batches.items():
        if not path:
            continue
        index, task = path[0]
        end = begin + task.grams * share / sitting.share_before(index)
        filled = 0
        for group, packing in chain.groups.items():
            before, filled = filled, filled + (packing[0][1].grams if packing else 0)
            if min(end, filled) - max(begin, before) > slack:
                yield Feed(batch, group)
        begin = end


def _fed(sitting: Sitting, chain: Chain) -> Iterator[str]:
    """Food is at the packing table before it is packed."""
    for feed in feeds(sitting, chain):
        path, packing = chain.batches[feed.batch], chain.groups[feed.group]
        if packing and packing[0][1].start < path[-1][1].end:
            yield (
                f"{sitting.where}: {packing[0][1].id} packs food of batch {feed.batch} before "
                f"{path[-1][1].id} has ended."
            )


def _room(sitting: Sitting, chain: Chain) -> Iterator[str]:
    """The waits in the room of each batch, from the first cut to the cold, sum to two hours."""
    paths = [(f"batch {batch}", tuple(path)) for batch, path in chain.batches.items()]
    for feed in feeds(sitting, chain):
        path = (*chain.batches[feed.batch], *chain.groups[feed.group])
        paths.append((f"batch {feed.batch}", path))
    if not chain.batches:
        paths = [(f"packing group {g or 1}", tuple(path)) for g, path in chain.groups.items()]
    for name, path in paths:
        stood = _stood([task for _, task in path])
        if stood > ROOM_LIMIT:
            yield (
                f"{sitting.where}: {name} stands {stood.total_seconds() / 60:.1f} min in the room; "
                f"{ROOM_LIMIT.total_seconds() / 60:.0f} min are the limit."
            )


def _stood(path: Sequence[Task]) -> dt.timedelta:
    stood = dt.timedelta()
    since: dt.datetime | None = None
    for task in path:
        if task.step in CONTROLLED:
            if since is not None:
                stood += max(dt.timedelta(), task.start - since)
            since = None if task.step in FINAL else task.end
        elif since is None and task.step in CUTS:
            since = task.end
        elif since is None and task.step in WARMS:
            since = task.start  # taken cold from the fridge, it warms from the start
    return stood


def _pause(facts: Facts, sitting: Sitting) -> Iterator[str]:
    """A second sitting follows within the time the food may wait chilled or on trays."""
    pause, first = sitting.pause, sitting.first
    if pause is None or sitting.product.steps[pause].pause_limit is None:
        yield f"{sitting.where}: the chain has no step after which a second sitting may follow."
        return
    begun = next((s for s in facts.sittings if first and s.run.id == first.id), None)
    name = sitting.product.steps[pause].step
    if name == TrayFreeze.name:
        return  # V18
    paused = begun.tasks_of(name) if begun else []
    if begun is None or not paused or not sitting.tasks:
        yield f'{sitting.where}: no first sitting is found that ends with "{name}".'
        return
    limit = sitting.product.steps[pause].pause_limit
    start = min(task.start for task in sitting.tasks)
    least = sitting.product.steps[pause].pause_least
    rested = (start - max(task.end for task in paused)).total_seconds()
    if least is not None and rested < least.value:
        yield (
            f"{sitting.where}: the second sitting begins {rested / 3600:.1f} h after the "
            f'"{name}" of the first; it takes {least.value / 3600:.1f} h at least.'
        )
    if start < max(task.end for task in paused):
        yield f"{sitting.where}: the second sitting begins before the first has ended."
    waited = (start - min(task.end for task in paused)).total_seconds()
    if limit is not None and waited > limit.value:
        yield (
            f"{sitting.where}: the second sitting begins {waited / 3600:.1f} h after the "
            f'"{name}" of the first; {limit.value / 3600:.1f} h are the limit.'
        )
