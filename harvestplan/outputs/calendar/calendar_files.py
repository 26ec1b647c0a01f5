"""sessions.ics and tasks.ics: the plan for calendar and task programs (RFC 5545)."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Iterable

from icalendar import Alarm, Component, Event, Timezone, Todo

from harvestplan.foresight.worth_file import NO_WORTHS, Worths
from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.outputs.calendar.entries import LIMIT, Entry, entries, entry_uid, local_date
from harvestplan.outputs.calendar.ical import Memory, file_bytes, moment
from harvestplan.outputs.calendar.vtimezone import vtimezone
from harvestplan.outputs.shopping_words import buy_words, numbered
from harvestplan.plan.models import Plan
from harvestplan.words import one_line

CATEGORY = "Preserving"
AHEAD = dt.timedelta(days=1500)
"""No plan looks further; what an old calendar has later is damage."""
REMIND = dt.timedelta(hours=-2)


def calendar_bytes(
    plan: Plan,
    season: Season,
    library: Library,
    *,
    previous: bytes | None = None,
    worths: Worths = NO_WORTHS,
    seed: str | None = None,
) -> bytes:
    """The calendar file of a plan; `previous` is the file it replaces, `seed` what UIDs are made
    from (`entry_uid`).

    Entries are in order of time. What stood in `previous` and is gone stays as cancelled until
    its date is past, so that readers that never delete learn of it.
    """
    memory = Memory(previous, "VEVENT", plan.made_at)
    found = entries(plan, season, library, worths=worths, seed=seed)
    found += _vanished(memory, {entry.uid for entry in found}, plan.as_of)
    zone = zoneinfo.ZoneInfo(plan.season.timezone)
    rule = _zone_rule(found, zone)
    local = zone if rule is not None else None
    events = []
    for entry in sorted(found, key=lambda each: _order(each, zone)):
        event = _event(entry, local)
        memory.stamp(event, entry.least_sequence)
        events.append(event)
    return file_bytes(f"Putting by, {plan.season.name}", [*([rule] if rule else []), *events])


def shopping_ics(
    plan: Plan, season: Season, previous: bytes | None = None, *, seed: str | None = None
) -> bytes:
    """The shopping list as tasks, in a file of their own since many readers refuse mixed files."""
    memory = Memory(previous, "VTODO", plan.made_at)
    todos = []
    for key, line in numbered(plan.shopping):
        if not line.buy:
            continue
        todo = Todo()
        todo.add("UID", entry_uid(plan, seed, f"todo|{key}"))
        todo.add("DUE", line.order_by)
        todo.add("SUMMARY", one_line(f"Get {buy_words(line, season)}", LIMIT))
        todo.add("CATEGORIES", [CATEGORY])
        todo.add("STATUS", "NEEDS-ACTION")
        memory.stamp(todo)
        todos.append(todo)
    return file_bytes(f"Shopping, {plan.season.name}", todos)


def _zone_rule(found: Iterable[Entry], zone: zoneinfo.ZoneInfo) -> Timezone | None:
    """VTIMEZONE for the timed entries, or None where there are none or no rule tells the zone."""
    times = [
        moment.astimezone(zone)
        for entry in found
        for moment in (entry.start, entry.end)
        if isinstance(moment, dt.datetime)
    ]
    if all(_twofold(time) for time in times):
        return None
    return vtimezone(zone.key, min(times), max(times))


def _twofold(time: dt.datetime) -> bool:
    """Whether its clock time comes twice that night (RFC 5545, 3.3.5: readers differ on it)."""
    return time.replace(fold=0).utcoffset() != time.replace(fold=1).utcoffset()


def _order(entry: Entry, zone: zoneinfo.ZoneInfo) -> tuple[str, bool, str, str]:
    if not isinstance(entry.start, dt.datetime):
        return entry.start.isoformat(), False, "", entry.uid
    instant = entry.start.astimezone(dt.UTC).isoformat()
    return entry.start.astimezone(zone).date().isoformat(), True, instant, entry.uid


def _moments(entry: Entry, zone: zoneinfo.ZoneInfo | None) -> list[dt.datetime | dt.date]:
    """Start and end as dates, as clock times of the zone, or in UTC where those are in doubt."""
    times = [m for m in (entry.start, entry.end) if isinstance(m, dt.datetime)]
    if not times:
        return [entry.start, entry.end]
    if zone is not None:
        local = [time.astimezone(zone).replace(microsecond=0) for time in times]
        if not any(_twofold(time) for time in local):
            return list(local)
    return [time.astimezone(dt.UTC).replace(microsecond=0) for time in times]


def _event(entry: Entry, zone: zoneinfo.ZoneInfo | None) -> Component:
    event = Event()
    event.add("UID", entry.uid)
    start, end = _moments(entry, zone)
    event.add("DTSTART", start)
    event.add("DTEND", end)
    event.add("SUMMARY", entry.summary)
    if entry.description:
        event.add("DESCRIPTION", entry.description)
    event.add("CATEGORIES", [CATEGORY])
    event.add("STATUS", entry.status)
    event.add("TRANSP", "OPAQUE" if entry.busy else "TRANSPARENT")
    if entry.alarm:
        alarm = Alarm()
        alarm.add("ACTION", "DISPLAY")
        alarm.add("DESCRIPTION", entry.summary)
        alarm.add("TRIGGER", REMIND)
        event.add_component(alarm)
    return event


def _sound(start: dt.datetime | dt.date, end: dt.datetime | dt.date) -> bool:
    """Whether both are dates, or times whose zone is told, one after the other."""
    if isinstance(start, dt.datetime) and isinstance(end, dt.datetime):
        return start.tzinfo is not None and end.tzinfo is not None and start < end
    return not isinstance(start, dt.datetime) and not isinstance(end, dt.datetime) and start < end


def _vanished(memory: Memory, kept: set[str], as_of: dt.date) -> list[Entry]:
    """Cancelled entries for what the previous file holds and the plan no longer knows."""
    gone = []
    for uid, old in memory.components.items():
        start, end = moment(old, "DTSTART"), moment(old, "DTEND")
        if uid in kept or not uid or start is None or end is None or not _sound(start, end):
            continue
        if not as_of <= local_date(start) <= local_date(end) < as_of + AHEAD:
            continue
        summary = str(old.get("SUMMARY", "")).removeprefix("Cancelled: ")
        gone.append(
            Entry(
                uid=uid,
                start=start,
                end=end,
                summary=one_line(f"Cancelled: {summary}", LIMIT),
                description="",
                status="CANCELLED",
                busy=False,
            )
        )
    return gone
