"""A run's tasks: batches, durations, hands, equipment and the rules between them.

Times are whole ticks of `TICK` seconds, rounded up. The schedule decides when; this module only
says what there is to do and what must hold.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Literal

from harvestplan.inputs.crops import Step
from harvestplan.kitchen.added import added_items
from harvestplan.kitchen.batches import Batch, Begun, Group, rounds, split
from harvestplan.kitchen.hazards import handles_raw_meat, is_eaten_raw
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.all_steps import kind_of
from harvestplan.kitchen.steps.blanch import STRENGTH
from harvestplan.kitchen.steps.step_kind import Amount, Beside
from harvestplan.plan.models import AddedItem

TICK = 30
ROOM_LIMIT = 2 * 3600
"""Cut, blanched or cooked food stays in the room two hours in all (USDA / eatright.org)."""

Sitting = Literal["whole", "first", "second"]


@dataclass(frozen=True)
class TaskSpec:
    """One task before it has a time. `units` are the names of equipment, one of which it holds."""

    key: str
    step: str
    batch: int | None
    seconds: int
    hands: int
    units: tuple[str, ...]
    grams: int
    settings: dict[str, Any] = field(default_factory=dict)
    ingredients: tuple[AddedItem, ...] = ()


@dataclass(frozen=True)
class Link:
    """`after` starts when `before` has ended, at once where `no_wait`; or (`at_start`) `lag`
    seconds after its start. Where `same_unit`, it holds the unit that `before` held."""

    before: str
    after: str
    no_wait: bool = False
    at_start: bool = False
    lag: int = 0
    same_unit: bool = False

    @property
    def rigid(self) -> bool:
        """Whether the one's time fixes the other's."""
        return self.no_wait or self.at_start


@dataclass(frozen=True)
class RoomLimit:
    """The waits from the end of each first task to the start of each second sum to ≤ seconds."""

    waits: tuple[tuple[str, str], ...]
    seconds: int


@dataclass(frozen=True)
class Food:
    """What a kitchen has to know of a run's food: its crop, what it does to water (0 mild, 1
    strong, 2 colours), whether it is raw meat, poultry or fish, and whether it is eaten raw."""

    crop: str
    strength: int = 0
    raw_meat: bool = False
    eaten_raw: bool = False


@dataclass(frozen=True)
class Layout:
    """A run's tasks, the order between them, how long its food may stand, and what it is.

    `packs` says which batch goes into which packing group: keys of the batch's last task and of the
    group's first.
    """

    tasks: tuple[TaskSpec, ...]
    links: tuple[Link, ...]
    limits: tuple[RoomLimit, ...]
    food: Food
    packs: tuple[tuple[str, str], ...] = ()

    def hand_seconds(self) -> int:
        return sum(task.seconds * task.hands for task in self.tasks)


def ticks(seconds: float) -> int:
    """Seconds rounded up to whole ticks, as seconds."""
    return math.ceil(seconds / TICK - 1e-9) * TICK


def lay_out(
    process: Process,
    raw_grams: int,
    pouches: int,
    *,
    sitting: Sitting,
    freezer: str | None,
    begun: Begun | None = None,
) -> Layout:
    """Tasks of a run that fills `pouches` from `raw_grams` of raw food in one sitting.

    A first sitting ends with the chain's pause step; a second begins after it. The last pouch may
    be part-full. Of a run that is `begun` these are the first batches as planned, the last perhaps
    smaller, and its begun packing groups; tasks that both have keep their keys.
    """
    now = Begun(raw_grams, pouches, 0, before=begun)
    batches, groups = split(process, now)
    builder = _Builder(
        process, raw_grams, batches, groups=groups, freezer=freezer, rounds=rounds(process, now)
    )
    pause = process.pause
    for index, step in enumerate(process.product.steps):
        if pause is None or sitting == "whole" or (index <= pause) == (sitting == "first"):
            builder.add_step(index, step)
    return builder.finish()


def food_of(process: Process) -> Food:
    """What a kitchen has to know of a process's food."""
    crop, product = process.crop, process.product
    return Food(
        crop=crop.name,
        strength=STRENGTH[crop.in_water],
        raw_meat=handles_raw_meat(crop, product),
        eaten_raw=is_eaten_raw(crop, product),
    )


class _Builder:
    """Collects tasks step by step, remembering what each batch's last task was."""

    def __init__(
        self,
        process: Process,
        raw: int,
        batches: list[Batch],
        *,
        groups: list[Group],
        freezer: str | None,
        rounds: int,
    ) -> None:
        self.process = process
        self.rounds = rounds
        self.raw = raw
        self.batches = batches
        self.groups = groups
        self.freezer = freezer
        self.tasks: list[TaskSpec] = []
        self.links: list[Link] = []
        self.run_last: str | None = None
        self.batch_last: dict[int, str] = {}
        self.steps: dict[str, str] = {}
        self.group_last: dict[int, str] = {}
        self.path: dict[int, list[TaskSpec]] = {batch.number: [] for batch in batches}
        self.group_path: dict[int, list[TaskSpec]] = {group.number: [] for group in groups}

    def add_step(self, index: int, step: Step) -> None:
        scope = kind_of(step.step).scope
        if scope == "run":
            self._add_run_step(index, step)
        elif scope == "batch":
            self._add_batch_step(index, step)
        else:
            self._add_group_step(index, step)

    def _add_run_step(self, index: int, step: Step) -> None:
        grams = self.raw * self.process.share_before(index)
        time = kind_of(step.step).time(self.process, step, Amount(grams, freezer=self.freezer))
        task = TaskSpec(
            key=f"{index}.{step.step}",
            step=step.step,
            batch=None,
            seconds=ticks(time.seconds),
            hands=step.hands,
            units=self.process.vessels.get(step.step, ()),
            grams=round(grams),
            settings=time.settings.as_json(),
            ingredients=added_items(step, grams, time.settings),
        )
        self.tasks.append(task)
        if self.run_last:
            self.links.append(Link(self.run_last, task.key))
        self.run_last = task.key

    def _add_batch_step(self, index: int, step: Step) -> None:
        share = self.process.share_before(index)
        for batch in self.batches:
            task = self._batch_task(index, step, batch, grams=batch.raw * share)
            if task.seconds == 0:
                continue
            before = self.batch_last.get(batch.number, self.run_last)
            self.tasks.append(task)
            self.path[batch.number].append(task)
            if before:
                at_once = self.steps.get(before, "") in kind_of(step.step).at_once_after
                self.links.append(Link(before, task.key, no_wait=at_once))
            self.batch_last[batch.number] = task.key
            self.steps[task.key] = step.step
            self._add_beside(index, step, task)

    def _add_beside(self, index: int, step: Step, task: TaskSpec) -> None:
        """The kitchen's work that goes with a task."""
        amount = Amount(task.grams, freezer=self.freezer)
        assert task.batch is not None
        for number, beside in enumerate(kind_of(step.step).beside(self.process, amount)):
            turn = f".{number}" if number else ""
            work = TaskSpec(
                key=f"{index}.{beside.step}-{task.batch}{turn}",
                step=beside.step,
                batch=task.batch,
                seconds=ticks(beside.seconds),
                hands=beside.hands,
                units=task.units if beside.after else (),
                grams=task.grams,
                settings=beside.settings.as_json(),
            )
            self.tasks.append(work)
            self.links.append(_beside(task, work, beside))
            if beside.after:
                self.batch_last[task.batch] = work.key

    def _batch_task(self, index: int, step: Step, batch: Batch, *, grams: float) -> TaskSpec:
        time = kind_of(step.step).time(self.process, step, Amount(grams, freezer=self.freezer))
        return TaskSpec(
            key=f"{index}.{step.step}-{batch.number}",
            step=step.step,
            batch=batch.number,
            seconds=ticks(time.seconds),
            hands=step.hands,
            units=self.process.units(step.step, grams),
            grams=round(grams),
            settings=time.settings.as_json(),
            ingredients=added_items(step, grams, time.settings),
        )

    def _add_group_step(self, index: int, step: Step) -> None:
        for group in self.groups:
            task = self._group_task(index, step, group)
            befores = self._befores(group)
            self.tasks.append(task)
            self.group_path[group.number].append(task)
            self.links.extend(Link(before, task.key) for before in befores)
            self.group_last[group.number] = task.key

    def _befores(self, group: Group) -> list[str]:
        if group.number in self.group_last:
            return [self.group_last[group.number]]
        # What the groups before left over of their batches goes into this one.
        found = [self.batch_last[n] for n in range(1, group.last + 1) if n in self.batch_last]
        return found or ([self.run_last] if self.run_last else [])

    def _group_task(self, index: int, step: Step, group: Group) -> TaskSpec:
        # The fixed part of a run's step is shared out over its groups, as they were planned.
        amount = Amount(
            group.grams, pouches=group.pouches, rounds=self.rounds, freezer=self.freezer
        )
        time = kind_of(step.step).time(self.process, step, amount)
        # A group is counted as packed; what is added goes by what enters the step.
        share = self.process.product.packed_share / self.process.share_before(index)
        entering = group.grams / share
        return TaskSpec(
            key=f"{step.step}-g{group.number}",
            step=step.step,
            batch=None if self.rounds == 1 else group.number,
            seconds=max(TICK, ticks(time.seconds)),
            hands=step.hands,
            units=self.process.vessels.get(step.step, ()),
            grams=group.grams,
            settings=time.settings.as_json(),
            ingredients=added_items(step, entering, time.settings),
        )

    def finish(self) -> Layout:
        shelf, dried = self.process.product.storage == "shelf", self.process.dryer is not None
        limits = self._room_limits() if dried or not shelf else []
        return Layout(
            tuple(self.tasks),
            tuple(self.links),
            tuple(limits),
            food=food_of(self.process),
            packs=tuple(self._packs()),
        )

    def _packs(self) -> Iterator[tuple[str, str]]:
        for batch in self.batches:
            path = self.path[batch.number]
            for packing in self._packings_of(batch):
                if path and packing:
                    yield path[-1].key, packing[0].key

    def _room_limits(self) -> list[RoomLimit]:
        """For each batch the waits in the room, from the first cut to the cold."""
        limits: list[RoomLimit] = []
        for batch in self.batches:
            for packing in self._packings_of(batch):
                path = [*self.path[batch.number], *packing]
                waits = _waits(path)
                if not waits:
                    continue
                # Food taken cold from the fridge stands in the room while it is portioned, too.
                opener = next(task for task in path if task.key == waits[0][0])
                spent = opener.seconds if kind_of(opener.step).warms else 0
                # What was cooked is half cold within the same two hours: snhd-cool.
                stages = [kind_of(task.step).stage_seconds(self.process) for task in path]
                limits.append(RoomLimit(tuple(waits), ROOM_LIMIT - math.ceil(max(spent, *stages))))
        return list(dict.fromkeys(limits))

    def _packings_of(self, batch: Batch) -> list[list[TaskSpec]]:
        """Tasks of each group that packs some of this batch: it is packed in the batches' order."""
        total = sum(group.pouches for group in self.groups)
        before, after = (
            self.process.packed(sum(b.raw for b in self.batches if b.number <= last), total)
            for last in (batch.number - 1, batch.number)
        )
        found, filled = [], 0
        for group in self.groups:
            begun, filled = filled, filled + group.grams
            if begun < after and (filled > before or group is self.groups[-1]):
                found.append(self.group_path[group.number])
        return found or [[]]


def _beside(task: TaskSpec, work: TaskSpec, beside: Beside) -> Link:
    if beside.after:
        return Link(task.key, work.key, no_wait=True, same_unit=True)
    return Link(task.key, work.key, at_start=True, lag=ticks(beside.at))


def _waits(path: list[TaskSpec]) -> list[tuple[str, str]]:
    """Pairs (task whose end opens a wait, task whose start closes it)."""
    waits: list[tuple[str, str]] = []
    opened: str | None = None
    for task in path:
        kind = kind_of(task.step)
        if kind.controlled:
            if opened is not None:
                waits.append((opened, task.key))
            opened = None if kind.final else task.key
        elif opened is None and kind.opens:
            opened = task.key
    # A sitting that ends with a pause step leaves the food cold: nothing stays open.
    return waits
