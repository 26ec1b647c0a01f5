"""V1: tasks lie in their session, sessions in one free window, and not too many of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import pairwise

from harvestplan.check.facts import Facts, Finding
from harvestplan.plan.models import Session


def check_windows(facts: Facts) -> Iterator[Finding]:
    """V1."""
    for message in _messages(facts):
        yield Finding("V1", message)


def _messages(facts: Facts) -> Iterator[str]:
    for written in facts.plan.sessions:
        times = [written.start, written.end, written.window_start, written.window_end]
        times += [time for task in written.tasks for time in (task.start, task.end)]
        if any(time.tzinfo is None for time in times):
            yield f"The session {written.uid} has a time without its offset from UTC."
    begun = [s for s in facts.sessions if s.status == "done" or s.cut_at is not None]
    done = {run.id for s in begun for run in s.runs}
    for session in facts.sessions:
        yield from _tasks_inside(facts, session)
        # What is done or begun has happened, and what it put to chill cannot wait, whatever the
        # calendar says by now.
        packs = any(run.second_sitting_of in done for run in session.runs)
        if session not in begun and not packs:
            yield from _window(facts, session)
        elif session.cut_at is not None and session.end > session.window_end:
            yield (
                f"{facts.clock(session.start)}: the session, cut short, lasts until "
                f"{facts.clock(session.end)}; its window ends at {facts.clock(session.window_end)}."
            )
    for one, next_one in pairwise(sorted(facts.sessions, key=lambda s: (s.start, s.end))):
        if next_one.start < one.end:
            yield (
                f"Two sessions overlap: {facts.clock(one.start)} to {facts.clock(one.end)} and "
                f"{facts.clock(next_one.start)}."
            )
    yield from _too_many(facts)


def _tasks_inside(facts: Facts, session: Session) -> Iterator[str]:
    where = facts.clock(session.start)
    if session.end < session.start:
        yield f"{where}: the session ends at {facts.clock(session.end)}, before it begins."
    for task in session.tasks:
        if task.end < task.start:
            yield f"{where}: the task {task.id} ends before it begins."
        if task.start < session.start or task.end > session.end:
            yield (
                f"{where}: the task {task.id}, {facts.clock(task.start)} to "
                f"{facts.clock(task.end)}, lies outside its session, which ends at "
                f"{facts.clock(session.end)}."
            )


def _window(facts: Facts, session: Session) -> Iterator[str]:
    where = facts.clock(session.start)
    if session.start < session.window_start or session.end > session.window_end:
        yield (
            f"{where}: the session, until {facts.clock(session.end)}, lies outside its window, "
            f"{facts.clock(session.window_start)} to {facts.clock(session.window_end)}."
        )
    edges = (session.window_start, session.window_end)
    windows = (w for w in facts.windows if w.kind == session.kind)
    window = next((w for w in windows if (w.start, w.end) == edges), None)
    if window is None:
        missing = "time for a visit" if session.is_visit else "free window"
        yield (
            f"{where}: no {missing} runs from {facts.clock(edges[0])} to {facts.clock(edges[1])}."
        )
    elif session.hands > window.hands:
        yield (
            f"{where}: the session counts on {session.hands} people, the window has {window.hands}."
        )


def _too_many(facts: Facts) -> Iterator[str]:
    """Limits lowered since never forbid what is done or promised; visits are not counted."""
    span = facts.season.season
    evenings = [session for session in facts.sessions if not session.is_visit]
    kept = [session for session in evenings if session.status != "planned"]
    count = len(evenings)
    if span.max_sessions is not None and count > max(span.max_sessions, len(kept)):
        yield f"{count} sessions are planned; the season's limit is {span.max_sessions}."
    if span.max_sessions_per_week is None:
        return
    weeks, kept_in = _by_week(facts, evenings), _by_week(facts, kept)
    for (year, week), sessions in sorted(weeks.items()):
        if sessions > max(span.max_sessions_per_week, kept_in[year, week]):
            yield (
                f"Week {week} of {year} has {sessions} sessions; the limit is "
                f"{span.max_sessions_per_week}."
            )


def _by_week(facts: Facts, sessions: Iterable[Session]) -> Counter[tuple[int, int]]:
    """Sessions by year and week of the ISO calendar."""
    return Counter(facts.day(session.start).isocalendar()[:2] for session in sessions)
