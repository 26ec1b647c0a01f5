"""One entry of a calendar: what it says to people, property by property."""

from __future__ import annotations

import datetime as dt

from icalendar import Component

from harvestplan.errors import printable
from harvestplan.inputs.busy_blocks import UNREADABLE

TIMES = ("DTSTART", "DTEND", "DUE")
SAID = (*TIMES, "SUMMARY", "DESCRIPTION", "LOCATION", "CATEGORIES", "COLOR", "STATUS", "TRANSP")
"""The properties that are ours to write."""
ALARMS = "VALARM"
"""The name under which `said` tells of reminders: a line for each, when it rings and what it
says."""


def is_cancelled(event: Component) -> bool:
    """Whether it is off."""
    return str(event.get("STATUS", "")).upper() == "CANCELLED"


def said(event: Component) -> dict[str, str]:
    """What it says, text by property; instants in UTC, so that the zone's name is no matter.

    Of what it does not say there is nothing. Stamps are left out.
    """
    found = {name: _text(event, name) for name in SAID}
    if not found["DTEND"]:
        found["DTEND"] = _iso(_end_of(event))
    alarms = event.walk("VALARM")
    told = (f"{_ringing(alarm)} {_text(alarm, 'DESCRIPTION')}".strip() for alarm in alarms)
    found[ALARMS] = "\n".join(sorted(told))
    return {name: text for name, text in found.items() if text}


def _ringing(alarm: Component) -> str:
    trigger = alarm.get("TRIGGER")
    if isinstance(trigger, list) or not hasattr(trigger, "to_ical"):
        return ""
    try:
        return str(trigger.to_ical().decode("utf-8", "replace"))
    except UNREADABLE:
        return ""


def _text(component: Component, name: str) -> str:
    if name in TIMES:
        return _iso(moment_of(component, name))
    value = component.get(name)
    if name == "CATEGORIES" and hasattr(value, "to_ical"):
        written = value.to_ical()
        value = written.decode("utf-8", "replace") if isinstance(written, bytes) else written
    return "\n".join(str(value or "").split("\r\n")).strip()


def _end_of(event: Component) -> dt.datetime | dt.date | None:
    """The end where it is told as a duration (RFC 5545, 3.6.1)."""
    start = moment_of(event)
    try:
        length = getattr(event.get("DURATION"), "dt", None)
        return start + length if start and isinstance(length, dt.timedelta) else None
    except (OverflowError, *UNREADABLE):
        return None


def _iso(moment: dt.datetime | dt.date | None) -> str:
    if isinstance(moment, dt.datetime) and moment.tzinfo is not None:
        moment = moment.astimezone(dt.UTC)
    return moment.isoformat() if moment is not None else ""


def moment_of(event: Component, name: str = "DTSTART") -> dt.datetime | dt.date | None:
    """Start or end; None where there is none, or none that every zone can tell."""
    try:
        found = getattr(event.get(name), "dt", None)
    except UNREADABLE:
        return None
    told = isinstance(found, dt.date) and dt.MINYEAR < found.year < dt.MAXYEAR
    return found if told else None


def titled(event: Component, zone: dt.tzinfo | None = None) -> str:
    """Title and day, for people, by the clock of `zone`."""
    start = shown(moment_of(event) or moment_of(event, "DUE"), zone)
    return printable(f"{event.get('SUMMARY', 'untitled')} ({start})")


def shown(moment: dt.datetime | dt.date | None, zone: dt.tzinfo | None = None) -> str:
    """Day and time, for people, by the clock of `zone`; what has no zone of its own is meant so."""
    if moment is None:
        return "no day"
    if not isinstance(moment, dt.datetime):
        return moment.isoformat()
    if moment.tzinfo is not None and zone is not None:
        moment = moment.astimezone(zone)
    return f"{moment:%Y-%m-%d %H:%M}"
