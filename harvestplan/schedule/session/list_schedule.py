"""A first layout by list scheduling: each task, in its order, at the earliest moment that fits.

Serial schedule generation (Kolisch & Hartmann 1999) with rigid blocks placed together. It keeps
order, units, hands, other pools and what pots hold, raw meat last; where a room limit breaks, it
finds nothing and the solver must.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from harvestplan.kitchen.fillings import Filling
from harvestplan.kitchen.layout import TICK, TaskSpec
from harvestplan.kitchen.steps.blanch import MOST_POTFULS
from harvestplan.schedule.session.tasks import OnePotful, SessionTasks, TaskTime

Ticks = np.ndarray[tuple[int], np.dtype[np.int64]]


def list_schedule(session: SessionTasks, best: bool = False) -> dict[str, TaskTime] | None:
    """Times that keep every rule within the session's length: the first that are found in a few
    orders in which its runs may come, or the `best` of all; or None."""
    if any(task.seconds % TICK for task in session.every.values()):
        return None
    pots = {filling.pot for filling in session.fillings}
    if any(timed.unit in pots for timed in session.fixed.values()):
        return None  # what its pots hold by then is the solver's to say
    blocks = _rigid_blocks(session)
    found: list[dict[str, TaskTime]] = []
    for order in _orders(session):
        in_order = _in_order(session, blocks, order)
        times = None if in_order is None else _schedule(session, in_order)
        if times is not None:
            found.append(times)
            if not best:
                break
    return min(found, key=lambda times: _end(session, times), default=None)


def _schedule(session: SessionTasks, blocks: Sequence[_Block]) -> dict[str, TaskTime] | None:
    board = _Board(session)
    if not board.place_fixed():
        return None
    for block in blocks:
        if block.head.key not in session.fixed and not board.place(block):
            return None
    return board.times if board.limits_hold() and board.raw_is_last() else None


def _end(session: SessionTasks, times: Mapping[str, TaskTime]) -> int:
    return max(times[task.key].start + task.seconds for task in session.tasks)


def _orders(session: SessionTasks) -> Iterator[dict[str, int]]:
    """Ranks of the tasks: the runs as they come, then with the longest first, then backwards; raw
    meat is last in all of them."""
    seconds = {task.key: task.seconds for task in session.tasks}
    work = [sum(seconds[key] for key in run.keys) for run in session.runs]
    numbers = range(len(session.runs))
    ranks = ({n: n for n in numbers}, {n: -work[n] for n in numbers}, {n: -n for n in numbers})
    tried: list[list[int]] = []
    for rank in ranks:
        order = sorted(numbers, key=lambda n: (session.runs[n].food.raw_meat, rank[n]))
        if order not in tried:
            tried.append(order)
            yield {key: at + 1 for at, n in enumerate(order) for key in session.runs[n].keys}


@dataclass(frozen=True)
class _Block:
    """Tasks whose times are fixed to one another: each so many ticks after the block begins."""

    tasks: tuple[TaskSpec, ...]
    offsets: tuple[int, ...]
    same_unit: Mapping[str, str] = field(default_factory=dict)
    """By a task that which holds the same unit."""

    @property
    def head(self) -> TaskSpec:
        return self.tasks[0]

    @property
    def length(self) -> int:
        return max(o + t.seconds // TICK for t, o in zip(self.tasks, self.offsets, strict=True))


def _rigid_blocks(session: SessionTasks) -> list[_Block]:
    """The session's tasks in blocks whose times are fixed to one another."""
    by_key = {task.key: task for task in session.tasks}
    followers: dict[str, list[tuple[str, int]]] = defaultdict(list)
    inside = set()
    for link in session.links:
        if link.rigid:
            lag = (link.lag if link.at_start else by_key[link.before].seconds) // TICK
            followers[link.before].append((link.after, lag))
            inside.add(link.after)
    same = {link.after: link.before for link in session.links if link.same_unit}
    blocks = []
    for head in session.tasks:
        if head.key in inside:
            continue
        tasks, offsets = [head], [0]
        for task, offset in zip(tasks, offsets, strict=False):  # both grow while they are read
            for key, lag in followers.get(task.key, ()):
                tasks.append(by_key[key])
                offsets.append(offset + lag)
        blocks.append(_Block(tuple(tasks), tuple(offsets), same))
    return blocks


def _in_order(
    session: SessionTasks, blocks: Sequence[_Block], order: Mapping[str, int]
) -> list[_Block] | None:
    """The blocks by rank, each after all that comes before it; None where one is in the midst of
    another."""
    waiting: dict[str, set[str]] = defaultdict(set)
    for link in session.links:
        if not link.rigid:
            waiting[link.after].add(link.before)
    befores = {
        block.head.key: {key for task in block.tasks for key in waiting[task.key]}
        - {task.key for task in block.tasks}
        for block in blocks
    }
    last = len(order) + 1
    first = {"set-up": 0}
    left = sorted(blocks, key=lambda b: first.get(b.head.key, order.get(b.head.key, last)))
    sorted_blocks: list[_Block] = []
    placed: set[str] = set()
    while left:
        block = next((b for b in left if befores[b.head.key] <= placed), None)
        if block is None:
            return None
        left.remove(block)
        placed.update(task.key for task in block.tasks)
        sorted_blocks.append(block)
    return sorted_blocks


@dataclass
class _Pot:
    """What a pot holds from `free` (tick) on: a filling that has served `count` potfuls, the
    strongest of `strength`, or nothing. Only ever added to at its end."""

    spare: list[Filling]
    free: int = 0
    filling: Filling | None = None
    count: int = 0
    strength: int = 0

    def serves(self, potful: OnePotful) -> bool:
        """Whether the water that it holds is right for a potful."""
        return (
            self.filling is not None
            and self.filling.steam == potful.steam
            and self.count < MOST_POTFULS
            and self.strength <= potful.strength
        )


@dataclass(frozen=True)
class _Place:
    """A way to place a block: its first tick, the units, and what is done to a pot before."""

    slot: int
    units: Mapping[str, str | None]
    before: tuple[tuple[TaskSpec, int], ...] = ()
    filling: Filling | None = None


class _Board:
    """Ticks of pools and units already taken, and what pots hold."""

    def __init__(self, session: SessionTasks) -> None:
        self.session = session
        self.slots = session.length // TICK
        self.pools = [(pool, np.zeros(self.slots, dtype=np.int64)) for pool in session.shared()]
        self.taken: dict[str, Ticks] = {}
        self.times: dict[str, TaskTime] = {}
        self.before: dict[str, list[str]] = defaultdict(list)
        for link in session.links:
            self.before[link.after].append(link.before)
        self.seconds = {task.key: task.seconds for task in session.tasks}
        self.pots: dict[str, _Pot] = {}
        for filling in session.fillings:
            self.pots.setdefault(filling.pot, _Pot([])).spare.append(filling)
        self.open = {key for run in session.others for key in run.open}
        self.raw = {key for run in session.raw for key in run.open}

    def place_fixed(self) -> bool:
        """Place what stands already; False where it ends too late or is on no tick."""
        for task in self.session.every.values():
            timed = self.session.fixed.get(task.key)
            if timed is None:
                continue
            if timed.start % TICK or timed.start + task.seconds > self.session.length:
                return False
            self._take(task, timed.start // TICK, timed.unit)
        return True

    def place(self, block: _Block) -> bool:
        """Place the block as early as it fits; False where it does not."""
        earliest = self._earliest(block)
        ways = [way for way in self._ways(block, earliest) if way is not None]
        if not ways:
            return False
        way = min(ways, key=lambda way: (way.slot, len(way.before)))
        for task, slot in way.before:
            self._take(task, slot, task.units[0])
        for task, offset in zip(block.tasks, block.offsets, strict=True):
            self._take(task, way.slot + offset, way.units[task.key])
        self._keep_pot(block, way)
        return True

    def _earliest(self, block: _Block) -> int:
        keys = {task.key for task in block.tasks}
        earliest = -(-self.session.earliest // TICK)
        for task, offset in zip(block.tasks, block.offsets, strict=True):
            for key in self.before[task.key]:
                if key not in keys and key in self.times:
                    earliest = max(earliest, self._end_of(key) - offset)
            if task.key in self.raw:
                ends = (self._end_of(key) for key in self.open if key in self.times)
                earliest = max(earliest, max(ends, default=0) - offset)
        return earliest

    def _end_of(self, key: str) -> int:
        return (self.times[key].start + self.seconds[key]) // TICK

    def _ways(self, block: _Block, earliest: int) -> Iterator[_Place | None]:
        """Ways to place the block, one for each pot that its head may be in."""
        potful = next((task for task in block.tasks if task.key in self.session.potfuls), None)
        cooked = next((t for t in block.tasks if any(unit in self.pots for unit in t.units)), None)
        task = potful or cooked
        if task is None:
            yield self._fit(block, earliest, {})
            return
        for name in task.units:
            pot = self.pots.get(name)
            if pot is None:
                yield self._fit(block, earliest, {task.key: name})
            elif potful is None:
                yield self._cook(block, task, name, earliest=earliest)
            else:
                yield self._blanch(block, task, pot, earliest=earliest)

    def _cook(self, block: _Block, task: TaskSpec, name: str, *, earliest: int) -> _Place | None:
        pot = self.pots[name]
        before: tuple[tuple[TaskSpec, int], ...] = ()
        free = pot.free
        if pot.filling is not None:
            slot = self._room_for(pot.filling.empty, free)
            if slot is None:
                return None
            before = ((pot.filling.empty, slot),)
            free = slot + pot.filling.empty.seconds // TICK
        offset = block.offsets[block.tasks.index(task)]
        place = self._fit(block, max(earliest, free - offset), {task.key: name})
        return place and _Place(place.slot, place.units, before)

    def _blanch(self, block: _Block, task: TaskSpec, pot: _Pot, *, earliest: int) -> _Place | None:
        """In the water that the pot holds, or in new water where that comes sooner or must be."""
        potful = self.session.potfuls[task.key]
        offset = block.offsets[block.tasks.index(task)]
        ways = []
        held = pot.filling if pot.serves(potful) else None
        if held is not None:
            at = max(earliest, pot.free - offset)
            place = self._fit(block, at, {task.key: held.pot})
            ways.append(place and _Place(place.slot, place.units, (), held))
        ways.append(self._blanch_anew(block, task, pot, earliest=earliest))
        fitting = [way for way in ways if way is not None]
        return min(fitting, key=lambda way: way.slot, default=None)

    def _blanch_anew(
        self, block: _Block, task: TaskSpec, pot: _Pot, *, earliest: int
    ) -> _Place | None:
        steam = self.session.potfuls[task.key].steam
        new = next((filling for filling in pot.spare if filling.steam == steam), None)
        if new is None:
            return None
        before: list[tuple[TaskSpec, int]] = []
        free = pot.free
        if pot.filling is not None:
            slot = self._room_for(pot.filling.empty, free)
            if slot is None:
                return None
            before.append((pot.filling.empty, slot))
            free = slot + pot.filling.empty.seconds // TICK
        slot = self._room_for(new.fill, free)
        if slot is None:
            return None
        heat = slot + new.fill.seconds // TICK
        before += [(new.fill, slot), (new.heat, heat)]
        offset = block.offsets[block.tasks.index(task)]
        boils = heat + new.heat.seconds // TICK
        place = self._fit(block, max(earliest, boils - offset), {task.key: new.pot})
        return place and _Place(place.slot, place.units, tuple(before), new)

    def _keep_pot(self, block: _Block, way: _Place) -> None:
        """What the pots hold after the block."""
        for task, offset in zip(block.tasks, block.offsets, strict=True):
            pot = self.pots.get(way.units[task.key] or "")
            if pot is None:
                continue
            pot.free = way.slot + offset + task.seconds // TICK
            potful = self.session.potfuls.get(task.key)
            if potful is None:
                pot.filling = None
                continue
            assert way.filling is not None
            if pot.filling is not way.filling:
                pot.spare.remove(way.filling)
                pot.filling, pot.count, pot.strength = way.filling, 0, 0
            pot.count, pot.strength = pot.count + 1, max(pot.strength, potful.strength)

    def _room_for(self, task: TaskSpec, earliest: int) -> int | None:
        """The first tick from which there are hands for a task on a pot that is free."""
        earliest = max(earliest, -(-self.session.earliest // TICK))
        for slot in range(earliest, self.slots - task.seconds // TICK + 1):
            if self._shared_free(task, slot):
                return slot
        return None

    def _fit(self, block: _Block, earliest: int, chosen: Mapping[str, str]) -> _Place | None:
        """The first place from a tick on, with these units for these tasks and any for others."""
        for slot in range(max(earliest, 0), self.slots - block.length + 1):
            units: dict[str, str | None] = {}
            for task, offset in zip(block.tasks, block.offsets, strict=True):
                wanted = chosen.get(task.key) or units.get(block.same_unit.get(task.key, ""))
                unit = self._unit_at(task, slot + offset, wanted)
                if unit is False:
                    break
                units[task.key] = unit if isinstance(unit, str) else None
            else:
                return _Place(slot, units)
        return None

    def _unit_at(self, task: TaskSpec, slot: int, wanted: str | None) -> str | bool | None:
        """The unit free for the task from `slot`; None where it needs none; False if blocked."""
        if not self._shared_free(task, slot):
            return False
        if not task.units:
            return None
        until = slot + task.seconds // TICK
        for unit in task.units if wanted is None else (wanted,):
            if unit not in self.taken or not self.taken[unit][slot:until].any():
                return unit
        return False

    def _shared_free(self, task: TaskSpec, slot: int) -> bool:
        """Whether there are hands, and what else tasks share, from a tick on."""
        until = slot + task.seconds // TICK
        for pool, taken in self.pools:
            wanted = pool.uses.get(task.key, 0)
            if wanted and int(taken[slot:until].max(initial=0)) + wanted > pool.capacity:
                return False
        return True

    def _take(self, task: TaskSpec, slot: int, unit: str | None) -> None:
        until = slot + task.seconds // TICK
        for pool, taken in self.pools:
            taken[slot:until] += pool.uses.get(task.key, 0)
        if unit is not None:
            self.taken.setdefault(unit, np.zeros(self.slots, dtype=np.int64))[slot:until] = 1
        self.times[task.key] = TaskTime(slot * TICK, unit)
        self.seconds[task.key] = task.seconds

    def raw_is_last(self) -> bool:
        """Whether all other food is packed when what is raw is begun; what must be cleaned between
        is the solver's to say."""
        begun = min((self.times[key].start // TICK for key in self.raw), default=self.slots)
        return all(self._end_of(key) <= begun for key in self.open)

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
