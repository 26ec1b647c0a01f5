"""The shopping list as to-dos, there and back: put on a server, and ticks read again.

What was ticked is never sent again, not even with its tick taken off; more of the same than was
ticked is a to-do of its own.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

from icalendar import Calendar, Component

from harvestplan import so_far
from harvestplan.errors import printable
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.outputs.calendar.caldav import ChangedMeanwhile, Collection
from harvestplan.outputs.calendar.merging import put_into, what_to_take
from harvestplan.outputs.calendar.one_entry import said
from harvestplan.outputs.calendar.record import Sent, Ticked, read_record, write_record
from harvestplan.outputs.calendar.standing import (
    Standing,
    entry_in,
    need,
    our_entries,
    read_there,
)
from harvestplan.outputs.calendar.to_get import to_get
from harvestplan.plan.file import read_plan
from harvestplan.plan.file_names import PLAN, TASKS
from harvestplan.plan.models import ShoppingLine
from harvestplan.plan.season_id import season_id
from harvestplan.records.diary import append_event
from harvestplan.words import one_line

FOOD = "food"


@dataclass
class TodosDone:
    """Titles by what was done with them."""

    created: list[str] = field(default_factory=list)
    updated: list[str] = field(default_factory=list)
    deleted: list[str] = field(default_factory=list)
    unchanged: list[str] = field(default_factory=list)
    ticked: list[str] = field(default_factory=list)
    clashes: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class _List:
    """The list on a server beside what we sent there and what is still to be had, by UID."""

    there: Mapping[str, Standing]
    sent: Mapping[str, Sent]
    lines: Mapping[str, ShoppingLine]
    ticked: Mapping[str, Ticked]

    def new_ticks(self) -> dict[str, Ticked]:
        """What is ticked there and was not known to be."""
        return {
            uid: _tick(self.lines.get(uid))
            for uid, standing in self.there.items()
            if uid not in self.ticked
            and (uid in self.sent or uid in self.lines)
            and is_ticked(standing.event)
        }


def publish_todos(
    out: Path, collection: Collection, *, beside: str, dry_run: bool = False
) -> TodosDone:
    """Make the list there say what is to be had; `beside` is the calendar that it belongs to.

    What is ticked there is noted and left. A to-do that somebody deleted stays away until the plan
    has news of it. Raises ServerRefused, FilesNeedMending.
    """
    whole = _read(out, collection)
    done = TodosDone()
    new = whole.new_ticks()
    ticked = {**whole.ticked, **new}
    done.ticked = [_title(whole.there[uid].event) for uid in new]
    ours = our_entries([out / TASKS], season_id(out).code, "VTODO")
    run = _TodoRun(collection, whole.there, dict(whole.sent), done=done, dry_run=dry_run)
    try:
        for uid, calendar in ours.items():
            if uid in whole.lines and uid not in ticked:
                run.bring(uid, calendar)
        for uid in whole.sent.keys() - ours.keys():
            if uid in whole.there and uid not in ticked:
                run.take_away(uid)
    finally:
        if not dry_run:
            kept = {u: s for u, s in run.sent.items() if u in ours or u in whole.there}
            record = read_record(out)
            record = record.having(collection.url, replace(record.at(collection.url), tasks=kept))
            record = record.having(beside, replace(record.at(beside), todos=collection.url))
            write_record(out, replace(record, ticked=ticked))
    return done


def take_ticks(
    folder: Path, collection: Collection, on: dt.date, *, dry_run: bool = False
) -> dict[str, str]:
    """Title of each thing that was ticked and not told yet, with the diary's line for it, written
    under the day `on`: food as "bought"; "" for what the diary has no word for."""
    out = folder / "out"
    whole = _read(out, collection)
    ticked = {**whole.ticked, **whole.new_ticks()}
    told: dict[str, str] = {}
    for uid, tick in ticked.items():
        if tick.pending is None:
            continue
        standing = whole.there.get(uid)
        title = _title(standing.event) if standing else tick.pending or "something ticked"
        told[title] = _write(folder, tick.pending, on, dry_run)
        ticked[uid] = replace(tick, pending=None)
    if not dry_run and ticked != whole.ticked:
        write_record(out, replace(read_record(out), ticked=ticked))
    return told


def _write(folder: Path, words: str, on: dt.date, dry_run: bool) -> str:
    if not words or dry_run:
        return words and f"bought {words}"
    try:
        return append_event(folder, "bought", words, on=on).line
    except Unclear:
        return ""  # listed under a name that is no crop's


def _read(out: Path, collection: Collection) -> _List:
    plan, record = read_plan(need(out / PLAN)), read_record(out)
    left = to_get(plan, season_id(out).seed, record.ticked)
    return _List(
        read_there(collection, "VTODO"),
        record.at(collection.url).tasks,
        {uid: line for _, uid, line in left},
        record.ticked,
    )


def is_ticked(todo: Component) -> bool:
    """Whether it is done or called off (RFC 5545, 3.8.1.11, 3.8.2.1, 3.8.1.8)."""
    status = str(todo.get("STATUS", "")).upper()
    whole = str(todo.get("PERCENT-COMPLETE", "")) == "100"
    return status in ("COMPLETED", "CANCELLED") or "COMPLETED" in todo or whole


def _tick(line: ShoppingLine | None) -> Ticked:
    if line is None:
        return Ticked(0, 0)
    covers = max(line.buy, line.packs * (line.pack or 0))
    words = f'"{one_line(line.item)}" {line.buy} g' if line.kind == FOOD else ""
    return Ticked(covers, line.in_stock, words)


def _title(todo: Component) -> str:
    return one_line(printable(str(todo.get("SUMMARY", "untitled"))))


@dataclass
class _TodoRun:
    """One publishing of the list: what is done, and what was sent by now."""

    collection: Collection
    there: Mapping[str, Standing]
    sent: dict[str, Sent]
    done: TodosDone
    dry_run: bool

    def bring(self, uid: str, calendar: Calendar) -> None:
        """Put one of ours there, or into what stands there."""
        todo = entry_in(calendar)
        now, before, standing = said(todo), self.sent.get(uid), self.there.get(uid)
        if standing is None:
            if before == now:
                return  # somebody deleted it
            data = bytes(calendar.to_ical(sorted=False))
            create = partial(self.collection.create, f"{uid}.ics", data)
            self._attempt(self.done.created, uid, todo, act=create)
            return
        merge = what_to_take(now, before, said(standing.event))
        if not merge.take:
            self.done.unchanged.append(_title(todo))
            self.sent[uid] = now
            return
        data = put_into(standing.resource.data, calendar, merge, sent=before or {})
        update = partial(self.collection.update, standing.resource, data)
        self._attempt(self.done.updated, uid, todo, act=update)

    def take_away(self, uid: str) -> None:
        """Delete what the plan no longer asks for."""
        standing = self.there[uid]
        delete = partial(self.collection.delete, standing.resource)
        if self._attempt(self.done.deleted, uid, standing.event, act=delete):
            del self.sent[uid]

    def _attempt(
        self, kind: list[str], uid: str, todo: Component, *, act: Callable[[], None]
    ) -> bool:
        try:
            if not self.dry_run:
                act()
                so_far.note_sent()
        except ChangedMeanwhile:
            self.done.clashes.append(_title(todo))
            return False
        kind.append(_title(todo))
        self.sent[uid] = said(todo)
        return True
