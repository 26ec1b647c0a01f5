"""Our calendar files as libical, ical.js and node-ical read them, beside the parsers in Python.

libical is the only one that holds a file against RFC 5545's tables of what each component must
and may have; node-ical knows zones by their names alone, as phones do. Node
tells it their rules, which may be those of another year: where these differ from ours, nothing can
be compared.
"""

from __future__ import annotations

import datetime as dt
import json
import subprocess
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from calendar_tools import need
from outputs.calendar.calendars_read import (
    ZONES,
    around_changes,
    by_icalendar,
    by_line,
    by_vobject,
    with_sessions,
    write,
)
from outputs.written_plans import make_plan, make_season, plan_data

from harvestplan.outputs.calendar.calendar_files import tasks_bytes

UNKNOWN = "Nowhere/Kitchen"
EVIL = (
    "a\r\nEND:VEVENT\r\nBEGIN:VEVENT",
    "nul\0",
    "\u2028",
    '";,\\n',
    "👩‍👩‍👧‍👦" * 40,
    "x" * 10_000,
)
NODE_CLOCK = """
const [zone, ...times] = process.argv.slice(1);
const form = { timeZone: zone, hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
const clock = new Intl.DateTimeFormat("en-US", form);
console.log(JSON.stringify(times.map((time) => clock.format(1000 * Number(time)))));
"""
"""The clock of a zone at UNIX times, by node's rules."""
Seen = dict[str, tuple[int, str, str, float, float, int]]
"""By UID: SEQUENCE, STATUS, SUMMARY, start and end as UNIX times, number of alarms."""


def season_file(key: str) -> bytes:
    """Sessions a week on each side of every change of the clocks, the last one cancelled."""
    data = with_sessions(key, around_changes(key))
    data["sessions"][-1]["status"] = "cancelled"
    for name, hour in (("start", 18), ("end", 20)):
        data["sessions"][-1][name] = f"2027-12-01T{hour}:00:00+00:00"
    return write(data)


def renamed(written: bytes, key: str, number: int) -> bytes:
    """The same with the zone under a name that nobody knows."""
    name = f"{UNKNOWN}-{number}".encode()
    written = written.replace(f"TZID:{key}\r\n".encode(), b"TZID:" + name + b"\r\n")
    return written.replace(f";TZID={key}:".encode(), b";TZID=" + name + b":")


def run(tool: str, files: list[bytes], folder: Path) -> Any:
    """What the tool prints of the files."""
    command = need(tool)
    paths = [folder / f"{number}.ics" for number in range(len(files))]
    for path, data in zip(paths, files, strict=True):
        path.write_bytes(data)
    done = subprocess.run([*command, *map(str, paths)], capture_output=True, timeout=600)
    assert done.returncode == 0, done.stderr.decode()
    return json.loads(done.stdout)


def timed(entries: list[list[Any]]) -> Seen:
    return {uid: tuple(rest) for uid, *rest in entries if rest[3] is not None}


def in_seconds(found: dict[str, Any]) -> Seen:
    return {
        uid: (int(number), status, summary, start.timestamp(), end.timestamp(), alarms)
        for uid, (number, status, summary, start, end, alarms) in found.items()
    }


def known_alike(key: str, seen: Seen) -> bool:
    """Whether node's rules of the zone show our clock at each start and end of an entry."""
    times = [time for entry in seen.values() for time in entry[3:5]]
    command = ["node", "-e", NODE_CLOCK, key, *map(str, times)]
    done = subprocess.run(command, capture_output=True, text=True)
    clock = [f"{dt.datetime.fromtimestamp(time, ZoneInfo(key)):%H:%M}" for time in times]
    return done.returncode == 0 and json.loads(done.stdout) == clock


@pytest.fixture(scope="module")
def files() -> list[bytes]:
    return [season_file(key) for key in ZONES]


@pytest.mark.parametrize("tool", ["libical", "ical.js", "node-ical"])
def test_all_parsers_read_the_same(tool: str, files: list[bytes], tmp_path: Path) -> None:
    seen = run(tool, files, tmp_path)
    alike = 0
    for key, data, found in zip(ZONES, files, seen, strict=True):
        ours = in_seconds(by_vobject(data))
        assert ours == in_seconds(by_icalendar(data)) == in_seconds(by_line(data))
        assert len(ours) > 14
        if tool != "node-ical" or known_alike(key, ours):
            alike += 1
            assert timed(found["entries"] if tool == "libical" else found) == ours, key
    assert alike > len(ZONES) / 2


@pytest.mark.parametrize("tool", ["libical", "ical.js"])
def test_zones_are_read_from_the_file_itself(tool: str, files: list[bytes], tmp_path: Path) -> None:
    """RFC 5545, 3.2.19: VTIMEZONE tells the zone in full, so its name is no matter."""
    other = [renamed(data, key, n) for n, (key, data) in enumerate(zip(ZONES, files, strict=True))]
    seen = run(tool, other, tmp_path)
    for key, data, found in zip(ZONES, files, seen, strict=True):
        ours = in_seconds(by_vobject(data))
        assert timed(found["entries"] if tool == "libical" else found) == ours, key


def test_libical_finds_no_fault(files: list[bytes], tmp_path: Path) -> None:
    """In files of every zone, a long season, one with hostile names, and the shopping list."""
    first = dt.datetime(2027, 4, 1, 18, tzinfo=ZoneInfo("America/Denver"))
    long = with_sessions("America/Denver", [first + dt.timedelta(days=n) for n in range(200)])
    golden = [*files, write(plan_data()), write(long), write(plan_data("America/Santiago"))]
    for evil in EVIL:
        data = plan_data()
        data["season"]["name"] = data["shopping"][0]["item"] = evil
        data["picks"][0]["planting"] = evil
        data["sessions"][0]["tasks"][4]["equipment"] = [evil]
        golden += [write(data), tasks_bytes(make_plan(data=data), make_season())]
    seen = run("libical", golden, tmp_path)
    assert [(each["sound"], each["errors"]) for each in seen] == [(True, 0)] * len(golden)
    assert all(each["entries"] for each in seen)


def test_libical_sees_a_fault_where_there_is_one(tmp_path: Path) -> None:
    """Else the test above would tell nothing."""
    sound = write(plan_data())
    twice = sound.replace(b"SEQUENCE:0\r\n", b"SEQUENCE:0\r\nSEQUENCE:1\r\n", 1)
    asking = sound.replace(b"VERSION:2.0\r\n", b"VERSION:2.0\r\nMETHOD:PUBLISH\r\n", 1)
    seen = run("libical", [twice, asking], tmp_path)
    assert [each["sound"] for each in seen] == [False, False]


def test_the_shopping_list_is_of_tasks_alone(tmp_path: Path) -> None:
    """RFC 5545, 3.6.2."""
    plan = make_plan()
    (seen,) = run("libical", [tasks_bytes(plan, make_season())], tmp_path)
    assert (seen["sound"], seen["errors"]) == (True, 0)
    assert [entry[2] for entry in seen["entries"]] == ["NEEDS-ACTION"] * 2
