"""Everything that happens in one session, and the times it is given."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from harvestplan.kitchen.fillings import Filling
from harvestplan.kitchen.layout import TICK, Food, Link, RoomLimit, TaskSpec


@dataclass(frozen=True)
class Pool:
    """What tasks share while they run: so much in all, and how much of it each task (key) takes."""

    capacity: int
    uses: Mapping[str, int]


@dataclass(frozen=True)
class RunTasks:
    """One run among a session's: its food, the keys of its tasks, of those at which the food is
    open on board, in bowls or in the machine, and which batch is packed where (`Layout.packs`)."""

    food: Food
    keys: tuple[str, ...]
    open: tuple[str, ...]
    packs: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class OnePotful:
    """What is blanched at once: over steam or not, and what it does to the water (`Food`)."""

    steam: bool
    strength: int


@dataclass(frozen=True)
class SessionTasks:
    """Everything that happens in one session. Seconds; `hands` None = as many as needed.

    `fixed` are the times of tasks that stand already (by key); no other begins before `earliest`.

    SideBySide its `tasks` a session may have some of the `fillings` of its pots, with which its
    `potfuls` (by key) are blanched, and the `sanitising` after raw meat. `runs` are as they come
    best one after the other.
    """

    tasks: tuple[TaskSpec, ...]
    links: tuple[Link, ...]
    limits: tuple[RoomLimit, ...]
    hands: int | None
    length: int
    pools: tuple[Pool, ...] = ()
    fixed: Mapping[str, TaskTime] = field(default_factory=dict)
    earliest: int = 0
    runs: tuple[RunTasks, ...] = ()
    potfuls: Mapping[str, OnePotful] = field(default_factory=dict)
    fillings: tuple[Filling, ...] = ()
    sanitising: TaskSpec | None = None

    @property
    def optional(self) -> tuple[TaskSpec, ...]:
        """What the session may have or not."""
        extra = () if self.sanitising is None else (self.sanitising,)
        return (*(task for filling in self.fillings for task in filling.tasks), *extra)

    @property
    def every(self) -> dict[str, TaskSpec]:
        """All tasks by key, those that it may do without among them."""
        return {task.key: task for task in (*self.tasks, *self.optional)}

    @property
    def raw(self) -> tuple[RunTasks, ...]:
        """The runs of raw meat, poultry or fish."""
        return tuple(run for run in self.runs if run.food.raw_meat)

    @property
    def others(self) -> tuple[RunTasks, ...]:
        """The other runs, where there is raw meat beside them."""
        return tuple(run for run in self.runs if not run.food.raw_meat) if self.raw else ()

    def shared(self) -> tuple[Pool, ...]:
        """The pools, that of the hands first."""
        if self.hands is None:
            return self.pools
        every = (*self.tasks, *self.optional)
        hands = Pool(self.hands, {task.key: task.hands for task in every if task.hands})
        return (hands, *self.pools)


@dataclass(frozen=True)
class TaskTime:
    """Start in s after the session's start, and the unit held (None where none is needed)."""

    start: int
    unit: str | None


@dataclass(frozen=True)
class SessionTimes:
    """A layout that keeps every rule, with the times of what it has of optional tasks. `proven`
    where no shorter session exists."""

    times: dict[str, TaskTime]
    length: int
    bound: int
    proven: bool


@dataclass(frozen=True)
class DoesNotFit:
    """No layout was found; `proven` where none exists."""

    proven: bool


def in_ticks(session: SessionTasks) -> bool:
    """Whether every task takes, and begins where it stands already, at whole ticks."""
    seconds = [task.seconds for task in session.every.values()]
    seconds += [timed.start for timed in session.fixed.values()]
    return not any(each % TICK for each in seconds)


def scaled(session: SessionTasks, unit: int) -> SessionTasks:
    """The same in units of so many seconds; what bounds it is rounded to the safe side."""
    if unit == 1:
        return session

    def short(task: TaskSpec) -> TaskSpec:
        return replace(task, seconds=task.seconds // unit)

    return replace(
        session,
        tasks=tuple(short(task) for task in session.tasks),
        links=tuple(
            replace(link, lag=link.lag // unit) if link.lag else link for link in session.links
        ),
        limits=tuple(replace(limit, seconds=limit.seconds // unit) for limit in session.limits),
        length=session.length // unit,
        fixed={k: TaskTime(timed.start // unit, timed.unit) for k, timed in session.fixed.items()},
        earliest=-(-session.earliest // unit),
        fillings=tuple(
            replace(f, fill=short(f.fill), heat=short(f.heat), empty=short(f.empty))
            for f in session.fillings
        ),
        sanitising=session.sanitising and short(session.sanitising),
    )
