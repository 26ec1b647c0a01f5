"""Everything that happens in one session, and the times it is given."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from harvestplan.kitchen.layout import Link, RoomLimit, TaskSpec


@dataclass(frozen=True)
class Pool:
    """What tasks share while they run: so much in all, and how much of it each task (key) takes."""

    capacity: int
    uses: Mapping[str, int]


@dataclass(frozen=True)
class SessionTasks:
    """Everything that happens in one session. Seconds; `hands` None = as many as needed.

    `fixed` are the times of tasks that stand already (by key); no other begins before `earliest`.
    """

    tasks: tuple[TaskSpec, ...]
    links: tuple[Link, ...]
    limits: tuple[RoomLimit, ...]
    hands: int | None
    length: int
    pools: tuple[Pool, ...] = ()
    fixed: Mapping[str, TaskTime] = field(default_factory=dict)
    earliest: int = 0

    def shared(self) -> tuple[Pool, ...]:
        """The pools, that of the hands first."""
        if self.hands is None:
            return self.pools
        hands = Pool(self.hands, {task.key: task.hands for task in self.tasks if task.hands})
        return (hands, *self.pools)


@dataclass(frozen=True)
class TaskTime:
    """Start in s after the session's start, and the unit held (None where none is needed)."""

    start: int
    unit: str | None


@dataclass(frozen=True)
class SessionTimes:
    """A layout that keeps every rule. `proven` where no shorter session exists."""

    times: dict[str, TaskTime]
    length: int
    bound: int
    proven: bool


@dataclass(frozen=True)
class DoesNotFit:
    """No layout was found; `proven` where none exists."""

    proven: bool
