"""Water put on no earlier than it must be: a pot that boils for nobody is steam and money."""

from __future__ import annotations

from collections.abc import Mapping

from harvestplan.kitchen.fillings import Filling
from harvestplan.kitchen.layout import TICK
from harvestplan.schedule.session.tasks import SessionTasks, TaskTime


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
    for start in range(latest - latest % TICK, now, -TICK):
        if _hands_free(session, filling, start, times=times):
            times[filling.fill.key] = TaskTime(start, filling.pot)
            times[filling.heat.key] = TaskTime(start + filling.fill.seconds, filling.pot)
            return


def _hands_free(
    session: SessionTasks, filling: Filling, start: int, *, times: Mapping[str, TaskTime]
) -> bool:
    """Whether what else goes on while the pot is filled leaves hands for it."""
    end = start + filling.fill.seconds
    every = session.every
    for pool in session.shared():
        wanted = pool.uses.get(filling.fill.key, 0)
        busy = [
            (times[key].start, times[key].start + every[key].seconds, used)
            for key, used in pool.uses.items()
            if key in times and key != filling.fill.key
        ]
        moments = [start, *(begin for begin, _, _ in busy if start < begin < end)]
        for moment in moments:
            taken = sum(used for begin, until, used in busy if begin <= moment < until)
            if wanted and taken + wanted > pool.capacity:
                return False
    return True
