"""Take in what the household moved or deleted in its own calendar: lines of its diary.

A moved session becomes "moved session … to …", a deleted one "keep free …"; the next plan heeds
both. Picks, gifts and orders are not the household's to move in a calendar: they are only told.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo

from harvestplan.outputs.calendar.caldav import Collection
from harvestplan.outputs.calendar.publish import EntryMoved, need, pull, read_ledger, write_ledger
from harvestplan.plan.file import read_plan
from harvestplan.plan.file_names import PLAN
from harvestplan.plan.models import Plan, Session
from harvestplan.records.diary import append_event, read_diary, undo
from harvestplan.records.events import Event, KeepFree, Moved

SEEN = "seen: "
"""Before an address in the ledger: what was taken in from there, UID → start, "" for deleted."""
_MINUTE = "%Y-%m-%d %H:%M"


@dataclass(frozen=True)
class Taken:
    """What stands elsewhere than it was put, with the diary's line for it; None where none was
    written now: it is no session, has no time, or was taken in before."""

    move: EntryMoved
    line: str | None


def take_in(
    folder: Path, collection: Collection, on: dt.date, *, dry_run: bool = False, sure: bool = False
) -> list[Taken]:
    """Read the server and write in the diary, under the day `on`, what is new of it.

    A session moved back to where the plan has it takes its line back. Raises ServerRefused,
    FilesNeedMending, and MostAreGone unless `sure`. With `dry_run` nothing is written.
    """
    out = folder / "out"
    plan = read_plan(need(out / PLAN))
    moves = pull(out, collection, sure)
    sessions = {s.uid: s for s in plan.sessions if s.status in ("planned", "firm")}
    ahead = {uid: s for uid, s in sessions.items() if s.start.date() >= on}
    ledger = read_ledger(out)
    seen = ledger.get(SEEN + collection.url, {})
    taken = []
    for move in moves:
        words = _words(move, ahead, plan)
        new = words is not None and seen.get(move.uid) != _state(move)
        line = None
        if words is not None and new:
            verb, _, rest = words.partition(" ")
            line = words if dry_run else append_event(folder, verb, rest, on=on).line
        taken.append(Taken(move, line))
    back = {uid: seen[uid] for uid in seen if uid not in {move.uid for move in moves}}
    for uid in sorted(back.keys() & ahead.keys()):
        taken += _take_back(folder, ahead[uid], plan, on=on, dry_run=dry_run)
    if not dry_run:
        states = {move.uid: _state(move) for move in moves if move.uid in ahead}
        write_ledger(out, ledger | {SEEN + collection.url: states})
    return taken


def waiting(folder: Path, plan: Plan) -> frozenset[str]:
    """Sessions of which the diary says that they move or go, and the plan does not know yet."""
    known = {(w.moved_from, w.moved_to) for w in plan.wishes}
    zone = ZoneInfo(plan.season.timezone)
    events = [
        event
        for event in read_diary(folder).events
        if not isinstance(event, Moved)
        or (event.session.replace(tzinfo=zone), event.to.replace(tzinfo=zone)) not in known
    ]
    live = (s for s in plan.sessions if s.status in ("planned", "firm"))
    return frozenset(s.uid for s in live if any(_about(s, zone, events)))


def _words(move: EntryMoved, ahead: dict[str, Session], plan: Plan) -> str | None:
    """The diary's words for a session that moved or is gone, or None for what is none."""
    session = ahead.get(move.uid)
    if session is None:
        return None
    there = _clock(session.start, plan)
    if move.deleted:
        others = [s for s in ahead.values() if s is not session]
        alone = all(_clock(s.start, plan).date() != there.date() for s in others)
        return f"keep free {there.date()}" if alone else f"keep free {there:{_MINUTE}}"
    if not isinstance(move.start, dt.datetime):
        return None
    return f"moved session {there:{_MINUTE}} to {_clock(move.start, plan):{_MINUTE}}"


def _take_back(
    folder: Path, session: Session, plan: Plan, *, on: dt.date, dry_run: bool
) -> Iterator[Taken]:
    """Undo the line that was written when the session stood elsewhere, if it still counts."""
    zone = ZoneInfo(plan.season.timezone)
    events = [event for event in _about(session, zone, read_diary(folder).events) if event.code]
    if not events:
        return
    there = _clock(session.start, plan)
    move = EntryMoved(session.uid, "Session", f"{there:{_MINUTE}}", start=session.start)
    line = f"undo #{events[-1].code}"
    yield Taken(move, line if dry_run else undo(folder, events[-1].code, on)[0].line)


def _about(session: Session, zone: ZoneInfo, events: Iterable[Event]) -> Iterator[Event]:
    start = session.start.astimezone(zone).replace(tzinfo=None)
    until = session.window_end.astimezone(zone).replace(tzinfo=None)
    for event in events:
        if isinstance(event, Moved) and event.session == start.replace(second=0):
            yield event
        elif isinstance(event, KeepFree) and event.day == start.date():
            around = event.time is None or start.time() <= event.time < until.time()
            yield from [event] if around else []


def _clock(moment: dt.datetime, plan: Plan) -> dt.datetime:
    """The moment by the household's clock; what has no zone is meant so."""
    zone = ZoneInfo(plan.season.timezone)
    return moment.astimezone(zone) if moment.tzinfo else moment.replace(tzinfo=zone)


def _state(move: EntryMoved) -> str:
    return "" if move.start is None else move.start.isoformat()
