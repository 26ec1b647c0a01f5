"""V11: the past and what is promised do not move."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from harvestplan.check.facts import Facts, Finding, in_utc
from harvestplan.kitchen.steps.all_steps import names_where
from harvestplan.kitchen.steps.keep_cold import KeepCold
from harvestplan.plan.models import Plan, Session


def check_past(facts: Facts, earlier: Plan | None) -> Iterator[Finding]:
    """V11. `earlier` is the plan published before, or None; what the household moved itself may
    have moved."""
    for session in facts.sessions:
        if session.status == "planned" and facts.day(session.start) < facts.plan.as_of:
            yield Finding(
                "V11",
                f"{facts.clock(session.start)}: a session is planned before {facts.plan.as_of}, "
                "from which on the plan holds.",
            )
    if earlier is None:
        return
    written = {s.uid: in_utc(s, facts.zone) for s in facts.plan.sessions}
    moved = {wish.session for wish in facts.plan.wishes if not wish.why}
    for before in (in_utc(session, facts.zone) for session in earlier.sessions):
        own = before.uid in moved and before.status == "firm"
        if before.status not in ("done", "firm") or own:
            continue
        where = f"The {before.status} session of {facts.clock(before.start)}"
        now = written.get(before.uid)
        if before.status == "firm" and now is not None and _cut_since(before, now):
            yield from _begun_stays(where, before, now)
        elif now is None or not now.live:
            yield Finding("V11", f"{where} is gone.")
        elif (now.start, now.end) != (before.start, before.end):
            yield Finding("V11", f"{where} has moved to {facts.clock(now.start)}.")
        elif now.runs != before.runs:
            yield Finding("V11", f"{where} has other runs than before.")


WITHOUT_FOOD = names_where(lambda kind: kind.scope in ("session", "run"))
"""Steps that begin no food; what is only washed can wait."""


def _cut_since(before: Session, now: Session) -> bool:
    """Whether the rest of the session was laid out again after the earlier plan was made."""
    return now.cut_at is not None and now.cut_at != before.cut_at


def _begun_stays(where: str, before: Session, now: Session) -> Iterator[Finding]:
    """What was begun before the session was cut short stands; nothing else begins before then."""
    assert now.cut_at is not None
    if now.start != before.start:
        yield Finding("V11", f"{where} has moved, though it had begun.")
    late = dt.timedelta(seconds=now.behind)
    begun = {
        task.id: (task.start + late, task.end + late, task.equipment)
        for task in before.tasks
        if task.start + late < now.cut_at and task.step not in WITHOUT_FOOD
    }
    times = {task.id: (task.start, task.end, task.equipment) for task in now.tasks}
    for name, when in begun.items():
        if times.get(name) != when:
            yield Finding("V11", f"{where}: {name} was begun and does not stand as it was.")
    known = {task.id for task in before.tasks if task.start + late < now.cut_at}
    for task in now.tasks:
        # What waits for the table now stands there already.
        if task.start < now.cut_at and task.id not in known and task.step != KeepCold.name:
            yield Finding("V11", f"{where}: {task.id} would begin before the rest was laid out.")
    over = sum(run.grams_in for run in now.runs) - sum(run.grams_in for run in before.runs)
    if over > 0:
        yield Finding("V11", f"{where} has more food than before it was cut short.")
