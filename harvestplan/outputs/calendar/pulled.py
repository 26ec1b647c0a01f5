"""Take in what the household moved or deleted in its own calendar: lines of its diary.

A moved session becomes "moved session … to …", a deleted or cancelled one "keep free …"; the next
plan heeds both. What the diary has no words for (another end, a whole day, repeating) is told.
Picks, gifts and orders are not the household's to move in a calendar: they are only told.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from zoneinfo import ZoneInfo

from harvestplan.errors import HarvestPlanError, printable
from harvestplan.outputs.calendar.caldav import Collection
from harvestplan.outputs.calendar.edits import WISHES, Altered
from harvestplan.outputs.calendar.publish import Both, most_are, read_both
from harvestplan.outputs.calendar.record import read_record, write_record
from harvestplan.outputs.calendar.standing import need
from harvestplan.plan.file import read_plan
from harvestplan.plan.file_names import LEDGER, PLAN
from harvestplan.plan.models import Plan, Session
from harvestplan.records.diary import append_event, read_diary, undo
from harvestplan.records.events import Event, KeepFree, Moved
from harvestplan.words import day

_MINUTE = "%Y-%m-%d %H:%M"
_FEW = 5


class MostAreGone(HarvestPlanError):
    """Most of what we put on the server is gone or elsewhere, which seldom is anybody's wish."""


class NothingPutThere(HarvestPlanError):
    """Of this calendar the record knows nothing, so that no change can be seen."""


@dataclass(frozen=True)
class Taken:
    """What stands elsewhere than it was put, with the diary's line for it; None where none was
    written now: it is no session, has no time, or was taken in before. `back`: it stands again
    where the plan has it, and the line takes the earlier one back. `note` is what the household
    may want to know of that time."""

    move: Altered
    line: str | None
    back: bool = False
    note: str = ""


def take_in(
    folder: Path, collection: Collection, on: dt.date, *, dry_run: bool = False, sure: bool = False
) -> list[Taken]:
    """Read the server and write in the diary, under the day `on`, what is new of it.

    A session moved back to where the plan has it takes its line back. Raises ServerRefused,
    FilesNeedMending, NothingPutThere, and unless `sure` NotOurs, and MostAreGone where it looks
    like an accident. With `dry_run` nothing is written.
    """
    out = folder / "out"
    plan = read_plan(need(out / PLAN))
    both = read_both(out, collection, plan, sure=sure)
    _refuse_unknown(out, collection, both)
    changes = both.changes()
    live = (s for s in plan.sessions if s.status in ("planned", "firm"))
    ahead = {s.uid: s for s in live if s.start.date() >= on}
    seen = both.before.seen
    asked = [c for c in changes if c.uid in ahead and c.what in WISHES]
    new = [change for change in asked if seen.get(change.uid) != change.state]
    if not sure:
        put = [uid for uid in both.before.sent if uid in ahead]
        _refuse_most(new, asked, len(put), at=collection.url)
    taken = []
    for change in changes:
        words = _words(change, ahead, plan) if change in new else None
        line = None
        if words is not None:
            verb, _, rest = words.partition(" ")
            line = words if dry_run else append_event(folder, verb, rest, on=on).line
        taken.append(Taken(change, line, note=_note(change, plan) if change.uid in ahead else ""))
    states = {change.uid: change.state for change in changes if change.uid in ahead}
    for uid in sorted((seen.keys() - states.keys()) & ahead.keys()):
        taken += _take_back(folder, ahead[uid], plan, on=on, dry_run=dry_run)
    if not dry_run:
        record = read_record(out)
        write_record(out, record.having(collection.url, replace(both.before, seen=states)))
    return taken


def _note(change: Altered, plan: Plan) -> str:
    """What is odd about the time to which a session was moved, or nothing."""
    if change.what != "moved" or not isinstance(change.start, dt.datetime):
        return ""
    start, season = _clock(change.start, plan), plan.season
    if not season.start <= start.date() <= season.end:
        span = f"{day(season.start)} to {day(season.end, year=True)}"
        return f"That lies outside the season ({span}), so the next plan will put it back."
    ends = isinstance(change.end, dt.datetime) and _clock(change.end, plan).date() > start.date()
    return "It would go on past midnight." if ends else ""


def _refuse_unknown(out: Path, collection: Collection, both: Both) -> None:
    """Raises NothingPutThere where nothing is known of what was put at this address."""
    if both.before.sent:
        return
    record = read_record(out)
    others = [url for url, there in record.calendars.items() if there.sent]
    if both.lost:
        why = (
            f"the record of what was put there (out/{LEDGER}) is lost, and the entries do not tell "
            "it themselves, so that nobody can say what was moved. Publish without --pull: that "
            "makes it anew from what stands there, and names what stands elsewhere than the plan."
        )
    elif others:
        known = "\n".join(f"  {printable(url)}" for url in others)
        why = f"nothing was put there yet. What was published is at:\n{known}"
    else:
        why = "nothing was put there yet. Publish first, without --pull."
    raise NothingPutThere(f"{printable(collection.url)}: {why}")


def _refuse_most(new: Sequence[Altered], asked: Sequence[Altered], put: int, *, at: str) -> None:
    """Raises MostAreGone where most sessions are gone or moved at once, and some of that is new."""
    if not new or not most_are(len(asked), put):
        return
    gone = sum(change.gone for change in asked)
    seen = [f"{gone} are gone" if gone else "", f"{len(asked) - gone} stand elsewhere"]
    told = " and ".join(part for part in seen if part and not part.startswith("0 "))
    in_order = sorted(asked, key=lambda change: (change.planned, change.uid))
    named = "\n".join(f"  {change}" for change in in_order[:_FEW])
    more = f"\n  and {len(asked) - _FEW} more" if len(asked) > _FEW else ""
    raise MostAreGone(
        f"Of the {put} sessions that were put at {printable(at)}, {told}:\n{named}{more}\n"
        "Perhaps somebody emptied that calendar, moved it as a whole or made it anew, or the "
        "address leads to another one. Nothing was written. To put the sessions back, publish with "
        "--put-back; if all of this is what you wish, say so with --pull --yes."
    )


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


def _words(change: Altered, ahead: Mapping[str, Session], plan: Plan) -> str | None:
    """The diary's words for a session that moved or is gone, or None for what is none."""
    session = ahead[change.uid]
    there = _clock(session.start, plan)
    if change.gone:
        others = [s for s in ahead.values() if s is not session]
        alone = all(_clock(s.start, plan).date() != there.date() for s in others)
        return f"keep free {there.date()}" if alone else f"keep free {there:{_MINUTE}}"
    if not isinstance(change.start, dt.datetime):
        return None
    return f"moved session {there:{_MINUTE}} to {_clock(change.start, plan):{_MINUTE}}"


def _take_back(
    folder: Path, session: Session, plan: Plan, *, on: dt.date, dry_run: bool
) -> Iterator[Taken]:
    """Undo the line that was written when the session stood elsewhere, if it still counts."""
    zone = ZoneInfo(plan.season.timezone)
    events = [event for event in _about(session, zone, read_diary(folder).events) if event.code]
    if not events:
        return
    there = _clock(session.start, plan)
    move = Altered(session.uid, "Session", f"{there:{_MINUTE}}", "moved", session.start)
    line = f"undo #{events[-1].code}"
    yield Taken(move, line if dry_run else undo(folder, events[-1].code, on)[0].line, back=True)


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
