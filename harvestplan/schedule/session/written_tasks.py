"""A session's tasks as the plan writes them: clock times, whose hands, what waits in the cold."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence

from harvestplan.kitchen.added import once_a_filling
from harvestplan.kitchen.layout import TaskSpec
from harvestplan.kitchen.steps.all_steps import find_kind
from harvestplan.kitchen.steps.keep_cold import IN_THE_ROOM, KeepCold
from harvestplan.plan.models import Task
from harvestplan.schedule.session.tasks import SessionTasks, TaskTime
from harvestplan.schedule.session.who_does_what import HandWork, cook_names, share_out

Named = Callable[[str], tuple[str, str | None]]
"""From a task's key to its id in the plan and the id of its run."""


def after(start: dt.datetime, seconds: int) -> dt.datetime:
    """So many real seconds after `start`, in its own zone."""
    return (start.astimezone(dt.UTC) + dt.timedelta(seconds=seconds)).astimezone(start.tzinfo)


def write_tasks(
    asked: SessionTasks,
    times: Mapping[str, TaskTime],
    start: dt.datetime,
    *,
    named: Named,
    cooks: Sequence[str],
    begun: Mapping[str, Task] | None = None,
) -> tuple[Task, ...]:
    """The tasks at their times, in order.

    Parameters
    ----------
    cooks  names of the household's cooks
    begun  tasks (by key) that stand as they were written, but for their grams and run
    """
    begun = begun or {}
    specs = [spec for key, spec in asked.every.items() if key in times or key in begun]
    whose = _whose(asked, specs, times, cooks=cooks, begun=begun)
    tasks = []
    for spec in specs:
        name, run = named(spec.key)
        if spec.key in begun:
            stands = begun[spec.key]
            tasks.append(stands.model_copy(update={"run": run, "grams": spec.grams}))
            continue
        timed = times[spec.key]
        tasks.append(
            Task(
                id=name,
                run=run,
                step=spec.step,
                batch=spec.batch,
                equipment=(timed.unit,) if timed.unit else (),
                hands=spec.hands,
                start=after(start, timed.start),
                end=after(start, timed.start + spec.seconds),
                grams=spec.grams,
                settings=spec.settings,
                cooks=whose.get(spec.key, ()),
                ingredients=spec.ingredients,
            )
        )
    tasks += _kept_cold(asked, times, start, named=named)
    return once_a_filling(tasks)


def _kept_cold(
    asked: SessionTasks, times: Mapping[str, TaskTime], start: dt.datetime, *, named: Named
) -> Iterator[Task]:
    """What was cooled and waits too long for the table to stand there: from its last step to when
    it is portioned first."""
    every, runs = asked.every, _runs(asked)
    cooled = {(runs[key], task.batch) for key, task in every.items() if _cools(task.step)}
    packed: dict[str, int] = {}
    for last, table in (pair for run in asked.runs for pair in run.packs):
        at = times[table].start
        packed[last] = min(at, packed.get(last, at))
    for key, until in packed.items():
        task = every[key]
        since = times[key].start + task.seconds
        if (runs[key], task.batch) in cooled and until - since > IN_THE_ROOM:
            _, run = named(key)
            yield Task(
                id=f"{run}/{KeepCold.name}-{task.batch}",
                run=run,
                step=KeepCold.name,
                batch=task.batch,
                equipment=(),
                hands=0,
                start=after(start, since),
                end=after(start, until),
                grams=task.grams,
            )


def _cools(step: str) -> bool:
    """Whether food is cold after a step, but not frozen."""
    kind = find_kind(step)
    return kind is not None and kind.cools and not kind.freezes and not kind.filled_once


def _runs(asked: SessionTasks) -> dict[str, int | None]:
    """The number of the run that each task belongs to, by key; None for the kitchen's own."""
    runs: dict[str, int | None] = dict.fromkeys(asked.every)
    return runs | {key: n for n, run in enumerate(asked.runs) for key in run.keys}


def _whose(
    asked: SessionTasks,
    specs: Sequence[TaskSpec],
    times: Mapping[str, TaskTime],
    *,
    cooks: Sequence[str],
    begun: Mapping[str, Task],
) -> dict[str, tuple[str, ...]]:
    """The names of the cooks of each task that takes hands."""
    names, runs = cook_names(cooks, asked.hands or 0), _runs(asked)
    work = [
        HandWork(
            spec.key,
            times[spec.key].start,
            times[spec.key].start + spec.seconds,
            spec.hands,
            thread=None if runs[spec.key] is None else f"{runs[spec.key]} {spec.batch}",
        )
        for spec in specs
        if spec.hands
    ]
    known = {name: number for number, name in enumerate(names)}
    given = {
        key: tuple(known[name] for name in task.cooks)
        for key, task in begun.items()
        if task.cooks and all(name in known for name in task.cooks)
    }
    shared = share_out(work, len(names), given)
    return {key: tuple(names[cook] for cook in cooks) for key, cooks in shared.items()}
