"""A zone's VTIMEZONE as the plainest readers want it (RFC 5545, 3.6.5).

Where a yearly rule holds: exactly one STANDARD and at most one DAYLIGHT, each with an RRULE read
from the POSIX rule at the end of the zone's TZif data (RFC 8536, 3.3), and compared with the
zone's real changes over the plan's years. Where none holds (laws that change, Ramadan, changes at
24:00), each change of those years stands by itself, with its DTSTART alone: readers differ on an
RDATE without an RRULE, of which one make forgets the DTSTART (tried with ical.js 2.2.1).
"""

from __future__ import annotations

import calendar
import datetime as dt
import importlib.resources
import re
import zoneinfo
from dataclasses import dataclass
from pathlib import Path

from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

WEEKDAYS = ("SU", "MO", "TU", "WE", "TH", "FR", "SA")
_NAME = r"([A-Za-z]{3,}|<[A-Za-z0-9+-]{3,}>)"
_OFFSET = r"([+-]?\d{1,3}(?::\d\d){0,2})"
_RULE = r",M(\d{1,2})\.(\d)\.(\d)(?:/([+-]?\d{1,3}(?::\d\d){0,2}))?"
_FOOTER = re.compile(f"{_NAME}{_OFFSET}(?:{_NAME}{_OFFSET}?{_RULE}{_RULE})?")


@dataclass(frozen=True)
class Change:
    """One change of the clocks: the UTC instant, and the offsets from UTC around it."""

    instant: dt.datetime
    before: dt.timedelta
    after: dt.timedelta


@dataclass(frozen=True)
class Observance:
    """Clocks at `offset`, coming from `before`, each year on the week-th weekday of the month.

    `week` is 1 to 4, or -1 for the last; `weekday` 0 is Sunday; `time` is wall-clock time before
    the change. All four are None in a zone that never changes.
    """

    name: str
    offset: dt.timedelta
    before: dt.timedelta
    month: int | None = None
    week: int | None = None
    weekday: int | None = None
    time: dt.time | None = None

    def onset(self, year: int) -> dt.datetime:
        """Wall-clock time, before the change, at which it sets in in `year`."""
        if self.month is None or self.week is None or self.weekday is None or self.time is None:
            return dt.datetime(1970, 1, 1)
        days = calendar.monthrange(year, self.month)[1]
        first = (dt.date(year, self.month, 1).weekday() + 1) % 7
        dates = range(1 + (self.weekday - first) % 7, days + 1, 7)
        number = dates[self.week - 1] if self.week > 0 else dates[-1]
        return dt.datetime.combine(dt.date(year, self.month, number), self.time)

    def change(self, year: int) -> Change:
        instant = (self.onset(year) - self.before).replace(tzinfo=dt.UTC)
        return Change(instant, self.before, self.offset)


def vtimezone(key: str, first: dt.datetime, last: dt.datetime) -> Timezone:
    """VTIMEZONE for the zone `key`, right from the year of `first` to that of `last` (aware)."""
    observances, real = read_footer(_footer(key)), zoneinfo.ZoneInfo(key)
    years = range(first.astimezone(dt.UTC).year, last.astimezone(dt.UTC).year + 1)
    zone = Timezone()
    zone.add("TZID", key)
    # Anchored a year early, so that an onset of each kind lies before every time it explains.
    if observances and _agrees(observances, real, years):
        parts = [_component(each, years[0] - 1, len(observances) == 1) for each in observances]
    else:
        parts = _each_change(real, range(years[0] - 1, years[-1] + 1))
    for part in parts:
        zone.add_component(part)
    return zone


def _each_change(zone: dt.tzinfo, years: range) -> list[TimezoneStandard | TimezoneDaylight]:
    """The clock at the beginning of those years, and every change in them."""
    begin = dt.datetime(years[0], 1, 1, tzinfo=dt.UTC)
    first = _offset(zone, begin)
    parts = []
    for change in (Change(begin, first, first), *real_changes(zone, years)):
        part = TimezoneDaylight() if change.after > change.before else TimezoneStandard()
        part.add("DTSTART", (change.instant + change.before).replace(tzinfo=None))
        part.add("TZOFFSETFROM", change.before)
        part.add("TZOFFSETTO", change.after)
        part.add("TZNAME", change.instant.astimezone(zone).tzname() or "")
        parts.append(part)
    return parts


def read_footer(footer: str) -> tuple[Observance, ...]:
    """Standard time and, if there is one, daylight time; empty where a footer cannot be told.

    "MST7MDT,M3.2.0,M11.1.0" is the form (POSIX.1, 8.3, TZ). Hours outside 0 to 23 and rules by
    day of year have no plain yearly RRULE, so those zones give an empty tuple.
    """
    match = _FOOTER.fullmatch(footer)
    if match is None:
        return ()
    name, offset, dst_name, dst_offset, *rules = match.groups()
    standard = -_seconds(offset)
    if dst_name is None:
        return (Observance(name.strip("<>"), standard, standard),)
    daylight = -_seconds(dst_offset) if dst_offset else standard + dt.timedelta(hours=1)
    starts, ends = _rule(rules[:4]), _rule(rules[4:])
    if starts is None or ends is None:
        return ()
    summer = Observance(dst_name.strip("<>"), daylight, standard, *starts)
    winter = Observance(name.strip("<>"), standard, daylight, *ends)
    # Where law calls summer the standard (Ireland), readers still expect DAYLIGHT to be ahead.
    return (winter, summer) if daylight > standard else (summer, winter)


def real_changes(zone: dt.tzinfo, years: range) -> list[Change]:
    """Every change of the zone's offset in those UTC years, to the second."""
    day = dt.timedelta(days=1)
    at = dt.datetime(years[0], 1, 1, tzinfo=dt.UTC)
    end = dt.datetime(years[-1] + 1, 1, 1, tzinfo=dt.UTC)
    found = []
    while at < end:
        before, after = _offset(zone, at), _offset(zone, at + day)
        if before != after:
            low, high = 0, 86400
            while high - low > 1:
                middle = (low + high) // 2
                same = _offset(zone, at + dt.timedelta(seconds=middle)) == before
                low, high = (middle, high) if same else (low, middle)
            found.append(Change(at + dt.timedelta(seconds=high), before, after))
        at += day
    return found


def _agrees(observances: tuple[Observance, ...], zone: dt.tzinfo, years: range) -> bool:
    start = dt.datetime(years[0], 1, 1, tzinfo=dt.UTC)
    if len(observances) == 1:
        return not real_changes(zone, years) and _offset(zone, start) == observances[0].offset
    told = [observance.change(year) for year in years for observance in observances]
    return sorted(told, key=lambda change: change.instant) == real_changes(zone, years)


def _offset(zone: dt.tzinfo, instant: dt.datetime) -> dt.timedelta:
    return instant.astimezone(zone).utcoffset() or dt.timedelta()


def _component(
    observance: Observance, year: int, fixed: bool
) -> TimezoneStandard | TimezoneDaylight:
    ahead = observance.offset > observance.before
    part = TimezoneDaylight() if ahead else TimezoneStandard()
    part.add("DTSTART", observance.onset(year))
    if not fixed:
        week = 1 if observance.week is None else observance.week
        weekday = f"{week}{WEEKDAYS[observance.weekday or 0]}"
        part.add("RRULE", {"FREQ": "YEARLY", "BYMONTH": observance.month, "BYDAY": weekday})
    part.add("TZOFFSETFROM", observance.before)
    part.add("TZOFFSETTO", observance.offset)
    part.add("TZNAME", observance.name)
    return part


def _seconds(text: str) -> dt.timedelta:
    sign = -1 if text.startswith("-") else 1
    parts = [int(part) for part in text.lstrip("+-").split(":")] + [0, 0]
    return sign * dt.timedelta(hours=parts[0], minutes=parts[1], seconds=parts[2])


def _rule(parts: list[str]) -> tuple[int, int, int, dt.time] | None:
    month, week, weekday, time = parts
    at = _seconds(time or "2")
    if not dt.timedelta() <= at < dt.timedelta(days=1):
        return None
    clock = (dt.datetime.min + at).time()
    return int(month), -1 if week == "5" else int(week), int(weekday), clock


def _footer(key: str) -> str:
    """Last line of the zone's TZif data, found where zoneinfo finds it."""
    data = _tzif(key)
    if data[:4] != b"TZif" or data[4:5] < b"2":
        return ""
    return data.rstrip(b"\n").rpartition(b"\n")[2].decode("ascii", "replace")


def _tzif(key: str) -> bytes:
    zoneinfo.ZoneInfo(key)  # refuses keys that leave the folder
    for folder in zoneinfo.TZPATH:
        file = Path(folder, key)
        if file.is_file():
            return file.read_bytes()
    package, _, name = f"tzdata/zoneinfo/{key}".rpartition("/")
    return importlib.resources.files(package.replace("/", ".")).joinpath(name).read_bytes()
