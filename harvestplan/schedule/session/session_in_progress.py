"""A session at work: which of its food is begun, and the times of what is left for any amounts.

Tasks begun by now stand as they were planned. What is not begun may be made less of, potful by
potful; begun food is finished.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from harvestplan.errors import NoValidPlan
from harvestplan.kitchen.batches import Begun, begun_grams
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.fillings import filling
from harvestplan.kitchen.layout import TICK, Layout, Sitting, TaskSpec, lay_out
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.all_steps import find_kind
from harvestplan.kitchen.steps.fill import Fill
from harvestplan.kitchen.steps.keep_cold import KeepCold
from harvestplan.plan.models import Run, Session, Task
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import DoesNotFit, SessionTasks, SessionTimes, TaskTime
from harvestplan.schedule.session.timed_sessions import SHORTEN_EFFORT
from harvestplan.schedule.session.whole_session import whole_session
from harvestplan.schedule.session.written_tasks import write_tasks

TRY_EFFORT = 0.5
"""Deterministic seconds for each amount that is tried."""
WHOLE_DAY = 86400


@dataclass(frozen=True)
class Part:
    """A run of the session: its process, and what of it is begun.

    `raw` g and `pouches` are those planned (a first sitting's pouches are those of its second);
    `begun` is the raw g of the batches at work, `groups` how many packing groups are. `before` is
    what it was where the evening was cut already.
    """

    run: Run
    process: Process
    sitting: Sitting
    raw: int
    pouches: int
    freezer: str | None
    begun: int = 0
    groups: int = 0
    before: Begun | None = None

    @property
    def planned(self) -> Begun:
        return Begun(self.raw, self.pouches, self.groups, before=self.before)

    @property
    def least(self) -> int:
        """The fewest pouches: what is begun is finished, and what was put to chill is packed."""
        if self.sitting == "second":
            return self.pouches
        return self.amounts(1)[1] if self.begun else 0

    def amounts(self, pouches: int) -> tuple[int, int]:
        """Raw g and full pouches for about so many pouches, at least for what is begun."""
        raw = max(self.begun, self.process.raw(pouches))
        if pouches >= self.pouches or raw >= self.raw:
            return self.raw, self.pouches
        packed = self.process.packed(raw, self.pouches)
        return raw, max(pouches, packed // self.process.portion_grams)

    def layout(self, pouches: int) -> Layout:
        """The tasks for so many pouches, those begun under their own keys."""
        raw, made = self.amounts(pouches)
        return lay_out(
            self.process, raw, made, sitting=self.sitting, freezer=self.freezer, begun=self.planned
        )

    def paused(self) -> Part | None:
        """The run ended at its chain's pause step, to be packed another day; None where that
        cannot be."""
        pause = self.process.pause
        if pause is None or self.sitting != "whole" or self.process.wait_least or self.groups:
            return None
        return dataclasses.replace(self, sitting="first")


@dataclass(frozen=True)
class AtWork:
    """A session with its parts; `now` is s after its start (None: nothing of it is begun); `cooks`
    are the names of those in the kitchen."""

    session: Session
    kitchen: Kitchen
    parts: tuple[Part, ...]
    now: int | None = None
    cooks: tuple[str, ...] = ()

    def as_of(self, now: dt.datetime) -> AtWork:
        """The session as it stands at `now`. Raises NoValidPlan where what is begun is no more
        among what the kitchen would do."""
        at = -(-seconds_between(self.session.start, now) // TICK) * TICK
        here = dataclasses.replace(self, now=at)
        known = {k: (task.batch, task.grams) for k, task in here._whole().every.items()}
        fixed = here._fixed()
        # The kitchen's own work, as between two foods, is done though it is asked for no more.
        ours = {key: task for key, task in fixed.items() if key in known or not _own(task)}
        if strange := [t for k, t in ours.items() if known.get(k) != (t.batch, t.grams)]:
            products = {run.id: run.product for run in self.session.runs}
            step, product = strange[0].step, products.get(strange[0].run or "", "all food")
            raise NoValidPlan(
                f'The session cannot be laid out again: the step "{step}" of {product} is begun, '
                "and the season folder now asks for other amounts or steps. Finish the session as "
                "it was planned."
            )
        return dataclasses.replace(here, parts=tuple(_begun(p, fixed) for p in self.parts))

    def _whole(self) -> SessionTasks:
        return self._tasks({part.run.id: part.pouches for part in self.parts}, WHOLE_DAY)

    def _tasks(self, pouches: Mapping[str, int], length: int) -> SessionTasks:
        layouts = [
            (f"{part.run.id}/", part.layout(pouches[part.run.id]))
            for part in self.parts
            if pouches[part.run.id]
        ]
        return whole_session(
            layouts,
            self.kitchen.pots,
            self.session.hands,
            length=length,
            filled=self._filled(),
            session_kind=self.session.kind,
        )

    def _filled(self) -> Counter[str]:
        """How often each pot is filled in the session as it was planned."""
        fills = (task for task in self.session.tasks if task.step == Fill.name)
        return Counter(task.equipment[0] for task in fills if task.equipment)

    def _fixed(self) -> dict[str, Task]:
        """Tasks that are done or under way, and those that follow them at once."""
        if self.now is None:
            return {}
        start = self.session.start
        # What is kept cold until it is packed follows from when that is.
        tasks = [task for task in self.session.tasks if task.step != KeepCold.name]
        begun = {t.id: t for t in tasks if seconds_between(start, t.start) < self.now}
        by_id = {task.id: task for task in tasks}
        together = [(link.before, link.after) for link in self._whole().links if link.rigid]
        together += [
            (each.fill.key, each.heat.key)
            for pot in self.kitchen.pots
            for each in (filling(pot, n, False) for n in range(1, self._filled()[pot.name] + 1))
        ]
        more = True
        while more:
            more = False
            for before, after in together:
                if before in begun and after in by_id and after not in begun:
                    begun[after] = by_id[after]
                    more = True
        return begun

    def asked(self, pouches: Mapping[str, int], length: int) -> SessionTasks:
        """The tasks for so many pouches of each run (by its id), what is begun at its times."""
        tasks, fixed = self._tasks(pouches, length), self._fixed()
        start = self.session.start
        known = tasks.every.keys()
        # Water that boils already, and food that was washed and goes back, took their time.
        spent = tuple(_spec(task) for key, task in fixed.items() if key not in known)
        return dataclasses.replace(
            tasks,
            tasks=(*(_as_begun(spec, fixed.get(spec.key)) for spec in tasks.tasks), *spent),
            fixed={
                key: TaskTime(seconds_between(start, task.start), next(iter(task.equipment), None))
                for key, task in fixed.items()
            },
            earliest=self.now or 0,
        )

    def fits(self, pouches: Mapping[str, int], length: int) -> bool:
        """Whether the session with so many pouches is over within `length` s of its start."""
        answer = time_session(self.asked(pouches, length), TRY_EFFORT, improve=False)
        return isinstance(answer, SessionTimes)

    def shortest(self, pouches: Mapping[str, int], length: int) -> SessionTimes | None:
        """The session made as short as the effort allows; None where it does not fit."""
        asked = self.asked(pouches, length)
        for effort, improve in ((SHORTEN_EFFORT, True), (TRY_EFFORT, False)):
            answer = time_session(asked, effort, improve)
            if not isinstance(answer, DoesNotFit):
                return answer
        return None

    def most(self, length: int, order: Sequence[Part]) -> dict[str, int] | None:
        """Pouches by run that are over within `length`: all that must be, then as many more of
        each as fit, in their order. None where not even that fits."""
        pouches = {part.run.id: part.least for part in self.parts}
        if not self.fits(pouches, length):
            return None
        for part in order:
            low, high = pouches[part.run.id], part.pouches + 1
            while high - low > 1:
                middle = (low + high) // 2
                if self.fits({**pouches, part.run.id: middle}, length):
                    low = middle
                else:
                    high = middle
            pouches[part.run.id] = part.amounts(low)[1] if low else 0
        return pouches

    def laid_out(self, pouches: Mapping[str, int], times: SessionTimes) -> tuple[Task, ...]:
        """The tasks at their times, as the plan writes them."""
        owners = {part.run.id for part in self.parts if pouches[part.run.id]}

        def named(key: str) -> tuple[str, str | None]:
            owner = key.partition("/")[0]
            return key, owner if owner in owners else None

        return write_tasks(
            self.asked(pouches, WHOLE_DAY),
            times.times,
            self.session.start,
            named=named,
            cooks=self.cooks,
            begun=self._fixed(),
        )


def seconds_between(start: dt.datetime, time: dt.datetime) -> int:
    """Real seconds from `start` to `time`, whatever the clocks do between."""
    return int(time.timestamp() - start.timestamp())


def _own(task: Task) -> bool:
    """Whether a task is work of the kitchen itself."""
    kind = find_kind(task.step)
    return task.run is None or (kind is not None and kind.scope == "session")


def _begun(part: Part, fixed: Collection[str]) -> Part:
    """The part with what of it is begun: its batches up to the last at work, its packing groups."""
    tasks = part.layout(part.pouches).tasks
    ours = [task for task in tasks if f"{part.run.id}/{task.key}" in fixed]
    group = max((int(task.key.rpartition("-g")[2]) for task in ours if "-g" in task.key), default=0)
    batch = max((task.batch or 0 for task in ours if "-g" not in task.key), default=0)
    begun = begun_grams(part.process, part.planned, batch, group=group)
    return dataclasses.replace(part, begun=begun, groups=group)


def _spec(task: Task) -> TaskSpec:
    return TaskSpec(
        key=task.id,
        step=task.step,
        batch=task.batch,
        seconds=seconds_between(task.start, task.end),
        hands=task.hands,
        units=task.equipment,
        grams=task.grams,
        settings=task.settings,
        ingredients=task.ingredients,
    )


def _as_begun(spec: TaskSpec, begun: Task | None) -> TaskSpec:
    """The task as it is at work; of washed food only what stays in the run counts."""
    return spec if begun is None else dataclasses.replace(_spec(begun), grams=spec.grams)
