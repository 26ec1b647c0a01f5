"""Water put on no earlier than it must be: a pot that boils for nobody is steam and money."""

from __future__ import annotations

from collections.abc import Mapping

from harvestplan.kitchen.fillings import Filling
from harvestplan.kitchen.layout import TICK
from harvestplan.schedule.session.tasks import Pool, SessionTasks, TaskTime

Busy = tuple[int, int, int]
"""From and to in s, and how much of a pool is taken then."""


def heat_late(session: SessionTasks, times: Mapping[str, TaskTime]) -> dict[str, TaskTime]:
    """The same times, but each filling of a pot as late as hands are free for it and its water
    still boils when the first potful goes in."""
    moved = dict(times)
    for filling in session.fillings:
        if filling.fill.key in moved and filling.fill.key not in session.fixed:
            _shift(session, filling, moved)
    return moved


def _shift(session: SessionTasks, filling: Filling, times: dict[str, TaskTime]) -> None:
    seconds = filling.fill.seconds + filling.heat.seconds
    now = times[filling.fill.key].start
    potfuls = [
        times[key].start
        for key in session.potfuls
        if times[key].unit == filling.pot and times[key].start >= now + seconds
    ]
    latest = min(potfuls, default=now + seconds) - seconds
    pools = _busy(session, filling, times)
    for start in range(latest - latest % TICK, now, -TICK):
        if all(_free(pool, filling, start, busy=busy) for pool, busy in pools):
            times[filling.fill.key] = TaskTime(start, filling.pot)
            times[filling.heat.key] = TaskTime(start + filling.fill.seconds, filling.pot)
            return


def _busy(
    session: SessionTasks, filling: Filling, times: Mapping[str, TaskTime]
) -> list[tuple[Pool, list[Busy]]]:
    """What of each pool that the filling takes from is taken by all else, and when."""
    every, key = session.every, filling.fill.key
    return [
        (
            pool,
            [
                (times[other].start, times[other].start + every[other].seconds, used)
                for other, used in pool.uses.items()
                if other in times and other != key
            ],
        )
        for pool in session.shared()
        if pool.uses.get(key)
    ]


def _free(pool: Pool, filling: Filling, start: int, *, busy: list[Busy]) -> bool:
    """Whether what else goes on while the pot is filled leaves enough of the pool for it."""
    end, wanted = start + filling.fill.seconds, pool.uses[filling.fill.key]
    moments = [start, *(begin for begin, _, _ in busy if start < begin < end)]
    return all(
        sum(used for begin, until, used in busy if begin <= moment < until) + wanted
        <= pool.capacity
        for moment in moments
    )
