"""Bring the written calendar to where the household looks at it: a CalDAV server or a folder.

On a server each entry is a resource of its own (RFC 4791, 4.1). Deleted is only what the ledger
says we put there; changed, what besides has a UID that no other season can have. An entry that
bears the mark of another season is never touched unasked.
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
from harvestplan.disk import write_atomic
from harvestplan.errors import FilesNeedMending, Flaw, HarvestPlanError, printable
from harvestplan.inputs.busy_blocks import UNREADABLE
from harvestplan.outputs.calendar.caldav import ChangedMeanwhile, Collection, ServerRefused
from harvestplan.outputs.calendar.ical import PRODID
from harvestplan.outputs.calendar.multistatus import Resource
from harvestplan.outputs.calendar.one_entry import (
    event_of,
    is_cancelled,
    moment_of,
    newer,
    same,
    shown,
    start_text,
    titled,
)
from harvestplan.plan.file_names import LEDGER, SESSIONS, TASKS
from harvestplan.plan.season_id import CODE, SeasonId, keep_season_id, season_id

MARK = "X-HARVESTPLAN-SEASON"
"""The property of each entry on a server that holds the season's id."""
MOST_GONE = 0.5
"""Where more than this share of our entries is gone at once, and not one alone, the calendar was
rather emptied by accident than an evening given up."""
Ledger = dict[str, dict[str, str]]
"""What we put on which server: address → UID → start."""


class MostAreGone(HarvestPlanError):
    """Most of what we put on the server is not there any more, which seldom is anybody's wish."""


class NotOurs(HarvestPlanError):
    """Entries with our UIDs are there that this season's record does not know."""


@dataclass(frozen=True)
class EntryMoved:
    """An entry that somebody moved or deleted on the server; `start` is where it is now."""

    uid: str
    summary: str
    planned: str
    start: dt.datetime | dt.date | None
    deleted: bool = False

    def __str__(self) -> str:
        where = "deleted" if self.deleted else f"moved to {shown(self.start)}"
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
    moves: list[EntryMoved] = field(default_factory=list)
    titles: dict[str, str] = field(default_factory=dict)
    """Title and day of what was deleted, by UID."""
    others: list[str] = field(default_factory=list)
    """What another season put there."""

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
    out: Path,
    collection: Collection,
    dry_run: bool = False,
    *,
    waiting: Uids[str] = (),
    sure: bool = False,
) -> Published:
    """Make the server's calendar hold what sessions.ics in `out` holds; same again does nothing.

    What the household changed there is put back, but for the UIDs in `waiting`. Raises
    FilesNeedMending without a plan, ServerRefused where the server says no, and unless `sure`
    NotOurs where what would be changed may be another season's. What somebody changed in the same
    moment is left and listed in `clashes`.
    """
    own = season_id(out)
    ours, ledger = _resources(out, own), read_ledger(out)
    there = _events(collection.read())
    before = ledger.get(collection.url, {})
    touched = {uid: found for uid, found in there.items() if uid in ours or uid in before}
    if not sure:
        _refuse_others(touched, before, own, collection=collection)
    if not dry_run:
        keep_season_id(out, own)
    moves = _moves(before, ours, there)
    left = {move.uid for move in moves if move.uid in waiting}
    done = Published(waiting=sorted(left), moves=[move for move in moves if move.uid not in left])
    marks = {uid: _mark(found) for uid, found in there.items() if uid not in touched}
    done.others = [uid for uid, mark in marks.items() if mark not in ("", own.code)]
    put = dict(before)
    try:
        for uid, calendar in ours.items():
            if uid not in there and is_cancelled(calendar):
                continue  # nobody there has it, so nobody needs to learn that it is off
            if uid in left:
                continue
            _put(collection, uid, calendar, there=there.get(uid), done=done, dry_run=dry_run)
            if uid not in done.clashes:
                put[uid] = start_text(event_of(calendar))
        for uid, found in touched.items():
            if uid not in ours:
                delete = partial(collection.delete, found.resource)
                done.titles[uid] = titled(found.event)
                _attempt(done, done.deleted, uid, act=delete, dry_run=dry_run)
        kept = set(ours) | set(done.clashes)
        put = {uid: start for uid, start in put.items() if uid in kept}
    finally:
        # Also after a failure half-way, so that the next run knows whose those entries are.
        if not dry_run:
            write_ledger(out, ledger | {collection.url: put})
    return done


def pull(out: Path, collection: Collection, sure: bool = False) -> list[EntryMoved]:
    """What the household moved or deleted on the server since we last put it there.

    Raises ServerRefused where the server does not tell the whole, and unless `sure` MostAreGone,
    and NotOurs where what stands there is another season's.
    """
    own, before = season_id(out), read_ledger(out).get(collection.url, {})
    ours, there = _resources(out, own), _events(collection.read())
    if not sure:
        known = {uid: found for uid, found in there.items() if uid in before}
        _refuse_others(known, before, own, collection=collection)
    moves = _moves(before, ours, there)
    put = sum(uid in ours and not is_cancelled(ours[uid]) for uid in before)
    gone = sum(move.deleted for move in moves)
    if not sure and gone > max(1, MOST_GONE * put):
        raise MostAreGone(
            f"{gone} of the {put} entries that were put at {printable(collection.url)} are "
            "not there any more. Perhaps somebody emptied that calendar, or made it anew, or the "
            "address leads to another one. Nothing was written. To put them back, publish without "
            "--pull; if they were deleted on purpose and those evenings are to be kept free, say "
            "so with --pull --yes."
        )
    return moves


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
    *,
    there: _There | None,
    done: Published,
    dry_run: bool,
) -> None:
    if there is None:
        data = bytes(calendar.to_ical(sorted=False))
        create = partial(collection.create, f"{uid}.ics", data)
        _attempt(done, done.created, uid, act=create, dry_run=dry_run)
    elif same(event_of(calendar), there.event):
        done.unchanged.append(uid)
    else:
        update = partial(collection.update, there.resource, newer(calendar, there.event))
        _attempt(done, done.updated, uid, act=update, dry_run=dry_run)


def _attempt(
    done: Published, kind: list[str], uid: str, *, act: Callable[[], None], dry_run: bool
) -> None:
    try:
        if not dry_run:
            act()
            so_far.note_sent()
        kind.append(uid)
    except ChangedMeanwhile:
        done.clashes.append(uid)


def _refuse_others(
    touched: dict[str, _There], before: dict[str, str], own: SeasonId, *, collection: Collection
) -> None:
    """Raises NotOurs where a UID of ours is another season's entry, or may be."""
    others = [
        titled(found.event)
        for uid, found in touched.items()
        if not _is_ours(_mark(found), uid in before, own)
    ]
    if others:
        named = "\n".join(f"  {title}" for title in others[:10])
        raise NotOurs(
            f"At {printable(collection.url)} are entries ({len(others)}) that look like this "
            f"season's, but are not in its record (out/{LEDGER}), or bear another season's id. "
            f"Nothing was written. Such are:\n{named}\nGive this season a calendar of its own. If "
            "they are its own, from before the record or the id was lost, publish with --yes."
        )


def _mark(found: _There) -> str:
    return str(found.event.get(MARK, ""))


def _is_ours(mark: str, recorded: bool, own: SeasonId) -> bool:
    if CODE.fullmatch(mark):
        return mark == own.code
    # A server may drop the mark; a UID made from the id can still be nobody else's.
    return recorded or not own.by_name


def _resources(out: Path, own: SeasonId) -> dict[str, Calendar]:
    """A calendar of one entry for each UID of sessions.ics, with the time zone it names."""
    whole = _read_calendar(need(out / SESSIONS))
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
        event.add(MARK, own.code)
        calendar.add_component(event)
        found[str(event["UID"])] = calendar
    return found


def _read_calendar(path: Path) -> Component:
    data = path.read_bytes()
    try:
        return Calendar.from_ical(data)
    except UNREADABLE:
        hint = "Make it anew with: harvestplan plan"
        raise FilesNeedMending(
            [Flaw(str(path), None, "", message="it is torn.", hint=hint)]
        ) from None


def need(path: Path) -> Path:
    """The path of a file that `plan` writes; raises FilesNeedMending where it is missing."""
    if not path.is_file():
        hint = "Make it with: harvestplan plan"
        raise FilesNeedMending(
            [Flaw(str(path), None, "", message="there is no such file yet.", hint=hint)]
        )
    return path


def _events(resources: list[Resource]) -> dict[str, _There]:
    """The server's entries by UID; ServerRefused for one that cannot be read, which may be ours."""
    found = {}
    for resource in resources:
        try:
            whole = Calendar.from_ical(resource.data)
        except UNREADABLE:
            raise _unreadable(resource) from None
        events = whole.walk("VEVENT")
        if events and events[0].get("UID"):
            found[str(events[0]["UID"])] = _There(resource, events[0])
        elif events or all(part.name == "VTIMEZONE" for part in whole.subcomponents):
            raise _unreadable(resource)
    return found


def _unreadable(resource: Resource) -> ServerRefused:
    return ServerRefused(
        f"{printable(resource.path)} on the server cannot be read as an entry of a calendar. "
        "Nothing was taken from the answer. Mend or delete that entry there."
    )


def _moves(
    before: dict[str, str], ours: dict[str, Calendar], there: dict[str, _There]
) -> list[EntryMoved]:
    """What differs from where we put it, of what is still planned."""
    found = []
    for uid, start in before.items():
        if uid not in ours or is_cancelled(ours[uid]):
            continue
        now = start_text(event_of(ours[uid]))
        summary = str(event_of(ours[uid]).get("SUMMARY", ""))
        planned = shown(moment_of(event_of(ours[uid])))
        if uid not in there and now != start:
            continue  # a later plan has answered it
        if uid not in there:
            found.append(EntryMoved(uid, summary, planned, start=None, deleted=True))
        elif start_text(there[uid].event) not in (start, now):
            found.append(EntryMoved(uid, summary, planned, start=moment_of(there[uid].event)))
    return found


def read_ledger(out: Path) -> Ledger:
    """What was put where; empty where there is none or it is torn: then nothing is deleted."""
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
