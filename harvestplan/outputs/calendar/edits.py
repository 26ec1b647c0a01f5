"""What the household made of our entries in its own calendar program, against what we last sent."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal
from zoneinfo import ZoneInfo

from icalendar import Calendar, Component

from harvestplan.errors import printable
from harvestplan.outputs.calendar.one_entry import is_cancelled, moment_of, said, shown
from harvestplan.outputs.calendar.record import Sent
from harvestplan.outputs.calendar.standing import Standing, entry_in

What = Literal["moved", "deleted", "cancelled", "all day", "longer or shorter", "repeats"]
WISHES: tuple[What, ...] = ("moved", "deleted", "cancelled")
"""Changes of a session for which the diary has words."""


@dataclass(frozen=True)
class Altered:
    """A change that somebody made on the server; `planned` is when the plan has it, `start` and
    `end` are when it stands there, by the clock of the household's zone."""

    uid: str
    summary: str
    planned: str
    what: What
    start: dt.datetime | dt.date | None = None
    end: dt.datetime | dt.date | None = None

    @property
    def state(self) -> str:
        """By which the same change is known again."""
        if self.what in ("moved", "deleted"):
            return "" if self.start is None else self.start.isoformat()
        return f"{self.what} {self.end or self.start or ''}".strip()

    @property
    def gone(self) -> bool:
        """Whether it is off."""
        return self.what in ("deleted", "cancelled")

    def __str__(self) -> str:
        return f"{printable(self.summary)} (planned for {self.planned}): {self._what()}"

    def _what(self) -> str:
        if self.what == "moved":
            return f"moved to {shown(self.start)} in your calendar"
        if self.what == "all day":
            return f"made an entry for the whole of {shown(self.start)}, without a time"
        if self.what == "longer or shorter":
            return f"given another end in your calendar, {shown(self.end)}"
        if self.what == "repeats":
            return "made to repeat in your calendar; the plan heeds the first time alone"
        return f"{self.what} in your calendar"


def find_edits(
    sent: Mapping[str, Sent],
    ours: Mapping[str, Calendar],
    there: Mapping[str, Standing],
    *,
    zone: ZoneInfo,
) -> list[Altered]:
    """Every change of what we sent and still plan, in order of what was sent."""
    found: list[Altered] = []
    for uid, before in sent.items():
        if uid in ours and not is_cancelled(entry_in(ours[uid])):
            found += _edits(uid, before, entry_in(ours[uid]), standing=there.get(uid), zone=zone)
    return found


def _edits(
    uid: str, before: Sent, ours: Component, *, standing: Standing | None, zone: ZoneInfo
) -> Iterator[Altered]:
    now = said(ours)
    title, planned = str(ours.get("SUMMARY", "")), shown(moment_of(ours), zone)
    if standing is None:
        if now.get("DTSTART") == before.get("DTSTART"):
            yield Altered(uid, title, planned, "deleted")
        return  # else a later plan has answered it
    what = _what_of_its_time(before, now, standing.event)
    if what is not None:
        start, end = (moment_of(standing.event, name) for name in ("DTSTART", "DTEND"))
        yield Altered(uid, title, planned, what, _by_clock(start, zone), _by_clock(end, zone))
    if standing.repeats:
        yield Altered(uid, title, planned, "repeats")


def _what_of_its_time(before: Sent, now: Sent, event: Component) -> What | None:
    there = said(event)
    start, starts = there.get("DTSTART", ""), (before.get("DTSTART"), now.get("DTSTART"))
    if is_cancelled(event) and before.get("STATUS", "") != "CANCELLED":
        return "cancelled"
    if start not in starts:
        return "all day" if len(start) == _DATE < len(starts[1] or "") else "moved"
    ends = (before.get("DTEND"), now.get("DTEND"))
    told = "DTEND" in before and there.get("DTEND", "") not in ends
    return "longer or shorter" if told else None


_DATE = len("2027-07-14")


def _by_clock(moment: dt.datetime | dt.date | None, zone: ZoneInfo) -> dt.datetime | dt.date | None:
    if not isinstance(moment, dt.datetime):
        return moment
    return moment.astimezone(zone) if moment.tzinfo else moment.replace(tzinfo=zone)
