"""Which sessions of days before were held, and which never were."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator

from harvestplan.plan.models import Run, Session
from harvestplan.plan.spans import DAY
from harvestplan.records.diary import Diary
from harvestplan.records.events import Froze, KeepFree
from harvestplan.words import day, joined


def finished(sessions: Iterable[Session], diary: Diary, today: dt.date) -> tuple[Session, ...]:
    """The sessions that are done on `today`: of days before but those never held, and today's of
    which the diary says already what was frozen."""
    live = [session for session in sessions if session.live]
    never = never_held(live, diary, today)
    frozen = {e.product for e in diary.events if isinstance(e, Froze) and e.date == today}
    return tuple(
        session
        for session in live
        if session.uid not in never
        and (
            session.start.date() < today
            or (session.start.date() == today and any(r.product in frozen for r in packed(session)))
        )
    )


def never_held(sessions: Iterable[Session], diary: Diary, today: dt.date) -> frozenset[str]:
    """Sessions before `today` that never were.

    Their time is kept free by the diary, be it written afterwards, and it tells of nothing that
    they froze. Those that had nothing to pack but what such a session was to begin never were
    either; one with more to do was held, and so was what it packed.
    """
    past = [s for s in sessions if s.live and s.start.date() < today]
    begun_in = _begun_in(past)
    held = {session.uid for session in past if told(session, diary)}
    while True:
        left = [session for session in past if session.uid not in held]
        never = {session.uid for session in left if _given_up(session, diary)}
        while more := {s.uid for s in left if s.runs and begun_in[s.uid] <= never} - never:
            never |= more
        needed = {uid for s in past if s.uid not in never for uid in begun_in[s.uid] & never}
        if not needed:
            return frozenset(never)
        held |= needed


DRY_OUT_DAYS = 2
"""Days in which food on trays still keeps well; later nothing is asked of it (common practice)."""


def maybe_unpacked(sessions: Iterable[Session], diary: Diary, today: dt.date) -> Iterator[str]:
    """A sentence for each visit of the last days of which the diary tells nothing."""
    first = today - DRY_OUT_DAYS * DAY
    for session in sessions:
        recent = session.live and session.is_visit and first <= session.start.date() < today
        if recent and not told(session, diary):
            foods = joined(sorted({run.product for run in session.runs}))
            yield (
                f"The visit of {day(session.start.date())} counts as made, though the diary does "
                f"not say so. If {foods} should still lie on trays, pack it today, since it dries "
                "out there; then write what was frozen."
            )


def nothing_to_pack(sessions: Iterable[Session], diary: Diary, today: dt.date) -> frozenset[str]:
    """Sessions from `today` on that were to pack what one that was never held was to begin,
    directly or by way of others."""
    live = [session for session in sessions if session.live]
    begun_in = _begun_in(live)
    ahead = [session.uid for session in live if session.start.date() >= today]
    gone = never = never_held(live, diary, today)
    while more := {uid for uid in ahead if begun_in[uid] & gone} - gone:
        gone |= more
    return gone - never


def _begun_in(sessions: Iterable[Session]) -> dict[str, set[str]]:
    """By uid the sessions that begin what each one packs, itself where it begins a run anew."""
    sessions = list(sessions)
    home = {run.id: session.uid for session in sessions for run in session.runs}
    return {
        session.uid: {home.get(run.second_sitting_of or "", session.uid) for run in session.runs}
        for session in sessions
    }


def _given_up(session: Session, diary: Diary) -> bool:
    """Whether its time is kept free; food put to chill has to be packed, so that such a session is
    not given up by itself."""
    return not any(run.second_sitting_of for run in session.runs) and any(
        isinstance(event, KeepFree) and frees(event, session) for event in diary.events
    )


def told(session: Session, diary: Diary) -> bool:
    """Whether the diary tells of something frozen that day that the session makes."""
    made = {run.product for run in session.runs}
    return any(
        isinstance(event, Froze) and event.date == session.start.date() and event.product in made
        for event in diary.events
    )


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
