"""Which sessions of days before were held, and which never were."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from harvestplan.plan import Run, Session
from harvestplan.records.diary import Diary
from harvestplan.records.events import Froze, KeepFree


def finished(sessions: Iterable[Session], diary: Diary, today: dt.date) -> tuple[Session, ...]:
    """The sessions that are done on `today`: of days before but those `missed`, and today's of
    which the diary says already what was frozen."""
    frozen = {e.product for e in diary.events if isinstance(e, Froze) and e.date == today}
    return tuple(
        session
        for session in sessions
        if session.status != "cancelled"
        and not missed(session, diary, today)
        and (
            session.start.date() < today
            or (session.start.date() == today and any(r.product in frozen for r in packed(session)))
        )
    )


def missed(session: Session, diary: Diary, today: dt.date) -> bool:
    """Whether a session before `today` never was: the diary keeps its time free, be it written
    afterwards, and tells of nothing frozen that day. One that packs food put to chill is never
    missed so."""
    if session.start.date() >= today or any(run.second_sitting_of for run in session.runs):
        return False
    if not any(isinstance(e, KeepFree) and frees(e, session) for e in diary.events):
        return False
    day, made = session.start.date(), {run.product for run in session.runs}
    told = (e for e in diary.events if isinstance(e, Froze) and e.date == day)
    return not any(e.product in made for e in told)


def nothing_to_pack(sessions: Iterable[Session], diary: Diary, today: dt.date) -> frozenset[str]:
    """Sessions that were to pack what a `missed` one was to begin, directly or by way of others."""
    live = [session for session in sessions if session.status != "cancelled"]
    home = {run.id: session.uid for session in live for run in session.runs}
    never = gone = {session.uid for session in live if missed(session, diary, today)}
    while (
        more := {
            session.uid
            for session in live
            if any(home.get(run.second_sitting_of or "") in gone for run in session.runs)
        }
        - gone
    ):
        gone = gone | more
    return frozenset(gone - never)


def packed(session: Session) -> list[Run]:
    """The session's runs that fill pouches."""
    return [run for run in session.runs if run.pouches]


def frees(event: KeepFree, session: Session) -> bool:
    """Whether the session would lie in the time that is kept free."""
    return keeps_free(event, session.window_start, session.window_end)


def keeps_free(event: KeepFree, start: dt.datetime, end: dt.datetime) -> bool:
    """Whether what lies between is on the day to keep free, or around the time named."""
    if event.time is None:
        return event.day == start.date()
    return start <= dt.datetime.combine(event.day, event.time, start.tzinfo) < end
