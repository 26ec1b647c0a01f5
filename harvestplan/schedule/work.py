"""How much work a run is, as a function of its pouches: hands, equipment and its longest path."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from harvestplan.kitchen.layout import Layout, Sitting, lay_out
from harvestplan.kitchen.process import GROUP_STEPS, Process

SET_UP = 20 * 60
CLEAN_UP = 20 * 60
"""Seconds before and after every session (common practice, no source)."""
MACHINES = ("blanch", "simmer", "cool", "chill", "roast", "seal")
"""Steps that hold equipment."""


@dataclass(frozen=True)
class Work:
    """Seconds of one run in one sitting: hands, each machine step per unit, longest path."""

    hand: int
    machine: tuple[int, ...]
    path: int

    def fits(self, room: int, hands: int) -> bool:
        """Whether a window with `room` seconds could hold it (necessary, not sufficient)."""
        return self.hand <= hands * room and self.path <= room and max(self.machine) <= room


class WorkTable:
    """Work of each process, laid out once per sitting and number of pouches."""

    def __init__(self, processes: Sequence[Process]) -> None:
        self.processes = tuple(processes)
        self._layouts: dict[tuple[int, Sitting, int, int], Layout] = {}
        self._work: dict[tuple[int, Sitting, int], Work] = {}

    def raw(self, process: int, pouches: int) -> int:
        """Raw grams behind so many full pouches."""
        return self.processes[process].raw_per_portion * pouches

    def layout(
        self, process: int, sitting: Sitting, raw: int, pouches: int, freezer: str | None
    ) -> Layout:
        return lay_out(self.processes[process], raw, pouches, sitting, freezer)

    def of(self, process: int, sitting: Sitting, pouches: int) -> Work:
        key = (process, sitting, pouches)
        if key not in self._work:
            raw = self.raw(process, pouches)
            layout = self.layout(process, sitting, raw, pouches, None)
            self._work[key] = _work(layout)
        return self._work[key]


def _work(layout: Layout) -> Work:
    machine = []
    for step in MACHINES:
        units = max((len(t.units) for t in layout.tasks if t.step == step), default=1)
        machine.append(layout.unit_seconds(step) // max(1, units))
    return Work(layout.hand_seconds(), tuple(machine), longest_path(layout))


def longest_path(layout: Layout) -> int:
    """A lower bound on the run's length: what must come before the first batch of its busiest
    machine step, that step's whole time on its units, and what must follow the last batch."""
    chains = _chain_seconds(layout)
    bound = max(chains.values(), default=0)
    for step in MACHINES:
        tasks = [task for task in layout.tasks if task.step == step and task.batch is not None]
        if len(tasks) < 2 or step in GROUP_STEPS:
            continue
        before, after = _around(layout, step)
        units = max(1, len(tasks[0].units))
        bound = max(bound, before + sum(t.seconds for t in tasks) // units + after)
    return bound


def _chain_seconds(layout: Layout) -> dict[str, int]:
    """Earliest end of each task by links alone."""
    ends: dict[str, int] = {}
    befores: dict[str, list[str]] = {}
    for link in layout.links:
        befores.setdefault(link.after, []).append(link.before)
    for task in layout.tasks:
        start = max((ends[key] for key in befores.get(task.key, ())), default=0)
        ends[task.key] = start + task.seconds
    return ends


def _around(layout: Layout, step: str) -> tuple[int, int]:
    """Least seconds before any batch's `step` and after the last batch's `step`."""
    ends = _chain_seconds(layout)
    tasks = [task for task in layout.tasks if task.step == step]
    before = min(ends[task.key] - task.seconds for task in tasks)
    tails = _tail_seconds(layout)
    return before, min(tails[task.key] for task in tasks)


def _tail_seconds(layout: Layout) -> dict[str, int]:
    """Seconds that must follow each task's end by links alone."""
    tails = {task.key: 0 for task in layout.tasks}
    seconds = {task.key: task.seconds for task in layout.tasks}
    afters: dict[str, list[str]] = {}
    for link in layout.links:
        afters.setdefault(link.before, []).append(link.after)
    for task in reversed(layout.tasks):
        follow = (tails[key] + seconds[key] for key in afters.get(task.key, ()))
        tails[task.key] = max(follow, default=0)
    return tails
