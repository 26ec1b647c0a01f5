"""Sessions of a plan made under other rules of time."""

from __future__ import annotations

import datetime as dt

from schedule.kept_sessions import plan_of, run, session

from harvestplan.plan.models import Task
from harvestplan.schedule.written.clock_rules import on_the_rules_of


def test_a_zone_with_new_rules_keeps_the_clock() -> None:
    """Written for 18:00 UTC; where the zone is Berlin's (UTC+2 in July) that clock is two hours
    earlier as an instant."""
    task = Task(
        id="t",
        run=None,
        step="set up",
        batch=None,
        equipment=(),
        hands=1,
        start=session("", 0).start,
        end=session("", 0).end,
        grams=0,
    )
    plan = plan_of(session("a", 0, run("x"), tasks=(task,)))
    (found,) = on_the_rules_of(plan, "Europe/Berlin").sessions
    assert found.start == plan.sessions[0].start - dt.timedelta(hours=2)
    assert (found.start.hour, found.end.hour, found.window_end.hour) == (18, 20, 20)
    assert (found.tasks[0].start, found.tasks[0].end) == (found.start, found.end)
    assert found.sequence == 1
    assert on_the_rules_of(plan, "UTC") is plan
