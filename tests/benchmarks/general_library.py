"""The minute model's problem put to a general-purpose scheduling library, PyJobShop.

L. Lan, J. Berkhout, PyJobShop: Solving scheduling problems with constraint programming in Python,
arXiv 2502.13483, 2025. It solves with CP-SAT too, on all cores, as it comes.

A limit on the sum of several waits cannot be said there: each wait alone is held to the limit.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

from pyjobshop import Model
from pyjobshop.ProblemData import Machine, Renewable, Task

from harvestplan.schedule.session.tasks import SessionTasks, TaskTime


@dataclass(frozen=True)
class Answer:
    """Times of the best layout (None where there is none), its bound, and s until the answer."""

    times: dict[str, TaskTime] | None
    bound: float
    seconds: float


def solve_generally(asked: SessionTasks, limit: float, seed: int) -> Answer:
    """The shortest layout that the library finds within `limit` s."""
    began = time.monotonic()
    model = Model()
    units = {name: model.add_machine(name=name) for t in asked.tasks for name in t.units}
    pools = [(pool, model.add_renewable(pool.capacity)) for pool in asked.shared()]
    tasks = {task.key: model.add_task(name=task.key) for task in asked.tasks}
    modes: list[str | None] = []
    for task in asked.tasks:
        shared = [(line, pool.uses[task.key]) for pool, line in pools if task.key in pool.uses]
        for unit in task.units or (None,):
            held: list[Machine | Renewable] = [line for line, _ in shared]
            taken = [amount for _, amount in shared]
            if unit is not None:
                held, taken = [*held, units[unit]], [*taken, 0]
            model.add_mode(tasks[task.key], held, task.seconds, taken)
            modes.append(unit)
    _add_order(model, asked, tasks)
    result = model.solve(time_limit=limit, display=False, random_seed=seed)
    seconds = time.monotonic() - began
    placed = result.best.tasks
    if not placed:
        return Answer(None, result.lower_bound, seconds)
    times = {
        task.key: TaskTime(int(there.start), modes[there.mode])
        for task, there in zip(asked.tasks, placed, strict=True)
    }
    return Answer(times, result.lower_bound, seconds)


def _add_order(model: Model, asked: SessionTasks, tasks: dict[str, Task]) -> None:
    for link in asked.links:
        model.add_end_before_start(tasks[link.before], tasks[link.after])
        if link.no_wait:
            model.add_start_before_end(tasks[link.after], tasks[link.before])
    for limit in asked.limits:
        for before, after in limit.waits:
            model.add_start_before_end(tasks[after], tasks[before], -limit.seconds)
