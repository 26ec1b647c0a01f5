"""A first layout by list scheduling: each task, in its order, at the earliest moment that fits.

Serial schedule generation (Kolisch & Hartmann 1999) with no-wait blocks placed together. It keeps
order, units, hands and other pools; where a room limit breaks, it finds nothing and the solver
must.
"""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np

from harvestplan.kitchen.layout import TICK, TaskSpec

if TYPE_CHECKING:
    from harvestplan.schedule.session.tasks import SessionTasks, TaskTime


def list_schedule(session: SessionTasks) -> dict[str, TaskTime] | None:
    """Times that keep every rule within the session's length, or None."""
    if any(task.seconds % TICK for task in session.tasks):
        return None
    board = _Board(session)
    if not board.place_fixed():
        return None
    for block in _blocks(session):
        if block[0].key not in session.fixed and not board.place(block):
            return None
    return board.times if board.limits_hold() else None


def _blocks(session: SessionTasks) -> list[list[TaskSpec]]:
    """Tasks in an order that respects the links; no-wait followers ride in their block."""
    by_key = {task.key: task for task in session.tasks}
    follower = {link.before: link.after for link in session.links if link.no_wait}
    followers = set(follower.values())
    waiting: dict[str, set[str]] = defaultdict(set)
    for link in session.links:
        if not link.no_wait:
            waiting[link.after].add(link.before)
    blocks: list[list[TaskSpec]] = []
    placed: set[str] = set()
    left = [task for task in session.tasks if task.key not in followers]
    while left:
        ready = next((task for task in left if waiting[task.key] <= placed), left[0])
        block = [ready]
        while block[-1].key in follower:
            block.append(by_key[follower[block[-1].key]])
        left.remove(ready)
        placed.update(task.key for task in block)
        blocks.append(block)
    return blocks


class _Board:
    """Ticks of pools and units already taken."""

    def __init__(self, session: SessionTasks) -> None:
        self.session = session
        self.slots = session.length // TICK
        self.pools = [(pool, np.zeros(self.slots, dtype=np.int64)) for pool in session.shared()]
        self.taken: dict[str, np.ndarray[tuple[int], np.dtype[np.bool_]]] = {}
        self.times: dict[str, TaskTime] = {}
        self.before: dict[str, list[str]] = defaultdict(list)
        for link in session.links:
            self.before[link.after].append(link.before)
        self.seconds = {task.key: task.seconds for task in session.tasks}

    def place_fixed(self) -> bool:
        """Place what stands already; False where it ends too late or is on no tick."""
        for task in self.session.tasks:
            timed = self.session.fixed.get(task.key)
            if timed is None:
                continue
            if timed.start % TICK or timed.start + task.seconds > self.session.length:
                return False
            self._take(task, timed.start // TICK, timed.unit)
        return True

    def place(self, block: list[TaskSpec]) -> bool:
        """Place the block as early as it fits; False where it does not."""
        keys = {task.key for task in block}
        offsets, total = [], 0
        for task in block:
            offsets.append(total)
            total += task.seconds // TICK
        earliest = -(-self.session.earliest // TICK)
        for task, offset in zip(block, offsets, strict=True):
            for key in self.before[task.key]:
                if key not in keys:
                    end = (self.times[key].start + self.seconds[key]) // TICK
                    earliest = max(earliest, end - offset)
        for slot in range(earliest, self.slots - total + 1):
            units = [self._unit_at(t, slot + o) for t, o in zip(block, offsets, strict=True)]
            if all(unit is not False for unit in units):
                for task, offset, unit in zip(block, offsets, units, strict=True):
                    self._take(task, slot + offset, unit if isinstance(unit, str) else None)
                return True
        return False

    def _unit_at(self, task: TaskSpec, slot: int) -> str | bool | None:
        """The unit free for the task from `slot`; None where it needs none; False if blocked."""
        until = slot + task.seconds // TICK
        for pool, taken in self.pools:
            wanted = pool.uses.get(task.key, 0)
            if wanted and int(taken[slot:until].max(initial=0)) + wanted > pool.capacity:
                return False
        if not task.units:
            return None
        for unit in task.units:
            if unit not in self.taken or not self.taken[unit][slot:until].any():
                return unit
        return False

    def _take(self, task: TaskSpec, slot: int, unit: str | None) -> None:
        from harvestplan.schedule.session.tasks import TaskTime

        until = slot + task.seconds // TICK
        for pool, taken in self.pools:
            taken[slot:until] += pool.uses.get(task.key, 0)
        if unit is not None:
            self.taken.setdefault(unit, np.zeros(self.slots, dtype=np.bool_))[slot:until] = True
        self.times[task.key] = TaskTime(slot * TICK, unit)

    def limits_hold(self) -> bool:
        """Whether every room limit holds as placed."""
        for limit in self.session.limits:
            waited = sum(
                self.times[after].start - self.times[before].start - self.seconds[before]
                for before, after in limit.waits
            )
            if waited > limit.seconds or not math.isfinite(waited):
                return False
        return True
