"""A calendar of busy times as text, and what is read of it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from zoneinfo import ZoneInfo

from counted import counted
from inputs.season_folder import write

from harvestplan.inputs.busy import read_busy

ZONE = ZoneInfo("America/New_York")


FIRST, LAST = dt.date(2026, 10, 1), dt.date(2026, 11, 30)


def wrap(*entries: str) -> str:
    body = "".join(entry.strip() + "\n" for entry in entries)
    return f"BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//test//EN\n{body}END:VCALENDAR\n"


def event(*lines: str, uid: str = "1") -> str:
    return "\n".join(["BEGIN:VEVENT", f"UID:{uid}", "SUMMARY:Choir", *lines, "END:VEVENT"])


def read(folder: Path, text: str | bytes) -> tuple[list[str], list[str]]:
    """Busy spans by the household's clock, and warnings."""
    spans, warnings = read_busy(
        write(folder, family_ics=text) / "family.ics", ZONE, FIRST, last=LAST
    )
    clock = [(start.astimezone(ZONE), end.astimezone(ZONE)) for start, end in spans]
    return [f"{start:%m-%d %H:%M}-{end:%H:%M}" for start, end in clock], warnings


def soon(folder: Path, text: str | bytes) -> tuple[list[str], list[str]]:
    """As `read`; fails where that takes many times the work of reading the text. Counted: up to 15
    calls a byte, and 1.7 million for a rule whose weekday never comes; children are held to their
    work by `busy_guard`."""
    found, calls = counted(lambda: read(folder, text))
    assert calls < 5_000_000 + 30 * len(text)
    return found


TIMED = (
    "DTSTART;TZID=America/New_York:20261028T190000",
    "DTEND;TZID=America/New_York:20261028T200000",
)


BERLIN = (
    "BEGIN:VTIMEZONE\nTZID:Home\nBEGIN:STANDARD\nDTSTART:19700101T000000\n"
    "TZOFFSETFROM:+0100\nTZOFFSETTO:+0100\nEND:STANDARD\nEND:VTIMEZONE"
)
