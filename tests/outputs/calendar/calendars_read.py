"""Plans as calendar files, and what readers of several makes see in them."""

from __future__ import annotations

import copy
import datetime as dt
import io
import uuid
from typing import Any
from zoneinfo import ZoneInfo

import vobject
from icalendar import Calendar
from outputs.written_plans import make_library, make_plan, make_season, plan_data

from harvestplan.outputs.calendar.calendar_files import calendar_files
from harvestplan.outputs.calendar.vtimezone import real_changes

ZONES = (
    "America/New_York", "America/Denver", "Europe/Berlin", "Australia/Hobart", "Asia/Kolkata",
    "Australia/Lord_Howe", "Africa/Casablanca", "America/Vancouver",
)  # fmt: skip


Seen = tuple[str, str, str, dt.datetime, dt.datetime, int]
"""SEQUENCE, STATUS, SUMMARY, start and end in UTC, number of alarms."""


def write(data: dict[str, Any], name: str = "sessions.ics") -> bytes:
    """One of a plan's calendar files."""
    plan = make_plan(data=data)
    return calendar_files(plan, make_season(plan.season.timezone), make_library())[name]


def with_sessions(key: str, starts: list[dt.datetime], minutes: int = 150) -> dict[str, Any]:
    """A plan whose first session is held at each of `starts` (aware)."""
    data = plan_data(key)
    model = data["sessions"][0]
    data["sessions"] = [
        copy.deepcopy(model)
        | {
            "uid": str(uuid.UUID(int=number + 1)),
            "start": start.astimezone(ZoneInfo(key)).isoformat(),
            "end": (start.astimezone(dt.UTC) + dt.timedelta(minutes=minutes))
            .astimezone(ZoneInfo(key))
            .isoformat(),
        }
        for number, start in enumerate(starts)
    ]
    return data


def around_changes(key: str) -> list[dt.datetime]:
    """Evenings of a week on each side of every change of the clocks in 2027."""
    zone = ZoneInfo(key)
    changes = [change.instant for change in real_changes(zone, range(2027, 2028))]
    days = [
        (instant + dt.timedelta(days=shift)).date()
        for instant in changes or [dt.datetime(2027, 6, 1, tzinfo=dt.UTC)]
        for shift in range(-7, 8)
    ]
    return [dt.datetime.combine(day, dt.time(18), zone) for day in days]


def by_vobject(data: bytes) -> dict[str, Seen]:
    calendar = vobject.readOne(io.StringIO(data.decode()))
    return {
        one.uid.value: (
            one.sequence.value,
            one.status.value,
            one.summary.value,
            in_utc(one.dtstart.value),
            in_utc(one.dtend.value),
            len(getattr(one, "valarm_list", [])),
        )
        for one in calendar.vevent_list
        if isinstance(one.dtstart.value, dt.datetime)
    }


def in_utc(read: dt.datetime) -> dt.datetime:
    """vobject takes a zone that is always at UTC for none; the computer's own zone is not meant."""
    return read.astimezone(dt.UTC) if read.tzinfo else read.replace(tzinfo=dt.UTC)


def by_icalendar(data: bytes) -> dict[str, Seen]:
    return {
        str(one["UID"]): (
            str(one["SEQUENCE"]),
            str(one["STATUS"]),
            str(one["SUMMARY"]),
            one["DTSTART"].dt.astimezone(dt.UTC),
            one["DTEND"].dt.astimezone(dt.UTC),
            len(one.walk("VALARM")),
        )
        for one in Calendar.from_ical(data).walk("VEVENT")
        if isinstance(one["DTSTART"].dt, dt.datetime)
    }


def by_line(data: bytes) -> dict[str, Seen]:
    """As a phone reads: line by line, zones by their name alone, no VTIMEZONE."""
    found: dict[str, Seen] = {}
    lines = data.decode().replace("\r\n ", "").split("\r\n")
    texts: dict[str, str] = {}
    alarms = 0
    for line in lines:
        if line == "BEGIN:VEVENT":
            texts, alarms = {}, 0
        alarms += line == "BEGIN:VALARM"
        name, _, value = line.partition(":")
        texts.setdefault(name.partition(";")[0], value)
        if name.startswith(("DTSTART", "DTEND")) and "VALUE=DATE" not in name:
            zone = ZoneInfo(name.partition("TZID=")[2]) if "TZID=" in name else dt.UTC
            moment = dt.datetime.strptime(value.rstrip("Z"), "%Y%m%dT%H%M%S").replace(tzinfo=zone)
            texts[name.partition(";")[0]] = moment.astimezone(dt.UTC).isoformat()
        if line == "END:VEVENT" and "+" in texts["DTSTART"]:
            start, end = (dt.datetime.fromisoformat(texts[name]) for name in ("DTSTART", "DTEND"))
            plain = texts["SUMMARY"].replace("\\,", ",").replace("\\;", ";").replace("\\\\", "\\")
            found[texts["UID"]] = (texts["SEQUENCE"], texts["STATUS"], plain, start, end, alarms)
    return found
