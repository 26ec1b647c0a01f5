"""Who a session is, from plan to plan: its UID stays when it moves."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Mapping, Sequence

from harvestplan.kitchen.steps.freeze import Freeze, FreezeSettings
from harvestplan.plan.models import Plan, Session

NAMESPACE = uuid.UUID("6f0d4a0e-5d3b-5c7e-9b59-3c1f2a7d8e10")
"""Fixed name space of our session identities (RFC 9562, version 5)."""
FAR = 21
"""A session moved further than this many days is a new one."""


def name_sessions(
    sessions: Sequence[Session],
    kept: Sequence[Session],
    earlier: Plan | None,
    *,
    seed: str,
    put: Mapping[str, dt.datetime],
) -> tuple[Session, ...]:
    """New sessions with UIDs and sequence numbers, the kept ones, and those dropped as cancelled;
    `seed` is what new UIDs are made from.

    A session keeps the UID of the earlier one in its window, or that the household put there
    (`put`: start by UID), else of the one nearest in time with most products in common. The
    sequence grows by one when what people would do changed: when they are there, what they put by
    and how much of it, and in which freezer; it is the SEQUENCE of the calendar as well. Cancelled
    ones stay for good, so that no UID ever stands for another session.
    """
    standing = {session.uid for session in kept}
    old = [s for s in (earlier.sessions if earlier else ()) if s.uid not in standing]
    taken = {s.uid for s in (earlier.sessions if earlier else ())}
    match = _match(sessions, [s for s in old if s.live], put)
    named = []
    for index, session in enumerate(sessions):
        before = match.get(index)
        uid = before.uid if before else new_uid(seed, taken)
        taken.add(uid)
        named.append(_sequenced(session.model_copy(update={"uid": uid}), before))
    named += kept
    living = {session.uid for session in named}
    for before in old:
        if before.uid not in living:
            named.append(_cancelled(before))
    return tuple(sorted(named, key=lambda s: (s.start, s.uid)))


def _match(
    new: Sequence[Session], old: Sequence[Session], put: Mapping[str, dt.datetime]
) -> dict[int, Session]:
    match: dict[int, Session] = {}
    free = {session.uid: session for session in old}
    for index, session in enumerate(new):
        starts = {s.uid: put.get(s.uid, s.window_start) for s in free.values()}
        same = [s for s in _like(session, free) if starts[s.uid] == session.window_start]
        if same:
            chosen = next((s for s in same if s.uid in put), same[0])
            match[index] = free.pop(chosen.uid)
    pairs = []
    for index, session in enumerate(new):
        if index in match:
            continue
        for other in _like(session, free):
            common = len(_products(session) & _products(other))
            days = abs((session.start - other.start).days)
            if common and days <= FAR:
                pairs.append((-common, days, index, other.uid))
    for _, _, index, uid in sorted(pairs):
        if index not in match and uid in free:
            match[index] = free.pop(uid)
    return match


def _like(session: Session, others: Mapping[str, Session]) -> list[Session]:
    """Those of the others that are visits as it is, or sessions."""
    return [other for other in others.values() if other.kind == session.kind]


def _products(session: Session) -> set[str]:
    return {run.product for run in session.runs}


def new_uid(seed: str, taken: set[str]) -> str:
    """A session's identity that no session has or had, the same again for the same `seed`."""
    number = len(taken) + 1
    while True:
        uid = str(uuid.uuid5(NAMESPACE, f"{seed}/session/{number}"))
        if uid not in taken:
            return uid
        number += 1


def _sequenced(session: Session, before: Session | None) -> Session:
    if before is None:
        return session
    same = _to_people(session) == _to_people(before)
    return session.model_copy(update={"sequence": before.sequence + (0 if same else 1)})


def _to_people(session: Session) -> tuple[object, ...]:
    """What people would do otherwise where it differs; a task that moves by minutes, and a forecast
    that moves by ounces, stand on the sheet alone."""
    # As the calendar shows them: begun minutes count at the end, not at the start.
    minutes = (session.start.timestamp() // 60, -(-session.end.timestamp() // 60))
    runs = [
        (run.product, run.pouch, run.pouches, run.portion_grams, run.second_sitting_of is None)
        for run in session.runs
    ]
    frozen = [task for task in session.tasks if task.step == Freeze.name]
    freezers = sorted({(str(task.run), str(FreezeSettings.of(task).freezer)) for task in frozen})
    return (*minutes, session.hands, session.status == "cancelled", runs, freezers)


def _cancelled(before: Session) -> Session:
    if not before.live:
        return before
    return before.model_copy(
        update={"status": "cancelled", "sequence": before.sequence + 1, "runs": (), "tasks": ()}
    )
