"""The calendar file as readers of several makes see it, and its form to the byte (RFC 5545)."""

from __future__ import annotations

import datetime as dt
import os
import subprocess
import sys
import unicodedata
import uuid
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar
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
from places import ROOT

from harvestplan.outputs.calendar.calendar_files import tasks_bytes
from harvestplan.outputs.calendar.vtimezone import real_changes


@pytest.mark.parametrize("key", ZONES)
def test_readers_agree_a_week_on_each_side_of_each_change(key: str) -> None:
    starts = around_changes(key)
    data = with_sessions(key, starts)
    data["sessions"][-1]["status"] = "cancelled"
    data["sessions"][-1]["start"], data["sessions"][-1]["end"] = (
        f"2027-12-01T{hour}:00:00+00:00" for hour in ("18", "20")
    )
    written = write(data)
    seen = by_vobject(written)
    assert seen == by_icalendar(written) == by_line(written)
    expected = {
        session["uid"]: dt.datetime.fromisoformat(session["start"]) for session in data["sessions"]
    }
    kept = [s["uid"] for s in data["sessions"]]
    assert {uid: seen[uid][3] for uid in kept} == expected
    for uid in kept[:-1]:
        assert seen[uid][4] - seen[uid][3] == dt.timedelta(minutes=150)
        assert seen[uid][5] == 1
    assert seen[kept[-1]][1] == "CANCELLED" and seen[kept[-1]][5] == 0


@pytest.mark.parametrize("key", ZONES)
def test_the_zone_is_told_in_full_not_by_its_name_alone(key: str) -> None:
    """RFC 5545, 3.2.19: a reader that knows no zone names must get the same instants."""
    written = write(with_sessions(key, around_changes(key)))
    # Readers remember the zones of earlier files by name, so each has a name of its own.
    name = f"Nowhere-{ZONES.index(key)}".encode()
    renamed = written.replace(f"TZID:{key}".encode(), b"TZID:" + name)
    renamed = renamed.replace(f"TZID={key}:".encode(), b"TZID=" + name + b":")
    assert renamed.count(name) == written.count(key.encode())
    assert by_vobject(renamed) == by_icalendar(renamed) == by_vobject(written)


def test_the_same_with_the_packaged_time_zones() -> None:
    """zoneinfo prefers the system's copy; an empty PYTHONTZPATH makes it take the package's."""
    # Named one by one: a part of a name would choose this test too, and that again.
    chosen = [
        f"{__file__}::{test.__name__}"
        for test in (
            test_readers_agree_a_week_on_each_side_of_each_change,
            test_the_zone_is_told_in_full_not_by_its_name_alone,
        )
    ]
    done = subprocess.run(
        [sys.executable, "-m", "pytest", *chosen, "-q", "-p", "no:cacheprovider"],
        env=os.environ | {"PYTHONTZPATH": "", "PYTHONPATH": str(ROOT)},
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout


NEAR_CHANGE = st.builds(
    lambda key, number, minutes: (
        key,
        real_changes(ZoneInfo(key), range(2027, 2028))[number].instant
        + dt.timedelta(minutes=minutes),
    ),
    st.sampled_from(["America/New_York", "Europe/Berlin", "Australia/Lord_Howe"]),
    st.integers(0, 1),
    st.integers(-240, 120),
)


@settings(max_examples=40, deadline=None)
@given(NEAR_CHANGE, st.integers(1, 240))
def test_no_clock_time_is_written_that_comes_twice_or_never(
    near: tuple[str, dt.datetime], minutes: int
) -> None:
    """RFC 5545, 3.3.5: such times are in doubt among readers; they go out in UTC."""
    key, start = near
    data = with_sessions(key, [start], minutes)
    written = write(data)
    uid = data["sessions"][0]["uid"]
    end = start + dt.timedelta(minutes=minutes)
    for seen in (by_vobject(written), by_icalendar(written), by_line(written)):
        assert seen[uid][3:5] == (start, end)
    for line in written.decode().replace("\r\n ", "").split("\r\n"):
        name, _, value = line.partition(":")
        if name in (f"DTSTART;TZID={key}", f"DTEND;TZID={key}"):
            wall = dt.datetime.strptime(value, "%Y%m%dT%H%M%S").replace(tzinfo=ZoneInfo(key))
            assert wall.utcoffset() == wall.replace(fold=1).utcoffset()


def assert_sound(data: bytes) -> None:
    """RFC 5545, 3.1: CRLF, 75 octets, UTF-8, no control characters; under the 1 MB that
    web calendars take."""
    text = data.decode("utf-8")
    assert not text.startswith("\ufeff") and text.endswith("END:VCALENDAR\r\n")
    assert text.count("\n") == text.count("\r") == text.count("\r\n")
    lines = data.split(b"\r\n")
    assert max(map(len, lines)) <= 75 and lines[-1] == b"" and b"" not in lines[:-1]
    for line in lines:
        line.decode("utf-8")
    controls = {char for char in text if unicodedata.category(char) in ("Cc", "Zl", "Zp", "Cs")}
    assert controls == {"\r", "\n"}
    assert len(data) < 1_000_000


def test_a_long_season_is_sound_to_the_byte_and_in_order() -> None:
    """More sessions than any household holds: 200, each with its whole run sheet in brief."""
    first = dt.datetime(2027, 4, 1, 18, tzinfo=ZoneInfo("America/Denver"))
    starts = [first + dt.timedelta(days=number) for number in range(200)]
    data = with_sessions("America/Denver", starts[::-1])
    for session in data["sessions"]:
        session["runs"][0]["product"] = "Brühwürfel, 👩‍👩‍👧‍👦 püriert\t" * 3
    written = write(data)
    assert_sound(written)
    days = [
        line.partition(":")[2][:8]
        for line in written.decode().split("\r\n")
        if line.startswith("DTSTART;")
    ]
    assert len(days) == 200 and days == sorted(days)


@pytest.mark.parametrize("key", ZONES)
def test_each_entry_has_what_readers_need_once(key: str) -> None:
    """RFC 5545, 3.6.1: UID and DTSTAMP; a name for each line at most once; and for the calendar
    itself RFC 7986, 5.7, with no UID of its own."""
    written = write(plan_data(key))
    (calendar,) = Calendar.from_ical(written, multiple=True)
    names = [name for name, _ in calendar.property_items(recursive=False)]
    assert names[1:-1] == [
        "VERSION",
        "PRODID",
        "CALSCALE",
        "NAME",
        "X-WR-CALNAME",
        "COLOR",
        "REFRESH-INTERVAL",
        "X-PUBLISHED-TTL",
    ]
    assert calendar["REFRESH-INTERVAL"].params["VALUE"] == "DURATION"
    kinds = [part.name for part in calendar.subcomponents]
    assert kinds == sorted(kinds, key=lambda kind: kind != "VTIMEZONE")
    allowed = {
        "UID",
        "DTSTART",
        "DTEND",
        "SUMMARY",
        "DESCRIPTION",
        "LOCATION",
        "CATEGORIES",
        "COLOR",
        "STATUS",
        "TRANSP",
        "DTSTAMP",
        "CREATED",
        "LAST-MODIFIED",
        "SEQUENCE",
    }
    for event in calendar.walk("VEVENT"):
        assert allowed - {"DESCRIPTION", "LOCATION"} <= set(event.keys()) <= allowed
        assert not any(isinstance(event[name], list) for name in ("UID", "DTSTART", "DTEND"))
        assert uuid.UUID(str(event["UID"]))
        assert event["DTSTART"].params.get("TZID") == event["DTEND"].params.get("TZID")
        timed = isinstance(event["DTSTART"].dt, dt.datetime)
        assert not timed or event["DTSTART"].dt.tzinfo is not None
        alarms = event.walk("VALARM")
        assert (len(alarms) > 0) == timed
        for alarm in alarms:
            assert set(alarm.keys()) == {"ACTION", "DESCRIPTION", "TRIGGER"}
            assert alarm["TRIGGER"].dt < dt.timedelta()


@settings(max_examples=60, deadline=None)
@given(st.text(st.characters(categories=None), max_size=80))
def test_no_text_breaks_out_of_its_field(evil: str) -> None:
    """RFC 5545, 3.3.11: whatever a name holds, the file has the same parts."""
    data = plan_data()
    usual = write(plan_data()).count(b"\r\nBEGIN:")
    data["season"]["name"] = evil
    data["shopping"][0]["item"] = evil
    data["picks"][0]["planting"] = evil
    data["sessions"][0]["tasks"][4]["equipment"] = [evil]
    plan = make_plan(data=data)
    written = write(data)
    tasks = tasks_bytes(plan, make_season())
    for one in (written, tasks):
        assert_sound(one)
    assert written.count(b"\r\nBEGIN:") == usual
    assert tasks.count(b"\r\nBEGIN:VTODO\r\n") == 2
    assert by_vobject(written) == by_icalendar(written)
