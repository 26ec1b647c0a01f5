"""The minute model's problem put to a general-purpose scheduling library, PyJobShop.

L. Lan, J. Berkhout, PyJobShop: Solving scheduling problems with constraint programming in Python,
arXiv 2502.13483, 2025. It solves with CP-SAT too, on all cores, as it comes.

A limit on the sum of several waits cannot be said there: each wait alone is held to the limit. Nor
can what pots hold (water for so many potfuls, or food), or that raw meat comes last: sessions are
asked `without_kitchen`, as if water boiled in every pot.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace

from pyjobshop import Model
from pyjobshop.ProblemData import Machine, Mode, Renewable, Task

from harvestplan.schedule.session.tasks import SessionTasks, TaskTime


@dataclass(frozen=True)
class Answer:
    """Times of the best layout (None where there is none), its bound, and s until the answer."""

    times: dict[str, TaskTime] | None
    bound: float
    seconds: float


def without_kitchen(asked: SessionTasks) -> SessionTasks:
    """The session without what the library cannot say."""
    return replace(asked, runs=(), potfuls={}, fillings=(), sanitising=None)


def solve_generally(asked: SessionTasks, limit: float, seed: int) -> Answer:
    """The shortest layout that the library finds within `limit` s, of a session
    `without_kitchen`."""
    assert not asked.optional and not asked.fixed
    began = time.monotonic()
    model = Model()
    units = {name: model.add_machine(name=name) for t in asked.tasks for name in t.units}
    pools = [(pool, model.add_renewable(pool.capacity)) for pool in asked.shared()]
    tasks = {task.key: model.add_task(name=task.key) for task in asked.tasks}
    modes: list[str | None] = []
    by_unit: dict[tuple[str, str | None], Mode] = {}
    for task in asked.tasks:
        shared = [(line, pool.uses[task.key]) for pool, line in pools if task.key in pool.uses]
        for unit in task.units or (None,):
            held: list[Machine | Renewable] = [line for line, _ in shared]
            taken = [amount for _, amount in shared]
            if unit is not None:
                held, taken = [*held, units[unit]], [*taken, 0]
            by_unit[task.key, unit] = model.add_mode(tasks[task.key], held, task.seconds, taken)
            modes.append(unit)
    _add_order(model, asked, tasks)
    _add_same_units(model, asked, by_unit)
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
        if link.at_start:
            model.add_start_at_start(tasks[link.before], tasks[link.after], link.lag)
            continue
        model.add_end_before_start(tasks[link.before], tasks[link.after])
        if link.no_wait:
            model.add_start_before_end(tasks[link.after], tasks[link.before])
    for limit in asked.limits:
        for before, after in limit.waits:
            model.add_start_before_end(tasks[after], tasks[before], -limit.seconds)


def _add_same_units(
    model: Model, asked: SessionTasks, by_unit: dict[tuple[str, str | None], Mode]
) -> None:
    for link in asked.links:
        if link.same_unit:
            for (key, unit), mode in by_unit.items():
                if key == link.before:
                    model.add_mode_dependency(mode, [by_unit[link.after, unit]])
