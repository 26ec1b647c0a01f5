"""All tasks of one session: set-up, its runs, the work of the kitchen among them, clean-up."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

from harvestplan.kitchen.fillings import fillings
from harvestplan.kitchen.layout import Layout, Link, RoomLimit, TaskSpec
from harvestplan.kitchen.pot import Blancher
from harvestplan.kitchen.steps.all_steps import names_where
from harvestplan.kitchen.steps.blanch import Blanch, is_over_steam
from harvestplan.kitchen.steps.change_over import CHANGE_OVER, ChangeOver
from harvestplan.kitchen.steps.clean_up import CleanUp
from harvestplan.kitchen.steps.sanitise import SANITISE, Sanitise
from harvestplan.kitchen.steps.set_up import SetUp
from harvestplan.kitchen.steps.wash import Wash
from harvestplan.kitchen.visit import clean_up_seconds, set_up_seconds
from harvestplan.schedule.session.tasks import OnePotful, RunTasks, SessionTasks

CHANGE_KEY = "change-over"


def whole_session(
    layouts: Sequence[tuple[str, Layout]],
    pots: Sequence[Blancher],
    hands: int,
    *,
    length: int,
    filled: Mapping[str, int] | None = None,
    session_kind: str = "session",
) -> SessionTasks:
    """Runs, each with what its tasks' keys begin with, between set-up and clean-up; `length` in s
    is what there is at most. `filled` is how often each pot has been filled already. At a visit
    setting up and cleaning up are short."""
    before, after = set_up_seconds(session_kind), clean_up_seconds(session_kind)
    tasks = [TaskSpec("set-up", SetUp.name, None, seconds=before, hands=1, units=(), grams=0)]
    links: list[Link] = []
    limits: list[RoomLimit] = []
    runs: list[RunTasks] = []
    layouts = _with_change_overs(_in_order(layouts))
    links += _washed_together(layouts)
    for prefix, layout in layouts:
        ours = [dataclasses.replace(t, key=prefix + t.key) for t in layout.tasks]
        tasks += ours
        links += [
            dataclasses.replace(x, before=prefix + x.before, after=prefix + x.after)
            for x in layout.links
        ]
        links += [Link("set-up", task.key) for task in ours]
        limits += [
            RoomLimit(tuple((prefix + a, prefix + b) for a, b in limit.waits), limit.seconds)
            for limit in layout.limits
        ]
        links += _batches_in_order(prefix, layout)
        packs = tuple((prefix + last, prefix + first) for last, first in layout.packs)
        runs.append(RunTasks(layout.food, *_keys(ours), packs=packs))
    cleaning = TaskSpec("clean-up", CleanUp.name, None, seconds=after, hands=1, units=(), grams=0)
    links += [Link(task.key, cleaning.key) for task in tasks]
    strengths = {key: run.food.strength for run in runs for key in run.keys}
    return SessionTasks(
        (*tasks, cleaning),
        tuple(links),
        tuple(limits),
        hands=hands,
        length=length,
        runs=tuple(runs),
        potfuls={
            task.key: OnePotful(is_over_steam(task), strengths[task.key])
            for task in tasks
            if task.step == Blanch.name
        },
        fillings=tuple(
            filling
            for pot in pots
            for filling in fillings(pot, tasks, at_least=(filled or {}).get(pot.name, 0))
        ),
        sanitising=_sanitising(runs),
    )


def _in_order(layouts: Sequence[tuple[str, Layout]]) -> list[tuple[str, Layout]]:
    """Mild food before strong, raw meat last."""
    return sorted(layouts, key=lambda each: (each[1].food.raw_meat, each[1].food.strength))


def _with_change_overs(layouts: Sequence[tuple[str, Layout]]) -> list[tuple[str, Layout]]:
    """Where there are several foods, each begins with what is wiped and rinsed for it; a second
    product of one crop is washed together with the first."""
    changed: list[tuple[str, Layout]] = []
    pairs = _pairs(layouts)
    for prefix, layout in layouts:
        if any(task.hands for task in layout.tasks) and len(layouts) > 1 and prefix not in pairs:
            first = layout.tasks[0]
            wiping = TaskSpec(
                CHANGE_KEY, ChangeOver.name, None, seconds=CHANGE_OVER, hands=1, units=(), grams=0
            )
            layout = dataclasses.replace(
                layout,
                tasks=(wiping, *layout.tasks),
                links=(
                    Link(wiping.key, first.key, no_wait=True),
                    *(Link(wiping.key, task.key) for task in layout.tasks if task is not first),
                    *layout.links,
                ),
            )
        changed.append((prefix, layout))
    return changed


def _pairs(layouts: Sequence[tuple[str, Layout]]) -> dict[str, str]:
    """By the second of two products of one crop that both begin with washing, the first."""
    first: dict[str, str] = {}
    pairs: dict[str, str] = {}
    for prefix, layout in layouts:
        if _washing(layout) is None:
            continue
        before = first.setdefault(layout.food.crop, prefix)
        if before != prefix and before not in pairs.values():
            pairs[prefix] = before
    return pairs


def _washing(layout: Layout) -> TaskSpec | None:
    """The washing with which a layout begins."""
    tasks = (task for task in layout.tasks if task.key != CHANGE_KEY)
    first = next(tasks, None)
    return first if first is not None and first.step == Wash.name else None


def _washed_together(layouts: Sequence[tuple[str, Layout]]) -> list[Link]:
    """One washing for two products of one crop: one at once after the other, in the same basin."""
    known = dict(layouts)
    links = []
    for second, first in _pairs(layouts).items():
        before, after = _washing(known[first]), _washing(known[second])
        assert before is not None and after is not None  # they were paired by them
        links.append(
            Link(first + before.key, second + after.key, no_wait=True, same_unit=bool(after.units))
        )
    return links


def _keys(tasks: Sequence[TaskSpec]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The tasks' keys, and those at which the food is open."""
    closed = names_where(lambda kind: kind.closed)
    return tuple(t.key for t in tasks), tuple(t.key for t in tasks if t.step not in closed)


def _sanitising(runs: Sequence[RunTasks]) -> TaskSpec | None:
    """The cleaning after raw meat; None where there is none, or nothing beside it."""
    if len({run.food.raw_meat for run in runs}) < 2:
        return None
    return TaskSpec(
        Sanitise.name, Sanitise.name, None, seconds=SANITISE, hands=1, units=(), grams=0
    )


def _batches_in_order(prefix: str, layout: Layout) -> list[Link]:
    """Equal batches take hands and machines in their own order (symmetry broken)."""
    last: dict[str, TaskSpec] = {}
    links = []
    for task in layout.tasks:
        if task.batch is None or len(task.units) != 1:
            continue
        step = task.key.split("-")[0]
        if step in last:
            links.append(Link(prefix + last[step].key, prefix + task.key))
        last[step] = task
    return links
