"""Read when the household is busy from calendar files (RFC 5545).

Cancelled, free ("transparent") and all-day entries do not count; tentative ones do. Times without
a zone, or with one that nobody knows, are the household's own. An entry that cannot be read is
named in a warning and left out; it never spoils the file. Whatever repeats in more than the usual
ways is laid out in a child process, under limits of time and memory.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import re
import warnings as python_warnings
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, cast
from zoneinfo import ZoneInfo

import recurring_ical_events
from icalendar import Calendar, Event, Timezone
from icalendar.timezone import tzp

from harvestplan.bounded import TooLarge, UndecodableError, decode, read_bounded
from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.busy_blocks import UNREADABLE, Block, cut_blocks
from harvestplan.inputs.busy_guard import Answer, Interval, Job, guarded
from harvestplan.inputs.busy_rules import begin_later, end_rule, plain_rule, refuse_rule
from harvestplan.plan.spans import DAY, LAST_YEAR

LARGEST_FILE = 20_000_000
UNKNOWN_LENGTH = dt.timedelta(hours=1)
"""How long a timed entry without an end keeps people busy (common practice, no source)."""
_EARLIEST_YEAR = 1900
_MOST_DATES = 5000
"""Single dates that one entry lists."""
_MOST_OCCURRENCES = 40_000
"""Of all entries that repeat, in the days looked at."""
_LONGEST_SPELL = dt.timedelta(days=400)
_MOST_ENTRIES, _MOST_DATES_IN_ALL = 20_000, 60_000
"""Entries that a calendar may have about the days looked at, and single dates that these list: a
busy household has a thousand."""


@dataclass
class _Reading:
    """One calendar file while it is read; `zone` is the household's."""

    name: str
    zone: ZoneInfo
    first: dt.date
    last: dt.date
    warnings: list[str] = field(default_factory=list)
    strange_zones: set[str] = field(default_factory=set)
    entries_left: int = _MOST_ENTRIES
    dates_left: int = _MOST_DATES_IN_ALL
    occurrences_left: int = _MOST_OCCURRENCES
    beyond: list[int] = field(default_factory=list)
    """Lines of the entries that are too many."""

    def leave_out(self, line: int, what: str, why: str) -> None:
        called = f' "{what}"' if what else ""
        self.warnings.append(f"{self.name}, line {line}: the entry{called} {why}; it was left out.")


def read_busy(
    path: Path, zone: ZoneInfo, first: dt.date, *, last: dt.date
) -> tuple[list[Interval], list[str]]:
    """Busy intervals in UTC that touch the days `first` to `last`, in order, and warnings.

    Raises FilesNeedMending for a file that is too large, no calendar, not UTF-8 or torn off.
    """
    reading = _Reading(path.name, zone, first, last=last)
    blocks, skipped = cut_blocks(_read(path), path.name)
    reading.warnings += skipped
    with python_warnings.catch_warnings():
        python_warnings.simplefilter("ignore")
        tzp.use_default()
        _learn_zones(reading, [block for block in blocks if block.kind == "VTIMEZONE"])
        series = _parse_events(reading, [block for block in blocks if block.kind == "VEVENT"])
        plain = [entries for entries in series.values() if _plain(entries)]
        odd = [entries for entries in series.values() if not _plain(entries)]
        busy = [span for entries in plain for span in _expand(reading, entries)]
    busy += _expand_guarded(reading, odd, blocks)
    if reading.beyond:
        reading.warnings.append(
            f"{reading.name}: {len(reading.beyond)} entries were left out, from line "
            f"{min(reading.beyond)} on: the calendar holds more about this season than is read. "
            "Export a shorter span of time."
        )
    return sorted(set(busy)), reading.warnings


def expand_job(job: Job) -> Iterator[Answer]:
    """In the child process: spans and warnings of each series of the job, one after another."""
    reading = _Reading(job.name, ZoneInfo(job.zone), job.first, last=job.last)
    with python_warnings.catch_warnings():
        python_warnings.simplefilter("ignore")
        tzp.use_default()
        _learn_zones(reading, job.zones)
        for blocks in job.series:
            series = _parse_events(reading, blocks)
            reading.warnings.clear()  # all but what comes now was told by the parent
            found = [span for entries in series.values() for span in _expand(reading, entries)]
            yield found, list(reading.warnings)


def _plain(entries: list[_Entry]) -> bool:
    rules = [rule for entry in entries for rule in _as_list(entry.event.get("RRULE", []))]
    return all(plain_rule(rule) for rule in rules)


def _expand_guarded(
    reading: _Reading, odd: list[list[_Entry]], blocks: list[Block]
) -> list[Interval]:
    if not odd:
        return []
    zones = [block for block in blocks if block.kind == "VTIMEZONE"]
    job = Job(
        reading.name,
        reading.zone.key,
        reading.first,
        last=reading.last,
        zones=zones,
        series=[[entry.block for entry in entries] for entries in odd],
    )
    busy: list[Interval] = []
    for entries, answer in zip(odd, guarded(job), strict=True):
        if answer is None:
            why = "has a repeat rule that takes too long to lay out"
            reading.leave_out(entries[0].line, entries[0].title, why)
            continue
        spans, warnings = answer
        busy += spans
        reading.warnings += warnings
    return busy


def _read(path: Path) -> str:
    try:
        return decode(read_bounded(path, LARGEST_FILE), path.name)
    except UndecodableError as error:
        raise FilesNeedMending([error.flaw]) from None
    except TooLarge:
        message = f"This calendar is over {LARGEST_FILE // 1_000_000} MB, too large to read."
        hint = "Export a shorter span of time."
        raise FilesNeedMending([Flaw(path.name, None, "", message=message, hint=hint)]) from None
    except OSError:
        message = "This calendar cannot be opened."
        raise FilesNeedMending([Flaw(path.name, None, "", message=message)]) from None


def _learn_zones(reading: _Reading, blocks: list[Block]) -> None:
    """Make the file's own time zones known to the parser, for this file only."""
    for block in blocks:
        try:
            zone = Timezone.from_ical(block.text)
            rules = [part["RRULE"] for part in zone.walk() if "RRULE" in part]
            if not all(_zone_rule(rule) for each in rules for rule in _as_list(each)):
                raise ValueError("senseless rule")
            tzp.cache_timezone_component(zone)
        except UNREADABLE:
            reading.warnings.append(
                f"{reading.name}, line {block.line}: this time zone cannot be read."
            )


def _zone_rule(rule: Any) -> bool:
    """Clocks change by the year; any other rule is a slip or worse."""
    return refuse_rule(rule) is None and str((rule.get("FREQ") or [""])[0]).upper() == "YEARLY"


def _as_list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


_DATES = re.compile(r"^(?:DTSTART|DTEND)[^:]*:(\d{8})", re.MULTILINE | re.IGNORECASE)
_UNTIL = re.compile(r"^RRULE[:;].*UNTIL=(\d{8})", re.MULTILINE | re.IGNORECASE)
_RULE = re.compile(r"^RRULE[:;]", re.MULTILINE | re.IGNORECASE)
_ODD = re.compile(r"^(?:RDATE|RECURRENCE-ID)[:;]", re.MULTILINE | re.IGNORECASE)
_LONG = re.compile(
    r"^DURATION[^:]*:\+?P(?:\d+W|\d{2,}D|(?:\dD)?T\d{3,})", re.MULTILINE | re.IGNORECASE
)
_LONGEST = 16 * DAY
"""No entry that tells its length by the day and hour, and is not _LONG, lasts longer."""


def _may_matter(reading: _Reading, text: str) -> bool:
    """Whether an entry may touch the days looked at; a quick look that spares the parsing."""
    dates = _DATES.findall(text)
    ends = _UNTIL.findall(text)
    if not dates or _ODD.search(text) or _LONG.search(text):
        return True
    low, high = reading.first - _LONGEST, reading.last + 2 * DAY
    begun = min(dates) <= f"{high:%Y%m%d}"
    endless = len(_RULE.findall(text)) > len(ends)
    near = begun and (endless or max(dates + ends) >= f"{low:%Y%m%d}")
    return near or not all(map(_is_date, dates))


def _is_date(digits: str) -> bool:
    try:
        dt.date(int(digits[:4]), int(digits[4:6]), int(digits[6:]))
    except ValueError:
        return False
    return True


@dataclass
class _Entry:
    """A parsed event and the text it comes from."""

    event: Event
    block: Block

    @property
    def line(self) -> int:
        return self.block.line

    @property
    def title(self) -> str:
        """The summary on one line, at most 40 letters, for messages."""
        text = str(self.event.get("SUMMARY", ""))
        return "".join(char for char in text if char.isprintable())[:40]


def _parse_events(reading: _Reading, blocks: list[Block]) -> dict[str, list[_Entry]]:
    """Sound entries by UID: a series and its changed occurrences belong together."""
    series: dict[str, list[_Entry]] = defaultdict(list)
    for block in blocks:
        text = block.text
        if not _may_matter(reading, text):
            continue
        if reading.entries_left <= 0 or reading.dates_left <= 0:
            reading.beyond.append(block.line)
            continue
        reading.entries_left -= 1
        entry = _read_entry(reading, block)
        if entry is None:
            continue
        parsed = entry.event
        _note_zones(reading, parsed)
        uid = str(parsed.get("UID") or f"line {block.line}")
        series[uid].append(entry)
    return series


def _read_entry(reading: _Reading, block: Block) -> _Entry | None:
    """The entry where it is sound; else it is named and left out."""
    parsed: object = None
    why: str | None = "cannot be read"
    with contextlib.suppress(*UNREADABLE):
        parsed = Event.from_ical(block.text)
        if isinstance(parsed, Event):
            why = _refuse(reading, parsed)
    if not isinstance(parsed, Event):
        reading.leave_out(block.line, "", "cannot be read")
        return None
    entry = _Entry(parsed, block)
    if why is not None:
        reading.leave_out(block.line, entry.title, why)
        return None
    return entry


def _refuse(reading: _Reading, event: Event) -> str | None:
    """Why an entry cannot be used, or None; sound repeat rules are cut off at the last day."""
    broken = {str(name).upper() for name, _ in event.errors}
    if bad := sorted(
        broken & {"DTSTART", "DTEND", "DURATION", "RRULE", "RDATE", "EXDATE", "RECURRENCE-ID"}
    ):
        return f"has a line {bad[0]} that cannot be read"
    start = _moment(event.get("DTSTART"))
    if start is None:
        return "has no readable start"
    if start.year < _EARLIEST_YEAR:
        return f"starts before {_EARLIEST_YEAR}"
    end = _moment(event.get("DTEND")) if "DTEND" in event else None
    if max(start.year, end.year if end is not None else 0) > LAST_YEAR:
        return f"lies, or ends, after {LAST_YEAR}"
    if end is not None and isinstance(end, dt.datetime) != isinstance(start, dt.datetime):
        return "starts with a day and ends with a time, or the reverse"
    if end is not None and _utc(reading, end) < _utc(reading, start):
        return "ends before it starts"
    dates = sum(value.count(",") + 1 for value in _date_lists(event))
    if dates > _MOST_DATES:
        return "lists too many single dates"
    reading.dates_left -= dates
    if not all(map(_sound_spell, _spells(event))):
        return "has a single date that ends before it begins, or lasts for years"
    for rule in _as_list(event.get("RRULE", [])):
        if why := refuse_rule(rule):
            return why
        end_rule(rule, start, reading.last + 2 * DAY, zone=reading.zone)
    return None


def _moment(value: Any) -> dt.datetime | dt.date | None:
    found = getattr(value, "dt", None)
    return found if isinstance(found, dt.date) else None


def _spells(event: Event) -> Iterator[object]:
    """Start and end, or how long, of each single date that tells it (RFC 5545, RDATE by PERIOD)."""
    for line in _as_list(event.get("RDATE", [])):
        for each in getattr(line, "dts", ()):
            if isinstance(spell := getattr(each, "dt", None), tuple):
                yield spell


def _sound_spell(spell: object) -> bool:
    begin, end = cast("tuple[dt.datetime, dt.datetime | dt.timedelta]", spell)
    long = end if isinstance(end, dt.timedelta) else end - begin
    return dt.timedelta() <= long <= _LONGEST_SPELL


def _date_lists(event: Event) -> list[str]:
    lists = [*_as_list(event.get("RDATE", [])), *_as_list(event.get("EXDATE", []))]
    return [str(value.to_ical()) for value in lists]


def _note_zones(reading: _Reading, event: Event) -> None:
    """Warn once of each time zone that neither the file nor the world's list explains."""
    for key in ("DTSTART", "DTEND"):
        name = str(getattr(event.get(key), "params", {}).get("TZID", ""))
        if not name or name in reading.strange_zones:
            continue
        try:
            known = tzp.timezone(name) is not None
        except (ValueError, OSError):
            known = False
        if not known:
            reading.strange_zones.add(name)
            shown = "".join(char for char in name if char.isprintable())[:60]
            reading.warnings.append(
                f'{reading.name}: the time zone "{shown}" is not known; '
                f"its times are read as {reading.zone.key}."
            )


def _expand(reading: _Reading, entries: list[_Entry]) -> list[Interval]:
    """The busy intervals of one series within the days looked at."""
    if reading.occurrences_left <= 0:
        reading.beyond.append(entries[0].line)
        return []
    calendar = Calendar()
    if len(entries) == 1:
        begin_later(entries[0].event, reading.first - _LONGEST)
    for entry in entries:
        calendar.add_component(entry.event)
    begin = dt.datetime.combine(reading.first - DAY, dt.time(), reading.zone)
    end = dt.datetime.combine(reading.last + 2 * DAY, dt.time(), reading.zone)
    try:
        occurrences = recurring_ical_events.of(calendar).between(begin, end)
        reading.occurrences_left -= len(occurrences)
        if reading.occurrences_left < 0:
            reading.beyond.append(entries[0].line)
            return []
        spans = [_busy_span(reading, occurrence) for occurrence in occurrences]
    except Exception:  # the library's errors for odd entries are of no one family
        reading.leave_out(entries[0].line, entries[0].title, "cannot be laid out in days")
        return []
    return [span for span in spans if span is not None]


def _busy_span(reading: _Reading, event: Event) -> Interval | None:
    """Start and end in UTC, or None where the entry keeps nobody busy."""
    states = {
        str(event.get(key, "")).upper()
        for key in ("STATUS", "TRANSP", "X-MICROSOFT-CDO-BUSYSTATUS")
    }
    start = _moment(event.get("DTSTART"))
    if states & {"CANCELLED", "TRANSPARENT", "FREE"} or not isinstance(start, dt.datetime):
        return None
    begin = _utc(reading, start)
    end = _moment(event.get("DTEND"))
    finish = _utc(reading, end) if end is not None else begin
    return (begin, finish) if finish > begin else (begin, begin + UNKNOWN_LENGTH)


def _utc(reading: _Reading, moment: dt.datetime | dt.date) -> dt.datetime:
    """The moment in UTC; a day begins at midnight, floating times are the household's."""
    if not isinstance(moment, dt.datetime):
        moment = dt.datetime.combine(moment, dt.time())
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=reading.zone)
    return moment.astimezone(dt.UTC)
