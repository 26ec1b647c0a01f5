"""The plan for calendar and task programs (RFC 5545): a file for each kind of calendar, and the
shopping list as tasks."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from icalendar import Alarm, Component, Event, Timezone, Todo

from harvestplan.foresight.worth_file import NO_WORTHS, Worths
from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.outputs.calendar.entry import LIMIT, Entry, local_date
from harvestplan.outputs.calendar.garden_entries import garden_entries
from harvestplan.outputs.calendar.ical import Memory, file_bytes, moment
from harvestplan.outputs.calendar.kinds import GARDEN_KIND, SESSIONS_KIND, SHOPPING_KIND, Kind
from harvestplan.outputs.calendar.record import Ticked
from harvestplan.outputs.calendar.session_entries import session_entries
from harvestplan.outputs.calendar.shopping_entries import shopping_entries, short_words
from harvestplan.outputs.calendar.to_get import to_get
from harvestplan.outputs.calendar.vtimezone import vtimezone
from harvestplan.outputs.shopping_words import buy_words
from harvestplan.plan.file_names import TASKS
from harvestplan.plan.models import Plan
from harvestplan.words import one_line

AHEAD = dt.timedelta(days=1500)
"""No plan looks further; what an old calendar has later is damage."""
NONE_TICKED: Mapping[str, Ticked] = MappingProxyType({})


def calendar_files(
    plan: Plan,
    season: Season,
    library: Library,
    *,
    previous: Mapping[str, bytes] = MappingProxyType({}),
    worths: Worths = NO_WORTHS,
    seed: str | None = None,
    ticked: Mapping[str, Ticked] = NONE_TICKED,
) -> dict[str, bytes]:
    """Every file by its name; `previous` are those they replace, `seed` what UIDs are made from
    (`entry_uid`), `ticked` what of the shopping list was got.

    Entries are in order of time. Sessions that stood in the previous file and are gone stay as
    cancelled until their date is past, so that readers that never delete learn of it; all else
    that is gone is left out.
    """
    sessions = session_entries(plan, season, library, worths=worths, seed=seed)
    garden = garden_entries(plan, season, library, seed=seed)
    shopping = shopping_entries(plan, season, ticked, seed=seed)
    kinds = ((SESSIONS_KIND, sessions), (GARDEN_KIND, garden), (SHOPPING_KIND, shopping))
    files = {
        kind.file: _calendar_bytes(plan, kind, found, previous=previous.get(kind.file))
        for kind, found in kinds
    }
    tasks = tasks_bytes(plan, season, previous.get(TASKS), seed=seed, ticked=ticked)
    return files | {TASKS: tasks}


def _calendar_bytes(
    plan: Plan, kind: Kind, found: Sequence[Entry], *, previous: bytes | None
) -> bytes:
    memory = Memory(previous, "VEVENT", plan.made_at)
    zone = zoneinfo.ZoneInfo(plan.season.timezone)
    if kind is SESSIONS_KIND:
        found = [_as_it_was_called(entry, memory) for entry in found]
        found += _vanished(memory, {entry.uid for entry in found}, plan)
    rule = _zone_rule(found, zone)
    local = zone if rule is not None else None
    events = []
    for entry in sorted(found, key=lambda each: _order(each, zone)):
        event = _event(entry, kind, local)
        memory.stamp(event, entry.sequence)
        events.append(event)
    name = f"{kind.title}, {plan.season.name}"
    return file_bytes(name, [*([rule] if rule else []), *events], color=kind.color)


def tasks_bytes(
    plan: Plan,
    season: Season,
    previous: bytes | None = None,
    *,
    seed: str | None = None,
    ticked: Mapping[str, Ticked] = NONE_TICKED,
) -> bytes:
    """The shopping list as tasks, in a file of their own since many readers refuse mixed files;
    without what was ticked, which an import would make undone again."""
    memory = Memory(previous, "VTODO", plan.made_at)
    todos = []
    for _, uid, line in to_get(plan, seed, ticked):
        todo = Todo()
        todo.add("UID", uid)
        todo.add("DUE", line.order_by)
        title = short_words(line, season)
        todo.add("SUMMARY", one_line(f"{title[:1].upper()}{title[1:]}: buy", LIMIT))
        todo.add("DESCRIPTION", buy_words(line, season))
        todo.add("CATEGORIES", [SHOPPING_KIND.category])
        todo.add("STATUS", "NEEDS-ACTION")
        memory.stamp(todo)
        todos.append(todo)
    return file_bytes(f"Shopping, {plan.season.name}", todos, color=SHOPPING_KIND.color)


def _zone_rule(found: Iterable[Entry], zone: zoneinfo.ZoneInfo) -> Timezone | None:
    """VTIMEZONE for the timed entries, or None where no clock time tells of any."""
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


def _event(entry: Entry, kind: Kind, zone: zoneinfo.ZoneInfo | None) -> Component:
    event = Event()
    event.add("UID", entry.uid)
    start, end = _moments(entry, zone)
    event.add("DTSTART", start)
    event.add("DTEND", end)
    event.add("SUMMARY", entry.summary)
    if entry.description:
        event.add("DESCRIPTION", entry.description)
    if entry.place:
        event.add("LOCATION", entry.place)
    event.add("CATEGORIES", [kind.category])
    event.add("COLOR", kind.color)
    event.add("STATUS", entry.status)
    event.add("TRANSP", "OPAQUE" if entry.busy else "TRANSPARENT")
    for ring in entry.rings:
        alarm = Alarm()
        alarm.add("ACTION", "DISPLAY")
        alarm.add("DESCRIPTION", ring.text)
        alarm.add("TRIGGER", -ring.before)
        event.add_component(alarm)
    return event


def _sound(start: dt.datetime | dt.date, end: dt.datetime | dt.date) -> bool:
    """Whether both are dates, or times whose zone is told, one after the other."""
    if isinstance(start, dt.datetime) and isinstance(end, dt.datetime):
        return start.tzinfo is not None and end.tzinfo is not None and start < end
    return not isinstance(start, dt.datetime) and not isinstance(end, dt.datetime) and start < end


def _as_it_was_called(entry: Entry, memory: Memory) -> Entry:
    """A cancelled session under its name of before: the plan no longer knows its food."""
    before = memory.components.get(entry.uid)
    if not entry.cancelled or before is None or "SUMMARY" not in before:
        return entry
    return replace(entry, summary=_cancelled_title(str(before["SUMMARY"])))


def _cancelled_title(before: str) -> str:
    return one_line(f"Cancelled: {before.removeprefix('Cancelled: ')}", LIMIT)


def _vanished(memory: Memory, kept: set[str], plan: Plan) -> list[Entry]:
    """Cancelled entries for what was promised as a session in the previous file, and the plan no
    longer knows; days and evenings kept free are no promise."""
    gone = []
    for uid, old in memory.components.items():
        start, end = moment(old, "DTSTART"), moment(old, "DTEND")
        if uid in kept or not uid or start is None or end is None or not _sound(start, end):
            continue
        off = str(old.get("STATUS", "")) == "CANCELLED" or str(old.get("TRANSP", "")) == "OPAQUE"
        promised = off and isinstance(start, dt.datetime)
        ahead = plan.as_of <= local_date(start) <= local_date(end) < plan.as_of + AHEAD
        if not promised or not ahead:
            continue
        gone.append(
            Entry(
                uid=uid,
                start=start,
                end=end,
                summary=_cancelled_title(str(old.get("SUMMARY", ""))),
                description="",
                status="CANCELLED",
                busy=False,
            )
        )
    return gone
