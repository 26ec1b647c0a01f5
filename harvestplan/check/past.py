"""V11: the past and what is promised do not move."""

from __future__ import annotations

from collections.abc import Iterator

from harvestplan.check.facts import Facts, Finding, in_utc
from harvestplan.plan import Plan


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
    written = {session.uid: session for session in facts.plan.sessions}
    moved = {wish.session for wish in facts.plan.wishes if not wish.why}
    for before in (in_utc(session, facts.zone) for session in earlier.sessions):
        own = before.uid in moved and before.status == "firm"
        if before.status not in ("done", "firm") or own:
            continue
        where = f"The {before.status} session of {facts.clock(before.start)}"
        now = written.get(before.uid)
        if now is None or now.status == "cancelled":
            yield Finding("V11", f"{where} is gone.")
        elif (now.start, now.end) != (before.start, before.end):
            yield Finding("V11", f"{where} has moved to {facts.clock(now.start)}.")
        elif now.runs != before.runs:
            yield Finding("V11", f"{where} has other runs than before.")
