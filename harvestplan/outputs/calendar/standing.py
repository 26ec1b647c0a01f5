"""What stands on the two sides: our calendar files entry by entry, and a server's calendar."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from icalendar import Calendar, Component

from harvestplan.bounded import read_bounded
from harvestplan.errors import FilesNeedMending, Flaw, printable
from harvestplan.inputs.busy_blocks import UNREADABLE
from harvestplan.outputs.calendar.caldav import Collection, Part
from harvestplan.outputs.calendar.ical import PRODID
from harvestplan.outputs.calendar.merging import MARK, STOOD
from harvestplan.outputs.calendar.multistatus import Resource
from harvestplan.outputs.calendar.one_entry import said
from harvestplan.outputs.calendar.server import ServerRefused
from harvestplan.plan.file_names import must_be_folder

LARGEST_FILE = 20_000_000
"""Bytes of a calendar file that `plan` wrote."""
_REPEATING = ("RRULE", "RDATE", "EXDATE")


@dataclass(frozen=True)
class Standing:
    """One of the server's resources, parsed; `repeats` where it has several occurrences."""

    resource: Resource
    event: Component
    repeats: bool = False

    @property
    def mark(self) -> str:
        """The id of the season that put it there; "" where it bears none."""
        return str(self.event.get(MARK, ""))


def entry_in(calendar: Calendar) -> Component:
    """The entry in a calendar of one."""
    return next(part for part in calendar.subcomponents if part.name != "VTIMEZONE")


def our_entries(files: Iterable[Path], code: str, part: Part = "VEVENT") -> dict[str, Calendar]:
    """A calendar of one for each entry in the files, by UID, with the time zone it names, marked
    with the season's `code` and when it stands.

    Raises FilesNeedMending for a file that is missing or torn.
    """
    found: dict[str, Calendar] = {}
    for file in files:
        whole = _read_calendar(need(file))
        zones = {str(zone["TZID"]): zone for zone in whole.walk("VTIMEZONE")}
        for entry in whole.walk(part):
            found[str(entry["UID"])] = _alone(entry, zones, code)
    return found


def _alone(entry: Component, zones: dict[str, Component], code: str) -> Calendar:
    calendar = Calendar()
    calendar.add("VERSION", "2.0")
    calendar.add("PRODID", PRODID)
    calendar.add("CALSCALE", "GREGORIAN")
    times = [entry[name] for name in ("DTSTART", "DTEND") if name in entry]
    named = {str(time.params.get("TZID", "")) for time in times}
    for name in sorted(named & zones.keys()):
        calendar.add_component(zones[name])
    told = said(entry)
    if "DTSTART" in told:
        entry.add(STOOD, f"{told['DTSTART']}/{told.get('DTEND', '')}")
    entry.add(MARK, code)
    calendar.add_component(entry)
    return calendar


def stood(event: Component) -> dict[str, str]:
    """When we put it, as the entry itself tells; empty where a program dropped that."""
    start, line, end = str(event.get(STOOD, "")).partition("/")
    return {"DTSTART": start, "DTEND": end} if line and start else {}


def _read_calendar(path: Path) -> Component:
    try:
        return Calendar.from_ical(read_bounded(path, LARGEST_FILE))
    except UNREADABLE:
        hint = "Make it anew with: harvestplan plan"
        raise FilesNeedMending(
            [Flaw(str(path), None, "", message="it is torn.", hint=hint)]
        ) from None


def need(path: Path) -> Path:
    """The path of a file that `plan` writes; raises FilesNeedMending where it is missing."""
    must_be_folder(path.parent)
    if not path.is_file():
        hint = "Make it with: harvestplan plan"
        raise FilesNeedMending(
            [Flaw(str(path), None, "", message="there is no such file yet.", hint=hint)]
        )
    return path


def read_there(collection: Collection, part: Part = "VEVENT") -> dict[str, Standing]:
    """The server's entries by UID; ServerRefused for one that cannot be read, which may be ours."""
    found = {}
    for resource in collection.read(part):
        try:
            whole = Calendar.from_ical(resource.data)
        except UNREADABLE:
            raise _unreadable(resource) from None
        entries = [each for each in whole.subcomponents if each.name == part]
        own = [each for each in entries if "RECURRENCE-ID" not in each] or entries
        if own and own[0].get("UID"):
            repeats = len(entries) > 1 or any(name in own[0] for name in _REPEATING)
            found[str(own[0]["UID"])] = Standing(resource, own[0], repeats)
        elif entries or all(each.name == "VTIMEZONE" for each in whole.subcomponents):
            raise _unreadable(resource)
    return found


def _unreadable(resource: Resource) -> ServerRefused:
    return ServerRefused(
        f"{printable(resource.path)} on the server cannot be read as an entry of a calendar. "
        "Nothing was taken from the answer. Mend or delete that entry there."
    )
