"""One entry of a calendar: what it says, and whether two say the same."""

from __future__ import annotations

import datetime as dt

from icalendar import Calendar, Component

from harvestplan.errors import printable
from harvestplan.inputs.busy_blocks import UNREADABLE

_COMPARED = ("DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "LOCATION", "CATEGORIES", "STATUS",
             "TRANSP")  # fmt: skip
_LAST_SEQUENCE = 2**31 - 1
"""The largest integer of RFC 5545 (3.3.8)."""


def event_of(calendar: Calendar) -> Component:
    """The entry in a calendar of one."""
    return calendar.walk("VEVENT")[0]


def is_cancelled(calendar: Calendar) -> bool:
    """Whether its entry is off."""
    return str(event_of(calendar).get("STATUS", "")) == "CANCELLED"


def same(ours: Component, theirs: Component) -> bool:
    """Whether they say the same to people; alarms and stamps are the reader's own affair."""
    return all(_value(ours, name) == _value(theirs, name) for name in _COMPARED)


def _value(event: Component, name: str) -> str:
    value = event.get(name)
    if name in ("DTSTART", "DTEND"):
        return start_text(event, name)
    text = value.to_ical() if hasattr(value, "to_ical") else str(value or "")
    plain = text.decode("utf-8", "replace") if isinstance(text, bytes) else text
    return plain.strip()


def start_text(event: Component, name: str = "DTSTART") -> str:
    """The instant in UTC, or the date, as ISO 8601; the zone's name is no matter."""
    moment = moment_of(event, name)
    if isinstance(moment, dt.datetime) and moment.tzinfo is not None:
        moment = moment.astimezone(dt.UTC)
    return moment.isoformat() if moment is not None else ""


def newer(calendar: Calendar, theirs: Component) -> bytes:
    """The calendar with a SEQUENCE above theirs, so that no reader takes it for the older."""
    number = _sequence(theirs)
    if number >= _sequence(event_of(calendar)):
        raised = Calendar.from_ical(calendar.to_ical(sorted=False))
        inner = event_of(raised)
        del inner["SEQUENCE"]
        inner.add("SEQUENCE", min(number + 1, _LAST_SEQUENCE))
        return bytes(raised.to_ical(sorted=False))
    return bytes(calendar.to_ical(sorted=False))


def _sequence(event: Component) -> int:
    written = str(event.get("SEQUENCE", 0))
    is_number = written.isdecimal() and len(written) <= len(str(_LAST_SEQUENCE))
    return int(written) if is_number else 0


def moment_of(event: Component, name: str = "DTSTART") -> dt.datetime | dt.date | None:
    """Start or end; None where there is none, or none that every zone can tell."""
    try:
        found = getattr(event.get(name), "dt", None)
    except UNREADABLE:
        return None
    told = isinstance(found, dt.date) and dt.MINYEAR < found.year < dt.MAXYEAR
    return found if told else None


def titled(event: Component) -> str:
    """Title and day, for people."""
    return printable(f"{event.get('SUMMARY', 'untitled')} ({shown(moment_of(event))})")


def shown(moment: dt.datetime | dt.date | None) -> str:
    """Day and time, for people."""
    if moment is None:
        return "no day"
    return f"{moment:%Y-%m-%d %H:%M}" if isinstance(moment, dt.datetime) else moment.isoformat()
