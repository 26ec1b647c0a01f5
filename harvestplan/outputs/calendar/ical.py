"""Calendar files that many readers agree on (RFC 5545, RFC 7986), with a memory.

An entry whose content is as in the previous file keeps its stamps to the byte; one that changed
gets a later LAST-MODIFIED and a higher SEQUENCE, since readers look at one or the other.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from icalendar import Calendar, Component

from harvestplan.inputs.busy_blocks import UNREADABLE
from harvestplan.words import one_line

PRODID = "-//harvestplan//season plan//EN"
REFRESH = dt.timedelta(hours=6)
SECOND = dt.timedelta(seconds=1)
HIGHEST = 2**31 - 2
"""The last SEQUENCE after which another comes (RFC 5545, 3.3.8: 32 bits)."""
STAMPS = ("DTSTAMP", "CREATED", "LAST-MODIFIED", "SEQUENCE")


class Memory:
    """The previous file's components by UID. What cannot be read of it is no memory."""

    def __init__(self, previous: bytes | None, kind: str, now: dt.datetime) -> None:
        self.now = now.astimezone(dt.UTC).replace(microsecond=0)
        self.components: dict[str, Component] = {}
        try:
            calendars = Calendar.from_ical(previous, multiple=True) if previous else []
        except UNREADABLE:
            calendars = []
        for component in (found for each in calendars for found in each.walk(kind)):
            self.components[str(component.get("UID", ""))] = component

    def stamp(self, component: Component, own: int | None = None) -> None:
        """Set DTSTAMP, CREATED, LAST-MODIFIED and SEQUENCE; `component` has all its content.

        `own` is the plan's number of it: where there is one, SEQUENCE is that number, but never
        lower than it was.
        """
        before = self.components.get(str(component["UID"]))
        known = before is not None and _remembered(before) == _content(component)
        modified, created, sequence = self.now, self.now, own or 0
        if before is not None:
            old, number = _time(before, "LAST-MODIFIED"), _sequence(before)
            created = _time(before, "CREATED") or self.now
            if known and old is not None and (own is None or own <= number):
                modified, sequence = old, number
            else:
                # A clock set back must not make the change look older than what it replaces.
                modified = max(self.now, _next_second(old)) if old else self.now
                sequence = number + 1 if own is None else max(number, own)
        stamps = (modified, created, modified, sequence)
        for name, value in zip(STAMPS, stamps, strict=True):
            component.add(name, value)


def file_bytes(name: str, components: Iterable[Component], *, color: str) -> bytes:
    """A whole calendar file: UTF-8, CRLF, folded at 75 octets (RFC 5545, 3.1), in a colour of CSS
    (RFC 7986, 5.9).

    No METHOD, which would ask for scheduling, and no UID of the calendar's own, which some
    programs take for the UID of every entry.
    """
    calendar = Calendar()
    calendar.add("VERSION", "2.0")
    calendar.add("PRODID", PRODID)
    calendar.add("CALSCALE", "GREGORIAN")
    calendar.add("NAME", one_line(name))
    calendar.add("X-WR-CALNAME", one_line(name))
    calendar.add("COLOR", color)
    calendar.add("REFRESH-INTERVAL", REFRESH, parameters={"VALUE": "DURATION"})
    calendar.add("X-PUBLISHED-TTL", "PT6H")
    for component in components:
        calendar.add_component(component)
    return bytes(calendar.to_ical(sorted=False))


def moment(component: Component, name: str) -> dt.datetime | dt.date | None:
    """The time or date that stands there; None where there is none, or none that can be read."""
    try:
        value = getattr(component.get(name), "dt", None)
    except UNREADABLE:
        return None
    return value if isinstance(value, dt.date) else None


def _remembered(component: Component) -> bytes | None:
    try:
        return _content(component)
    except UNREADABLE:
        return None


def _content(component: Component) -> bytes:
    """The component without its stamps, as written."""
    lines = component.to_ical(sorted=False).replace(b"\r\n ", b"").split(b"\r\n")
    names = tuple(name.encode() + b":" for name in STAMPS)
    return b"\r\n".join(line for line in lines if not line.startswith(names))


def _sequence(component: Component) -> int:
    written = str(component.get("SEQUENCE", 0))
    short = written.isdecimal() and len(written) <= len(str(HIGHEST))
    return int(written) if short and int(written) <= HIGHEST else 0


def _time(component: Component, name: str) -> dt.datetime | None:
    value = moment(component, name)
    try:
        return value.astimezone(dt.UTC) if isinstance(value, dt.datetime) else None
    except UNREADABLE:
        return None  # at the ends of the calendar


def _next_second(time: dt.datetime) -> dt.datetime:
    return min(time, dt.datetime.max.replace(tzinfo=dt.UTC) - SECOND) + SECOND
