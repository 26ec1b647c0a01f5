"""Sessions stay at their clock times when the rules of the time zone change under a plan."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

from harvestplan.plan.models import Plan, Session


def on_the_rules_of(plan: Plan, timezone: str) -> Plan:
    """The plan with every session at the clock time it was written for, as `timezone` reckons now.

    People meet at a clock time; the offset written beside it is the one in force when the plan was
    made. A session that therefore begins at another instant counts as changed: its sequence grows,
    so that calendars take it over.
    """
    zone = ZoneInfo(timezone)
    sessions = tuple(_kept_on_the_clock(session, zone) for session in plan.sessions)
    return plan if sessions == plan.sessions else plan.model_copy(update={"sessions": sessions})


def _kept_on_the_clock(session: Session, zone: ZoneInfo) -> Session:
    # Through UTC, since times of one zone are subtracted by their clocks.
    later = session.start.replace(tzinfo=zone).astimezone(dt.UTC) - session.start
    if not later:
        return session

    def moved(time: dt.datetime) -> dt.datetime:
        return (time.astimezone(dt.UTC) + later).astimezone(zone)

    tasks = tuple(
        task.model_copy(update={"start": moved(task.start), "end": moved(task.end)})
        for task in session.tasks
    )
    times = ("start", "end", "window_start", "window_end")
    return session.model_copy(
        update={
            **{name: moved(getattr(session, name)) for name in times},
            "tasks": tasks,
            "sequence": session.sequence + 1,
        }
    )
