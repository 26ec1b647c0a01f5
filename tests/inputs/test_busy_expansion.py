"""Busy times of the reader against ical.js, which lays the same entries out by itself."""

from __future__ import annotations

import datetime as dt
import json
import random
import subprocess
from pathlib import Path
from zoneinfo import ZoneInfo

from calendar_tools import MODULES, READERS, need
from icalendar import Calendar

from harvestplan.inputs.busy import read_busy
from harvestplan.outputs.calendar.vtimezone import vtimezone

FIRST, LAST = dt.date(2027, 3, 1), dt.date(2027, 11, 30)
HOME = ZoneInfo("America/New_York")
ZONES = ("America/New_York", "Europe/Berlin", "Australia/Lord_Howe", "Asia/Kolkata")
FILES, SERIES = 10, 24


def series(draw: random.Random, number: int) -> list[str]:
    """A series with single dates left out, moved and cancelled, as people have them."""
    key = draw.choice(ZONES)
    start = dt.datetime(2027, draw.randint(1, 9), draw.randint(1, 28), draw.randint(6, 20))
    length = dt.timedelta(minutes=draw.choice((30, 60, 90, 240)))
    rule = draw.choice(
        [
            "FREQ=DAILY",
            "FREQ=WEEKLY;BYDAY=" + ",".join(draw.sample(["MO", "TU", "WE", "FR", "SU"], 2)),
            "FREQ=WEEKLY",
            f"FREQ=MONTHLY;BYDAY={draw.choice((1, 2, -1))}{draw.choice(('MO', 'TH', 'SA'))}",
            f"FREQ=MONTHLY;BYMONTHDAY={draw.choice((1, 13, 31, -1))}",
            "FREQ=YEARLY",
        ]
    )
    rule += f";INTERVAL={draw.randint(1, 3)}"
    zone = ZoneInfo(key)
    until = (start + dt.timedelta(days=draw.randint(20, 200))).replace(tzinfo=zone)
    rule += draw.choice(
        ["", f";COUNT={draw.randint(2, 9)}", f";UNTIL={until.astimezone(dt.UTC):%Y%m%dT%H%M%SZ}"]
    )
    # The first must be one that the rule itself gives; readers differ on one that is not.
    start = _first(start, rule)
    lines = [*_head(number, key, start, length=length), f"RRULE:{rule}"]
    later = _later(start, rule)
    if later and draw.random() < 0.5:
        lines.append(f"EXDATE;TZID={key}:{later:%Y%m%dT%H%M%S}")
        return [*lines, "END:VEVENT"]
    lines.append("END:VEVENT")
    if later and draw.random() < 0.6:
        moved = later + dt.timedelta(days=1, minutes=draw.choice((-60, 30, 90)))
        lines += _head(number, key, moved, length=length)
        lines += [f"RECURRENCE-ID;TZID={key}:{later:%Y%m%dT%H%M%S}"]
        lines += draw.choice([[], ["STATUS:CANCELLED"]])
        lines.append("END:VEVENT")
    return lines


def _head(number: int, key: str, start: dt.datetime, length: dt.timedelta) -> list[str]:
    return [
        "BEGIN:VEVENT",
        f"UID:{number}",
        "DTSTAMP:20270101T000000Z",
        f"DTSTART;TZID={key}:{start:%Y%m%dT%H%M%S}",
        f"DTEND;TZID={key}:{start + length:%Y%m%dT%H%M%S}",
    ]


def _fits(day: dt.datetime, rule: str) -> bool:
    parts = dict(part.split("=") for part in rule.split(";"))
    name = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")[day.weekday()]
    last = (day.replace(day=28) + dt.timedelta(days=4)).replace(day=1) - dt.timedelta(days=1)
    if "BYMONTHDAY" in parts:
        wanted = int(parts["BYMONTHDAY"])
        return day.day == (wanted if wanted > 0 else last.day)
    if parts["FREQ"] == "MONTHLY":
        count, weekday = int(parts["BYDAY"][:-2]), parts["BYDAY"][-2:]
        nth = (day.day - 1) // 7 + 1 if count > 0 else -((last.day - day.day) // 7 + 1)
        return (weekday, count) == (name, nth)
    return "BYDAY" not in parts or name in parts["BYDAY"].split(",")


def _first(start: dt.datetime, rule: str) -> dt.datetime:
    return next(d for n in range(400) if _fits(d := start + dt.timedelta(days=n), rule))


def _later(start: dt.datetime, rule: str) -> dt.datetime | None:
    """The second occurrence of the plain weekly rules, where it is easily told."""
    parts = dict(part.split("=") for part in rule.split(";"))
    if parts["FREQ"] == "DAILY" or (parts["FREQ"] == "WEEKLY" and "BYDAY" not in parts):
        step = int(parts["INTERVAL"]) * (7 if parts["FREQ"] == "WEEKLY" else 1)
        return start + dt.timedelta(days=step)
    return None


def calendar(seed: int) -> str:
    draw = random.Random(seed)
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//test//EN"]
    for key in ZONES:
        zone = vtimezone(
            key, dt.datetime(2027, 1, 1, tzinfo=dt.UTC), dt.datetime(2027, 12, 31, tzinfo=dt.UTC)
        )
        assert zone is not None
        lines += zone.to_ical().decode().split("\r\n")[:-1]
    for number in range(SERIES):
        lines += series(draw, number)
    return "\r\n".join([*lines, "END:VCALENDAR", ""])


def test_ical_js_lays_out_the_same(tmp_path: Path) -> None:
    need("ical.js")
    paths = []
    for seed in range(FILES):
        paths.append(tmp_path / f"{seed}.ics")
        paths[-1].write_text(calendar(seed), encoding="utf-8", newline="")
    begin, end = (
        int(dt.datetime.combine(day, dt.time(), HOME).timestamp())
        for day in (FIRST, LAST + dt.timedelta(days=1))
    )
    command = ["node", str(READERS / "expand_ical_js.mjs"), str(MODULES), str(begin), str(end)]
    done = subprocess.run([*command, *map(str, paths)], capture_output=True, timeout=600)
    assert done.returncode == 0, done.stderr.decode()
    total = 0
    for path, theirs in zip(paths, json.loads(done.stdout), strict=True):
        spans, warnings = read_busy(path, HOME, FIRST, last=LAST)
        assert not warnings
        ours = [[int(a.timestamp()), int(b.timestamp())] for a, b in spans]
        inside = [span for span in ours if span[1] > begin and span[0] < end]
        assert inside == [list(span) for span in sorted(set(map(tuple, theirs)))], path.name
        total += len(inside)
    assert total > 100 * FILES


def test_the_calendars_are_sound() -> None:
    assert not any(part.errors for part in Calendar.from_ical(calendar(1)).walk())
