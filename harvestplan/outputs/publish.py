"""Bring the written calendar to where the household looks at it: a CalDAV server or a folder.

On a server each entry is a resource of its own (RFC 4791, 4.1). Only entries that bear this
season's mark, or that the ledger says we put there, are ever changed or deleted.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable
from collections.abc import Collection as Uids
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from icalendar import Calendar, Component

from harvestplan import so_far
from harvestplan.errors import FilesNeedMending, Flaw, printable
from harvestplan.inputs.calendar_blocks import UNREADABLE
from harvestplan.outputs.caldav import ChangedMeanwhile, Collection, Resource
from harvestplan.outputs.entries import entry_uid
from harvestplan.outputs.files import LEDGER, PLAN, SESSIONS, TASKS
from harvestplan.outputs.ical import PRODID
from harvestplan.outputs.plan_json import read_plan
from harvestplan.records.disk import write_atomic

MARK = "X-HARVESTPLAN-SEASON"

_COMPARED = ("DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "LOCATION", "CATEGORIES", "STATUS",
             "TRANSP")  # fmt: skip

Ledger = dict[str, dict[str, str]]
"""What we put on which server: address → UID → start."""


@dataclass(frozen=True)
class Move:
    """An entry that somebody moved or deleted on the server; `start` is where it is now."""

    uid: str
    summary: str
    planned: str
    start: dt.datetime | dt.date | None
    deleted: bool = False

    def __str__(self) -> str:
        where = "deleted" if self.deleted else f"moved to {_shown(self.start)}"
        return f"{printable(self.summary)} (planned for {self.planned}): {where} by somebody"


@dataclass
class Published:
    """UIDs by what was done with them; `moves` is what the household had changed there, `waiting`
    what of it was left so, since the next plan will heed it."""

    created: list[str] = field(default_factory=list)
    updated: list[str] = field(default_factory=list)
    deleted: list[str] = field(default_factory=list)
    unchanged: list[str] = field(default_factory=list)
    clashes: list[str] = field(default_factory=list)
    waiting: list[str] = field(default_factory=list)
    moves: list[Move] = field(default_factory=list)

    def counts(self) -> str:
        """One line for people."""
        said = f"{len(self.created)} new, {len(self.updated)} changed, {len(self.deleted)} deleted"
        return f"{said}, {len(self.unchanged)} as they were"


@dataclass(frozen=True)
class _There:
    """One of the server's resources, parsed."""

    resource: Resource
    event: Component


def publish(
    out: Path, collection: Collection, dry_run: bool = False, waiting: Uids[str] = ()
) -> Published:
    """Make the server's calendar hold what sessions.ics in `out` holds; same again does nothing.

    What the household changed there is put back, but for the UIDs in `waiting`. Raises
    FilesNeedMending without a plan, ServerRefused where the server says no. What somebody changed
    in the same moment is left and listed in `clashes`.
    """
    mark, ours = _season_mark(out), _resources(out)
    ledger = read_ledger(out)
    there = _events(collection.read())
    before = ledger.get(collection.url, {})
    moves = _moves(before, ours, there)
    left = {move.uid for move in moves if move.uid in waiting}
    done = Published(waiting=sorted(left), moves=[move for move in moves if move.uid not in left])
    put = dict(before)
    try:
        for uid, calendar in ours.items():
            if uid not in there and _event(calendar).get("STATUS") == "CANCELLED":
                continue  # nobody there has it, so nobody needs to learn that it is off
            if uid in left:
                continue
            _put(collection, uid, calendar, there.get(uid), done, dry_run)
            if uid not in done.clashes:
                put[uid] = _start_text(_event(calendar))
        for uid, found in there.items():
            if uid not in ours and (uid in before or str(found.event.get(MARK, "")) == mark):
                delete = partial(collection.delete, found.resource)
                _attempt(done, done.deleted, uid, delete, dry_run)
        kept = set(ours) | set(done.clashes)
        put = {uid: start for uid, start in put.items() if uid in kept}
    finally:
        # Also after a failure half-way, so that the next run knows whose those entries are.
        if not dry_run:
            write_ledger(out, ledger | {collection.url: put})
    return done


def pull(out: Path, collection: Collection) -> list[Move]:
    """What the household moved or deleted on the server since we last put it there."""
    before = read_ledger(out).get(collection.url, {})
    return _moves(before, _resources(out), _events(collection.read()))


def write_folder(out: Path, folder: Path) -> list[Path]:
    """Copy the calendar files of `out` into `folder`, made if missing, for a host or a sync."""
    need(out / SESSIONS)
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name in (SESSIONS, TASKS):
        if (out / name).is_file():
            write_atomic(folder / name, (out / name).read_bytes())
            written.append(folder / name)
    return written


def _put(
    collection: Collection,
    uid: str,
    calendar: Calendar,
    there: _There | None,
    done: Published,
    dry_run: bool,
) -> None:
    if there is None:
        data = bytes(calendar.to_ical(sorted=False))
        create = partial(collection.create, f"{uid}.ics", data)
        _attempt(done, done.created, uid, create, dry_run)
    elif _same(_event(calendar), there.event):
        done.unchanged.append(uid)
    else:
        update = partial(collection.update, there.resource, _newer(calendar, there.event))
        _attempt(done, done.updated, uid, update, dry_run)


def _attempt(
    done: Published, kind: list[str], uid: str, act: Callable[[], None], dry_run: bool
) -> None:
    try:
        if not dry_run:
            act()
            so_far.note_sent()
        kind.append(uid)
    except ChangedMeanwhile:
        done.clashes.append(uid)


def _resources(out: Path) -> dict[str, Calendar]:
    """A calendar of one entry for each UID of sessions.ics, with the time zone it names."""
    whole = _read_calendar(need(out / SESSIONS))
    mark = _season_mark(out)
    zones = {str(zone["TZID"]): zone for zone in whole.walk("VTIMEZONE")}
    found: dict[str, Calendar] = {}
    for event in whole.walk("VEVENT"):
        calendar = Calendar()
        calendar.add("VERSION", "2.0")
        calendar.add("PRODID", PRODID)
        calendar.add("CALSCALE", "GREGORIAN")
        named = {str(event[name].params.get("TZID", "")) for name in ("DTSTART", "DTEND")}
        for name in sorted(named & zones.keys()):
            calendar.add_component(zones[name])
        event.add(MARK, mark)
        calendar.add_component(event)
        found[str(event["UID"])] = calendar
    return found


def _read_calendar(path: Path) -> Component:
    data = path.read_bytes()
    try:
        return Calendar.from_ical(data)
    except UNREADABLE:
        hint = "Make it anew with: harvestplan plan"
        raise FilesNeedMending([Flaw(str(path), None, "", "it is torn.", hint)]) from None


def _season_mark(out: Path) -> str:
    return entry_uid(read_plan(need(out / PLAN)), "season")


def need(path: Path) -> Path:
    """The path of a file that `plan` writes; raises FilesNeedMending where it is missing."""
    if not path.is_file():
        hint = "Make it with: harvestplan plan"
        raise FilesNeedMending([Flaw(str(path), None, "", "there is no such file yet.", hint)])
    return path


def _event(calendar: Calendar) -> Component:
    return calendar.walk("VEVENT")[0]


def _events(resources: list[Resource]) -> dict[str, _There]:
    """The server's entries by UID; what cannot be read is none of ours."""
    found = {}
    for resource in resources:
        try:
            events = Calendar.from_ical(resource.data).walk("VEVENT")
        except UNREADABLE:
            continue
        if events and events[0].get("UID"):
            found[str(events[0]["UID"])] = _There(resource, events[0])
    return found


def _same(ours: Component, theirs: Component) -> bool:
    """Whether they say the same to people; alarms and stamps are the reader's own affair."""
    return all(_value(ours, name) == _value(theirs, name) for name in _COMPARED)


def _value(event: Component, name: str) -> str:
    value = event.get(name)
    if name in ("DTSTART", "DTEND"):
        return _start_text(event, name)
    text = value.to_ical() if hasattr(value, "to_ical") else str(value or "")
    plain = text.decode("utf-8", "replace") if isinstance(text, bytes) else text
    return plain.strip()


def _start_text(event: Component, name: str = "DTSTART") -> str:
    """The instant in UTC, or the date, as ISO 8601; the zone's name is no matter."""
    moment = _moment(event, name)
    if isinstance(moment, dt.datetime) and moment.tzinfo is not None:
        moment = moment.astimezone(dt.UTC)
    return moment.isoformat() if moment is not None else ""


def _newer(calendar: Calendar, theirs: Component) -> bytes:
    """The calendar with a SEQUENCE above theirs, so that no reader takes it for the older."""
    event = _event(calendar)
    number = str(theirs.get("SEQUENCE", 0))
    if number.isdecimal() and int(number) >= int(event.get("SEQUENCE", 0)):
        raised = Calendar.from_ical(calendar.to_ical(sorted=False))
        inner = _event(raised)
        del inner["SEQUENCE"]
        inner.add("SEQUENCE", int(number) + 1)
        return bytes(raised.to_ical(sorted=False))
    return bytes(calendar.to_ical(sorted=False))


def _moves(
    before: dict[str, str], ours: dict[str, Calendar], there: dict[str, _There]
) -> list[Move]:
    """What differs from where we put it, of what is still planned."""
    found = []
    for uid, start in before.items():
        if uid not in ours or _event(ours[uid]).get("STATUS") == "CANCELLED":
            continue
        now = _start_text(_event(ours[uid]))
        summary = str(_event(ours[uid]).get("SUMMARY", ""))
        planned = _shown(_moment(_event(ours[uid])))
        if uid not in there and now != start:
            continue  # a later plan has answered it
        if uid not in there:
            found.append(Move(uid, summary, planned, None, deleted=True))
        elif _start_text(there[uid].event) not in (start, now):
            found.append(Move(uid, summary, planned, _moment(there[uid].event)))
    return found


def _moment(event: Component, name: str = "DTSTART") -> dt.datetime | dt.date | None:
    found = getattr(event.get(name), "dt", None)
    return found if isinstance(found, dt.date) else None


def _shown(moment: dt.datetime | dt.date | None) -> str:
    if moment is None:
        return "no day"
    return f"{moment:%Y-%m-%d %H:%M}" if isinstance(moment, dt.datetime) else moment.isoformat()


def read_ledger(out: Path) -> Ledger:
    """What was put where; empty where there is none or it is torn, since the mark still tells what
    is ours."""
    try:
        found = json.loads((out / LEDGER).read_text(encoding="utf-8"))
        return {
            str(url): {str(uid): str(start) for uid, start in entries.items()}
            for url, entries in found.items()
        }
    except (OSError, ValueError, AttributeError):
        return {}


def write_ledger(out: Path, ledger: Ledger) -> None:
    """Keep what was put where for the next time."""
    text = json.dumps(ledger, indent=1, sort_keys=True)
    write_atomic(out / LEDGER, text.encode("utf-8"))
