"""How much work a run is, as a function of its pouches: hands, equipment and its longest path."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from harvestplan.kitchen.fillings import fillings
from harvestplan.kitchen.layout import Layout, Sitting, lay_out
from harvestplan.kitchen.pot import Blancher
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.blanch import MOST_POTFULS, Blanch
from harvestplan.kitchen.steps.set_up import SET_UP

Machine = frozenset[str]
"""Units of which a task holds one: both pots, the sink, the sealer."""


@dataclass(frozen=True)
class Work:
    """Seconds of one run in one sitting: hands, each machine per unit, longest path.

    `heads` and `tails` are the least seconds before and after the tasks of each machine; `heat` is
    what each machine takes per unit to be filled and to come to the boil for it, beyond the setting
    up, once for all of a session's runs; `water` its potfuls' shares of all fillings of each
    machine per unit, the setting up included.
    """

    hand: int
    machine: tuple[int, ...]
    heat: tuple[int, ...]
    path: int
    heads: tuple[int, ...]
    tails: tuple[int, ...]
    water: tuple[int, ...] = ()

    def fits(self, room: int, hands: int) -> bool:
        """Whether a window with `room` seconds could hold it (necessary, not sufficient)."""
        return self.hand <= hands * room and self.path <= room


def machine_seconds(works: Sequence[Work], index: int) -> int:
    """Seconds that the works need one machine or wait for it: the least head, or until it boils,
    all bodies, the least tail."""
    held = [work for work in works if work.machine[index]]
    if not held:
        return 0
    bodies = sum(work.machine[index] for work in held)
    head = max(min(w.heads[index] for w in held), *(w.heat[index] for w in held))
    return head + bodies + min(w.tails[index] for w in held)


class WorkTable:
    """Work of each process, laid out once per sitting and number of pouches."""

    def __init__(self, processes: Sequence[Process]) -> None:
        self.processes = tuple(processes)
        self.machines = _machines(self.processes)
        self._layouts: dict[tuple[int, Sitting, int, int, str | None], Layout] = {}
        self._work: dict[tuple[int, Sitting, int], Work] = {}

    def raw(self, process: int, pouches: int) -> int:
        """Raw grams behind so many full pouches."""
        return self.processes[process].raw(pouches)

    def layout(
        self, process: int, sitting: Sitting, raw: int, *, pouches: int, freezer: str | None
    ) -> Layout:
        key = (process, sitting, raw, pouches, freezer)
        if key not in self._layouts:
            self._layouts[key] = lay_out(
                self.processes[process], raw, pouches, sitting=sitting, freezer=freezer
            )
        return self._layouts[key]

    def of(self, process: int, sitting: Sitting, pouches: int) -> Work:
        key = (process, sitting, pouches)
        if key not in self._work:
            raw = self.raw(process, pouches)
            layout = self.layout(process, sitting, raw, pouches=pouches, freezer=None)
            self._work[key] = _work(layout, self.machines, self.processes[process].kitchen.pots)
        return self._work[key]


def _machines(processes: Sequence[Process]) -> tuple[Machine, ...]:
    """Every set of units that some task chooses from, in a fixed order."""
    sets = {frozenset(names) for process in processes for names in process.vessels.values()}
    for process in processes:
        for step, rooms in process.smaller.items():
            sets |= {frozenset(process.units(step, grams)) for grams in rooms.values()}
    return tuple(sorted((names for names in sets if names), key=sorted))


def _work(layout: Layout, machines: Sequence[Machine], pots: Sequence[Blancher]) -> Work:
    bodies, heats, heads, tails = [], [], [], []
    boiling = {pot.name: _boils(pot, layout) for pot in pots}
    ends, afters = _chain_seconds(layout, boiling), _tail_seconds(layout)
    for machine in machines:
        held = [task for task in layout.tasks if task.units and machine.issuperset(task.units)]
        bodies.append(sum(task.seconds for task in held) // len(machine))
        heat = sum(boiling.get(unit, 0) for unit in machine) if held else 0
        heats.append(heat // len(machine))
        heads.append(min((ends[task.key] - task.seconds for task in held), default=0))
        tails.append(min((afters[task.key] for task in held), default=0))
    firsts = map(max, heads, heats)
    paths = (first + b + t for first, b, t in zip(firsts, bodies, tails, strict=True) if b)
    path = max([*paths, max(ends.values(), default=0)])
    return Work(
        layout.hand_seconds(),
        tuple(bodies),
        tuple(heats),
        path=path,
        heads=tuple(heads),
        tails=tuple(tails),
        water=tuple(_water(layout, machine, pots) for machine in machines),
    )


def _water(layout: Layout, machine: Machine, pots: Sequence[Blancher]) -> int:
    """Seconds per unit that the potfuls share in filling and heating: so many have one water."""
    potfuls = sum(
        task.step == Blanch.name and machine.issuperset(task.units) for task in layout.tasks
    )
    fills = [
        each.fill.seconds + each.heat.seconds
        for pot in pots
        if pot.name in machine
        for each in fillings(pot, layout.tasks)
    ]
    return potfuls * min(fills, default=0) // (MOST_POTFULS * len(machine))


def _boils(pot: Blancher, layout: Layout) -> int:
    """Seconds after the setting up until a pot boils at the earliest; 0 where nothing needs it.

    The water may be put on while the kitchen is set up: only what it takes longer counts.
    """
    ready = (each.fill.seconds + each.heat.seconds for each in fillings(pot, layout.tasks))
    return max(0, min(ready, default=0) - SET_UP)


def _chain_seconds(layout: Layout, boiling: Mapping[str, int]) -> dict[str, int]:
    """Earliest end of each task by links alone; nothing is blanched before a pot is `boiling`."""
    ends: dict[str, int] = {}
    befores: dict[str, list[str]] = {}
    for link in layout.links:
        if not link.at_start:
            befores.setdefault(link.after, []).append(link.before)
    for task in layout.tasks:
        start = max((ends[key] for key in befores.get(task.key, ())), default=0)
        if task.step == Blanch.name:
            start = max(start, min((boiling.get(unit, 0) for unit in task.units), default=0))
        ends[task.key] = start + task.seconds
    return ends


def _tail_seconds(layout: Layout) -> dict[str, int]:
    """Seconds that must follow each task's end by links alone."""
    tails = {task.key: 0 for task in layout.tasks}
    seconds = {task.key: task.seconds for task in layout.tasks}
    afters: dict[str, list[str]] = {}
    for link in layout.links:
        if not link.at_start:
            afters.setdefault(link.before, []).append(link.after)
    for task in reversed(layout.tasks):
        follow = (tails[key] + seconds[key] for key in afters.get(task.key, ()))
        tails[task.key] = max(follow, default=0)
    return tails
