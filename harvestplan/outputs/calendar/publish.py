"""Bring what the plan says to a calendar on a server, and leave what the household made of it.

On a server each entry is a resource of its own (RFC 4791, 4.1). Deleted is only what the record
lists as sent; changed, what besides has a UID that no other season can have. An entry that bears
the mark of another season is never touched unasked. A change of the household's that nobody has
read yet stays as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from collections.abc import Collection as Uids
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

from icalendar import Calendar

from harvestplan import so_far
from harvestplan.errors import HarvestPlanError, printable
from harvestplan.outputs.calendar.caldav import ChangedMeanwhile, Collection
from harvestplan.outputs.calendar.edits import Altered, find_edits
from harvestplan.outputs.calendar.kinds import KINDS, USUAL_KINDS
from harvestplan.outputs.calendar.merging import notes_of, put_into, what_to_take
from harvestplan.outputs.calendar.one_entry import is_cancelled, moment_of, said, shown, titled
from harvestplan.outputs.calendar.record import OnCalendar, Sent, read_record, write_record
from harvestplan.outputs.calendar.standing import (
    Standing,
    entry_in,
    need,
    our_entries,
    read_there,
    stood,
)
from harvestplan.plan.file import read_plan
from harvestplan.plan.file_names import LEDGER, PLAN
from harvestplan.plan.models import Plan
from harvestplan.plan.season_id import CODE, SeasonId, keep_season_id, season_id

MOST_GONE = 0.5
"""Where more than this share of our entries is gone or elsewhere at once, and not one alone, the
calendar was rather emptied or moved by accident than evening after evening given up."""


class NotOurs(HarvestPlanError):
    """Entries with our UIDs are there that this season's record does not know."""


@dataclass
class Done:
    """UIDs by what was done with them, and what there is to say of it; the calendar `holds` these
    kinds now."""

    holds: tuple[str, ...] = ()

    created: list[str] = field(default_factory=list)
    updated: list[str] = field(default_factory=list)
    deleted: list[str] = field(default_factory=list)
    unchanged: list[str] = field(default_factory=list)
    clashes: list[str] = field(default_factory=list)
    waiting: list[str] = field(default_factory=list)
    """What the diary has of the household's changes, and the next plan will heed."""
    unread: list[Altered] = field(default_factory=list)
    """The household's changes that nobody has read yet; they are left."""
    put_back: list[Altered] = field(default_factory=list)
    overwritten: dict[str, str] = field(default_factory=dict)
    """What of the household's had to give way to the plan's news, in words, by UID."""
    titles: dict[str, str] = field(default_factory=dict)
    """Title and day of what was deleted, by UID."""
    others: list[str] = field(default_factory=list)
    """What another season put there."""
    strays: list[str] = field(default_factory=list)
    """Titles of what bears this season's mark and is in no record; it is left."""
    in_doubt: list[str] = field(default_factory=list)
    """Sentences on what stands elsewhere, of which nobody can tell who moved it; it is left."""
    rebuilt: bool = False
    """Whether the record was lost and made anew from what stands there."""

    def counts(self) -> str:
        """One line for people."""
        told = f"{len(self.created)} new, {len(self.updated)} changed, {len(self.deleted)} deleted"
        return f"{told}, {len(self.unchanged)} as they were"


@dataclass(frozen=True)
class Both:
    """Our entries and the server's, by UID, and what the record says of that calendar; `sessions`
    are the UIDs of sessions still planned. `lost`: ours stand there, and the record knows nothing
    of it."""

    ours: Mapping[str, Calendar]
    there: Mapping[str, Standing]
    before: OnCalendar
    sessions: frozenset[str]
    zone: ZoneInfo
    own: SeasonId
    lost: bool = False

    def changes(self) -> list[Altered]:
        """What the household made of what we sent."""
        return find_edits(self.before.sent, self.ours, self.there, zone=self.zone)


def read_both(
    out: Path, collection: Collection, plan: Plan, *, holds: Sequence[str] = (), sure: bool = False
) -> Both:
    """Both sides of a calendar; of its kinds where none are asked for by `holds`.

    Raises FilesNeedMending without the files, ServerRefused where the server does not tell the
    whole, and unless `sure` NotOurs.
    """
    own, before = season_id(out), read_record(out).at(collection.url)
    kinds = holds or before.holds or (tuple(KINDS) if before.sent else USUAL_KINDS)
    files = [out / KINDS[name].file for name in kinds if name in KINDS]
    ours, there = our_entries(files, own.code), read_there(collection)
    touched = {uid: each for uid, each in there.items() if uid in ours or uid in before.sent}
    if not sure:
        _refuse_others(touched, before.sent, own, collection=collection)
    lost = not before.sent and bool(ours.keys() & there.keys())
    sent = {**_told_by_entries(ours, there), **before.sent}
    return Both(
        ours,
        there,
        replace(before, holds=tuple(kinds), sent=sent),
        frozenset(s.uid for s in plan.sessions if s.status in ("planned", "firm")),
        ZoneInfo(plan.season.timezone),
        own,
        lost,
    )


def _told_by_entries(
    ours: Mapping[str, Calendar], there: Mapping[str, Standing]
) -> dict[str, Sent]:
    """What entries tell themselves of how we sent them."""
    told = {uid: stood(there[uid].event) for uid in ours if uid in there}
    return {uid: sent for uid, sent in told.items() if sent}


def publish(
    out: Path,
    collection: Collection,
    dry_run: bool = False,
    *,
    holds: Sequence[str] = (),
    waiting: Uids[str] = (),
    put_back: bool = False,
    sure: bool = False,
) -> Done:
    """Make the server's calendar say what our files for it say; same again does nothing.

    Left as the household has it are UIDs in `waiting`, and changes that nobody has read yet, unless
    `put_back`. Raises what `read_both` raises. What somebody changed in the same moment is left and
    listed in `clashes`.
    """
    plan = read_plan(need(out / PLAN))
    both = read_both(out, collection, plan, holds=holds, sure=sure)
    if not dry_run:
        keep_season_id(out, both.own)
    run = _Run(both, collection, dry_run=dry_run)
    run.note_others()
    run.sort_changes(frozenset(waiting), put_back)
    try:
        for uid, calendar in both.ours.items():
            run.bring(uid, calendar)
        for uid, found in both.there.items():
            if uid in both.before.sent and (uid not in both.ours or run.is_off(uid)):
                run.take_away(uid, found)
    finally:
        # Also after a failure half-way, so that the next run knows whose those entries are.
        if not dry_run:
            record = read_record(out)
            kept = replace(both.before, sent=run.still_sent())
            write_record(out, record.having(collection.url, kept))
    return run.done


class _Run:
    """One publishing: what is done, and what was sent by now."""

    def __init__(self, both: Both, collection: Collection, *, dry_run: bool) -> None:
        self.both, self.collection, self.dry_run = both, collection, dry_run
        self.done = Done(both.before.holds)
        self.sent: dict[str, Sent] = dict(both.before.sent)
        self._left: frozenset[str] = frozenset()
        self._back: frozenset[str] = frozenset()
        self._stay_away: frozenset[str] = frozenset()
        self.done.rebuilt = both.lost

    def is_off(self, uid: str) -> bool:
        """Whether it is cancelled in our files; on a server nobody needs to see that."""
        return is_cancelled(entry_in(self.both.ours[uid]))

    def still_sent(self) -> dict[str, Sent]:
        """What is to be remembered: what we plan, and what stands there yet."""
        return {
            uid: sent
            for uid, sent in self.sent.items()
            if uid in self.both.there or (uid in self.both.ours and not self.is_off(uid))
        }

    def note_others(self) -> None:
        """What stands there and is not ours to touch."""
        for uid, found in self.both.there.items():
            if uid in self.both.ours or uid in self.sent:
                continue
            if found.mark == self.both.own.code:
                self.done.strays.append(titled(found.event, self.both.zone))
            elif found.mark:
                self.done.others.append(uid)

    def sort_changes(self, waiting: frozenset[str], put_back: bool) -> None:
        """Which of the household's changes stay, and which give way."""
        changes = self.both.changes()
        emptied = most_are(sum(c.what == "deleted" for c in changes), len(self.sent))
        left, back, away = set(), set(), set()
        for change in changes:
            uid, deleted = change.uid, change.what == "deleted"
            if uid not in self.both.sessions:
                away |= {uid} if deleted and not (emptied or put_back) else set()
            elif change.what == "repeats" or (emptied and deleted):
                continue
            elif not put_back and uid in waiting:
                left.add(uid)
            elif not put_back and self.both.before.seen.get(uid) != change.state:
                left.add(uid)
                self.done.unread.append(change)
            elif put_back or change.what != "longer or shorter":
                back.add(uid)
                self.done.put_back.append(change)
        if emptied:
            self.done.put_back += [change for change in changes if change.what == "deleted"]
        self.done.waiting = sorted(left & waiting)
        self._left, self._back, self._stay_away = map(frozenset, (left, back, away))

    def bring(self, uid: str, calendar: Calendar) -> None:
        """Put one of ours there, or into what stands there."""
        found, now = self.both.there.get(uid), said(entry_in(calendar))
        if self.is_off(uid) or (found is None and uid in self._left | self._stay_away):
            return
        if found is None:
            data = bytes(calendar.to_ical(sorted=False))
            create = partial(self.collection.create, f"{uid}.ics", data)
            self._attempt(self.done.created, uid, now, act=create)
            return
        before = self.sent.get(uid)
        left = uid in self._left or self._in_doubt(uid, now, before)
        there = said(found.event)
        merge = what_to_take(now, before, there, back=uid in self._back, left=left)
        known = dict(now)
        if left:
            known |= {name: (before or there).get(name, "") for name in ("DTSTART", "DTEND")}
        if not merge.take:
            self.done.unchanged.append(uid)
            self.sent[uid] = known
            return
        if merge.overwrites:
            self.done.overwritten[uid] = (
                f"{titled(found.event, self.both.zone)}: {' and '.join(merge.overwrites)}"
            )
        data = put_into(found.resource.data, calendar, merge, sent=before or {})
        update = partial(self.collection.update, found.resource, data)
        self._attempt(self.done.updated, uid, known, act=update)

    def _in_doubt(self, uid: str, now: Sent, before: Sent | None) -> bool:
        """Whether nobody can tell if the plan or a person moved it; it is said."""
        start = said(self.both.there[uid].event).get("DTSTART", "")
        if before is not None or uid not in self.both.sessions or start == now.get("DTSTART"):
            return False
        here = shown(moment_of(entry_in(self.both.ours[uid])), self.both.zone)
        title = titled(self.both.there[uid].event, self.both.zone)
        self.done.in_doubt.append(f"{title}: the plan has it on {here}")
        return True

    def take_away(self, uid: str, found: Standing) -> None:
        """Delete what we sent and the plan no longer has."""
        title = titled(found.event, self.both.zone)
        before, there = self.sent[uid].get("DESCRIPTION", ""), said(found.event)
        notes = notes_of(there.get("DESCRIPTION", ""), before)
        told = f'{title}, with your note "{printable(notes)}"' if notes else title
        self.done.titles[uid] = told
        delete = partial(self.collection.delete, found.resource)
        self._attempt(self.done.deleted, uid, None, act=delete)

    def _attempt(
        self, kind: list[str], uid: str, sent: Sent | None, *, act: Callable[[], None]
    ) -> None:
        try:
            if not self.dry_run:
                act()
                so_far.note_sent()
            kind.append(uid)
        except ChangedMeanwhile:
            self.done.clashes.append(uid)
            return
        if sent is None:
            self.sent.pop(uid, None)
        else:
            self.sent[uid] = sent


def most_are(number: int, of: int) -> bool:
    """Whether that many of so many are rather an accident than somebody's wishes."""
    return number > max(1, MOST_GONE * of)


def _refuse_others(
    touched: Mapping[str, Standing], before: Mapping[str, Sent], own: SeasonId, *,
    collection: Collection,
) -> None:  # fmt: skip
    """Raises NotOurs where a UID of ours is another season's entry, or may be."""
    others = [
        titled(found.event)
        for uid, found in touched.items()
        if not _is_ours(found.mark, uid in before, own)
    ]
    if others:
        named = "\n".join(f"  {title}" for title in others[:10])
        raise NotOurs(
            f"At {printable(collection.url)} are entries ({len(others)}) that look like this "
            f"season's, but are not in its record (out/{LEDGER}), or bear another season's id. "
            f"Nothing was written. Such are:\n{named}\nGive this season a calendar of its own. If "
            "they are its own, from before the record or the id was lost, publish with --yes."
        )


def _is_ours(mark: str, recorded: bool, own: SeasonId) -> bool:
    if CODE.fullmatch(mark):
        return mark == own.code
    # A server may drop the mark; a UID made from the id can still be nobody else's.
    return recorded or not own.by_name
