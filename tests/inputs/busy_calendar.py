"""A calendar of busy times as text, and what is read of it."""

from __future__ import annotations

import datetime as dt
import os
from pathlib import Path
from zoneinfo import ZoneInfo

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
    spans, warnings = read_busy(write(folder, family_ics=text) / "family.ics", ZONE, FIRST, LAST)
    clock = [(start.astimezone(ZONE), end.astimezone(ZONE)) for start, end in spans]
    return [f"{start:%m-%d %H:%M}-{end:%H:%M}" for start, end in clock], warnings


TIMED = (
    "DTSTART;TZID=America/New_York:20261028T190000",
    "DTEND;TZID=America/New_York:20261028T200000",
)


BERLIN = ("BEGIN:VTIMEZONE\nTZID:Home\nBEGIN:STANDARD\nDTSTART:19700101T000000\n"
          "TZOFFSETFROM:+0100\nTZOFFSETTO:+0100\nEND:STANDARD\nEND:VTIMEZONE")  # fmt: skip


def work() -> float:
    """s of processor time, children's included: a busy computer does not draw it out."""
    return sum(os.times()[:4])
