"""The calendar file, read back by an independent parser."""

from __future__ import annotations

import datetime as dt
import io
import os
import random
import re
import subprocess
import sys
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import vobject
from hypothesis import given, settings
from hypothesis import strategies as st
from outputs.calendar.calendar_entries import SECOND_UID, later, read
from outputs.written_plans import (
    AFTER,
    BEFORE,
    make_crop,
    make_library,
    make_plan,
    make_product,
    make_season,
    plan_data,
)
from places import ROOT, TESTS

from harvestplan.outputs.calendar.calendar_files import calendar_files, tasks_bytes
from harvestplan.outputs.calendar.kinds import KINDS

ZONES = (
    "America/New_York",
    "America/Denver",
    "Europe/Berlin",
    "Australia/Hobart",
    "Asia/Kolkata",
    "Australia/Lord_Howe",
    "Africa/Casablanca",
    "America/Santiago",
    "America/Vancouver",
)
FIRST_UID = "00000001-6a52-5c64-9f3c-5a1f0c3c9d11"


def write(data: dict[str, Any] | None = None, previous: bytes | None = None, **more: Any) -> bytes:
    """One of the calendar files: of sessions, where none is named."""
    plan, name = make_plan(data=data), more.get("name", "sessions.ics")
    season = more.get("season", make_season(plan.season.timezone))
    before = {name: previous} if previous else {}
    return calendar_files(plan, season, more.get("library", make_library()), previous=before)[name]


def write_every(data: dict[str, Any] | None = None, **more: Any) -> bytes:
    """The files of all kinds, one after the other."""
    return b"".join(write(data, name=kind.file, **more) for kind in KINDS.values())


def unfolded(data: bytes) -> list[str]:
    return data.decode("utf-8").replace("\r\n ", "").split("\r\n")


@pytest.mark.parametrize("key", ZONES)
def test_times_are_right_on_both_sides_of_the_clock_change(key: str) -> None:
    events = read(write(plan_data(key)))
    zone = ZoneInfo(key)
    for uid, date in ((FIRST_UID, BEFORE), (SECOND_UID, AFTER)):
        start = dt.datetime.combine(date, dt.time(18), zone)
        end = dt.datetime.combine(date, dt.time(20, 30), zone)
        assert events[uid].dtstart.value.astimezone(dt.UTC) == start.astimezone(dt.UTC)
        assert events[uid].dtend.value.astimezone(dt.UTC) == end.astimezone(dt.UTC)


def test_an_unruly_zone_is_written_by_its_own_clock() -> None:
    """RFC 5545, 3.2.19: a TZID needs its VTIMEZONE; no yearly rule tells this one."""
    written = write(plan_data("America/Santiago"))
    assert b"DTSTART;TZID=America/Santiago:20271028T180000" in written
    assert b"RRULE" not in written and written.count(b"BEGIN:STANDARD") > 1


def test_a_time_that_comes_twice_is_written_in_utc() -> None:
    """RFC 5545, 3.3.5 takes the first of two; readers do not agree on it."""
    data = plan_data("Europe/Berlin")
    twice = dt.datetime(2027, 10, 31, 1, 15, tzinfo=dt.UTC)
    data["sessions"][0] |= {
        "start": twice.isoformat(),
        "end": (twice + dt.timedelta(hours=2)).isoformat(),
    }
    written = write(data)
    assert b"DTSTART:20271031T011500Z" in written
    assert read(written)[FIRST_UID].dtstart.value == twice


def test_bytes() -> None:
    """RFC 5545, 3.1: CRLF, at most 75 octets a line; 3.1.4: UTF-8."""
    data = plan_data()
    data["season"]["name"] = "Müller & Søn 👩‍👩‍👧‍👦 " * 9
    written = write(data)
    assert not written.startswith(b"\xef\xbb\xbf")
    assert written.endswith(b"END:VCALENDAR\r\n")
    assert written.count(b"\n") == written.count(b"\r\n") == written.count(b"\r")
    lines = written.split(b"\r\n")
    assert max(len(line) for line in lines) <= 75
    for line in lines:
        line.decode("utf-8")
    assert len(written) < 1_000_000


def test_head_of_the_file() -> None:
    """RFC 5545, 3.6 and 3.7; RFC 7986, 5.1 and 5.7; no METHOD (RFC 5545, 3.7.2)."""
    lines = unfolded(write())
    assert lines[1:4] == [
        "VERSION:2.0",
        "PRODID:-//harvestplan//season plan//EN",
        "CALSCALE:GREGORIAN",
    ]
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT6H" in lines
    assert "X-PUBLISHED-TTL:PT6H" in lines
    head = lines[: lines.index("BEGIN:VTIMEZONE")]
    assert not any(line.startswith("UID") for line in head)
    for name in ("METHOD", "ORGANIZER", "ATTENDEE", "ATTACH", "X-WR-TIMEZONE"):
        assert not any(line.startswith(name) for line in lines)


def test_session_event() -> None:
    """The food first; what must be in the house; where every step and caution stands."""
    event = read(write())[SECOND_UID]
    assert event.summary.value == "Broccoli and winter squash, 18 bags"
    assert event.description.value.split("\n") == [
        "Raw food: 8 3/4 lb broccoli; 10 lb winter squash",
        "To pack in: 18 pouches 8x10, and a few spare",
        "Ice to have ready: 17 lb",
        "winter squash purée: 10 bags of 12 oz",
        "broccoli florets: 8 bags of 12 oz",
        "Take care (the sheet says how): knives; bacteria in food that stands about; burns from "
        "trays and oven; steam and boiling water; burns from the sealing bar; warm food in the "
        "vacuum chamber; sealed food taken for preserved; purée that foams over.",
        "Every step: out/runsheets/2027-11-09.html, or harvestplan open",
        "--- Your own notes below this line stay ---",
    ]
    assert event.location.value == "Kitchen" and event.status.value == "CONFIRMED"
    assert event.categories.value == ["Preserving"] and event.color.value == "seagreen"
    assert all(alarm.action.value == "DISPLAY" for alarm in event.valarm_list)
    assert not any(hasattr(alarm, "uid") for alarm in event.valarm_list)


def test_summaries_are_one_short_line() -> None:
    data = plan_data()
    name = "broccoli, " + "very finely cut " * 9
    data["sessions"][0]["runs"][0]["product"] = name
    for event in read(write(data)).values():
        assert 0 < len(event.summary.value) < 80
        assert event.summary.value == event.summary.value.strip()


def test_all_day_entries() -> None:
    """RFC 5545, 3.6.1: DTEND of an all-day event is the day after; 3.8.2.7: TRANSPARENT."""
    found = {
        (event.dtstart.value, event.summary.value)
        for name in ("garden.ics", "shopping.ics")
        for event in read(write(name=name)).values()
        if not isinstance(event.dtstart.value, dt.datetime)
        and event.transp.value == "TRANSPARENT"
        and event.dtend.value == event.dtstart.value + dt.timedelta(days=1)
    }
    assert found == {
        (dt.date(2027, 10, 27), "Snap beans 12 lb: pick"),
        (dt.date(2027, 11, 1), "Snap beans 14 oz: pick this week"),
        (dt.date(2027, 11, 8), "Broccoli 9 lb: pick"),
        (dt.date(2027, 10, 27), "Ice 10 lb and pouches 8x10, 1 pack of 50: buy"),
    }


def test_a_pick_keeps_its_uid_when_it_moves() -> None:
    def uid(written: bytes) -> str:
        events = read(written).items()
        (found,) = [uid for uid, e in events if e.summary.value == "Broccoli 9 lb: pick"]
        return found

    moved = plan_data()
    moved["picks"][2]["date"] = "2027-11-07"
    assert uid(write(name="garden.ics")) == uid(write(moved, name="garden.ics"))


def test_different_hash_seeds_give_the_same_bytes() -> None:
    code = (
        "import sys; from outputs.written_plans import *; "
        "from harvestplan.outputs.calendar.calendar_files import calendar_files; "
        "files = calendar_files(make_plan(), make_season(), make_library()); "
        "sys.stdout.buffer.write(b''.join(list(files.values())[:3]))"
    )
    path = os.pathsep.join([str(TESTS), str(ROOT)])
    written = [
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONPATH": path, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert written[0] == written[1] == write_every()


@pytest.mark.parametrize("key", ["America/Denver", "America/Santiago"])
def test_an_unchanged_plan_gives_the_same_bytes(key: str) -> None:
    first = write(plan_data(key))
    assert write(later(plan_data(key)), previous=first) == first


def test_a_moved_session_alone_gets_new_stamps() -> None:
    """RFC 5545, 3.8.7.3 and 3.8.7.4: LAST-MODIFIED and SEQUENCE tell of a change."""
    first = write()
    data = later(plan_data())
    data["sessions"][1] |= {
        "sequence": 1,
        "start": "2027-11-09T18:30:00-07:00",
        "end": "2027-11-09T21:00:00-07:00",
    }
    before, after = read(first), read(write(data, previous=first))
    assert before.keys() == after.keys()
    changed = {uid for uid in before if before[uid].serialize() != after[uid].serialize()}
    assert changed == {SECOND_UID}
    for uid in changed:
        assert int(after[uid].sequence.value) == int(before[uid].sequence.value) + 1
        assert after[uid].last_modified.value > before[uid].last_modified.value
        assert after[uid].dtstamp.value == after[uid].last_modified.value
        assert after[uid].created.value == before[uid].created.value


def test_a_change_under_a_clock_set_back_is_still_later() -> None:
    first = write()
    data = plan_data() | {"made_at": "2027-10-20T08:00:00-06:00"}
    data["sessions"][0]["end"] = "2027-10-28T20:45:00-06:00"
    after = read(write(data, previous=first))[FIRST_UID]
    assert after.last_modified.value > read(first)[FIRST_UID].last_modified.value


def test_the_plan_s_own_sequence_is_that_of_the_calendar() -> None:
    """One number; and never a lower one than readers have seen."""
    first = write()
    data = later(plan_data())
    data["sessions"][0] |= {"sequence": 7, "end": "2027-10-28T20:45:00-06:00"}
    seventh = write(data, previous=first)
    assert read(seventh)[FIRST_UID].sequence.value == "7"
    assert read(seventh)[FIRST_UID].last_modified.value > read(first)[FIRST_UID].last_modified.value
    back = write(later(plan_data()), previous=seventh)
    assert read(back)[FIRST_UID].sequence.value == "7"


def test_a_cancelled_session_stays_until_its_date() -> None:
    first = write()
    data = later(plan_data())
    data["sessions"][1] |= {"status": "cancelled", "sequence": 1}
    second = write(data, previous=first)
    event = read(second)[SECOND_UID]
    assert event.status.value == "CANCELLED"
    assert event.transp.value == "TRANSPARENT"
    assert event.summary.value == "Cancelled: Broccoli and winter squash, 18 bags"
    assert event.sequence.value == "1"
    assert not hasattr(event, "valarm")
    assert write(data | {"made_at": "2027-10-27T08:00:00-06:00"}, previous=second) == second
    past = data | {"as_of": (AFTER + dt.timedelta(days=1)).isoformat()}
    assert SECOND_UID not in read(write(past, previous=second))


def test_only_what_was_promised_as_a_session_is_told_as_cancelled() -> None:
    """A session that the plan no longer knows at all; a day of picking simply goes."""
    first, garden = write(), write(name="garden.ics")
    data = later(plan_data())
    data["sessions"].pop()
    data["picks"].pop()
    second = write(data, previous=first)
    gone = [e for e in read(second).values() if e.status.value == "CANCELLED"]
    assert [e.summary.value for e in gone] == ["Cancelled: Broccoli and winter squash, 18 bags"]
    assert gone[0].sequence.value == "1"
    assert write(data, previous=second) == second
    third = read(write(later(plan_data()), previous=second))[gone[0].uid.value]
    assert third.summary.value == "Broccoli and winter squash, 18 bags"
    assert third.sequence.value == "1" and third.last_modified.value > gone[0].last_modified.value
    left = read(write(data, previous=garden, name="garden.ics"))
    assert len(read(garden)) == 3 and len(left) == 2
    assert all(event.status.value == "CONFIRMED" for event in left.values())


@pytest.mark.parametrize("torn", [b"", b"\xff\xfe", b"BEGIN:VCALENDAR\r\nBEGIN:VEV", b"garbage"])
def test_a_torn_previous_file_is_no_memory(torn: bytes) -> None:
    assert write(previous=torn) == write()


DAMAGED = [
    (name, value)
    for name in ("LAST-MODIFIED", "CREATED", "DTSTAMP", "SEQUENCE", "DTSTART", "DTEND", "UID")
    for value in (
        b"zz", b"", b"-1", b"9" * 10, b"9" * 30, b"9" * 5000, b"99991231T235959Z", b"99991231",
        b"00010101T000000Z", b"00010101", b"20271028", b"20271028T010000", b"\xff\xfe",
    )
]  # fmt: skip
"""A property and what stands in its place."""


def test_damage_in_the_old_calendar_stops_no_plan() -> None:
    """What it said elsewhere is remembered; what is written can be read, by this program too."""
    old, old_tasks = write(), tasks_bytes(make_plan(), make_season())
    data = later(plan_data())
    data["picks"].pop()
    data["sessions"].pop()
    for name, value in DAMAGED:
        torn = [
            re.sub(rf"(?m)^{name}[:;].*$".encode(), f"{name}:".encode() + value + b"\r", each)
            for each in (old, old_tasks)
        ]
        assert torn[0] != old
        new = write(data, previous=torn[0])
        events = read(new)
        assert events.keys() >= read(write(data)).keys(), (name, value)
        assert all(int(e.sequence.value) < 2**31 for e in events.values()), (name, value)
        assert write(data, previous=new) == new, (name, value)
        assert tasks_bytes(make_plan(data=data), make_season(), torn[1])


def test_one_entry_s_damage_leaves_the_memory_of_the_others() -> None:
    old = write()
    torn = old.replace(b"LAST-MODIFIED:2", b"LAST-MODIFIED:z", 1)
    assert torn != old
    before, after = read(old), read(write(later(plan_data()), previous=torn))
    assert len([u for u in before if after[u].serialize() != before[u].serialize()]) == 1


def test_random_damage_in_the_old_calendar_stops_no_plan() -> None:
    """Lines lost, cut or filled with something else, and bytes turned into others."""
    draw = random.Random(1)
    old = write()
    data = later(plan_data())
    data["picks"].pop()
    for number in range(300):
        lines = old.split(b"\r\n")
        at = draw.randrange(len(lines))
        name, _, value = lines[at].partition(b":")
        other = draw.choice([b"zz", b"9" * 5000, b"TRUE", b"20271028", value[:5], value + b"x"])
        lines[at : at + 1] = draw.choice([[], [name + b":" + other], [lines[at]] * 2])
        torn = bytearray(b"\r\n".join(lines))
        torn[draw.randrange(len(torn))] = draw.randrange(256)
        try:
            read(write(data, previous=bytes(torn)))
        except Exception as error:
            pytest.fail(f"damage {number}: {error!r}")


@pytest.mark.parametrize(
    ("evil", "kept"),
    [
        ("a\r\nEND:VEVENT\r\nBEGIN:VEVENT", "a END:VEVENT BEGIN:VEVENT"),
        ("a\nATTACH:x", "a ATTACH:x"),
        ("nul\x00bell\x07", "nulbell"),
        ("para\u2029line\u2028x", "para line x"),
        ("next\x85line", "next line"),
        ("lone\ud800end", "loneend"),
        ("👩‍👩‍👧‍👦 🫘", "👩‍👩‍👧‍👦 🫘"),
        ('"quoted"; a, b\\n', '"quoted"; a, b\\n'),
        ("x" * 10_000, "x" * 10_000),
    ],
)
def test_names_cannot_break_out_of_their_line(evil: str, kept: str) -> None:
    """RFC 5545, 3.3.11: text is escaped; control characters have no place in it (3.1)."""
    product = make_product("cut")
    product["steps"][1]["caution"] = evil
    bean = make_crop("snap bean", product)
    data = plan_data()
    data["season"]["name"] = evil
    data["shopping"][0]["item"] = evil
    data["picks"][0]["planting"] = evil
    data["sessions"][0]["tasks"][4]["equipment"] = [evil]
    data["sessions"][0]["runs"][0]["product"] = evil
    written = write_every(data, library=make_library(bean))
    lines = unfolded(written)
    assert lines.count("END:VEVENT") == unfolded(write_every()).count("END:VEVENT") == 6
    assert not any(line.startswith("ATTACH") for line in lines)
    text = written.decode("utf-8")
    assert not any(ch in text for ch in "\x00\x07\x85\u2028\u2029")
    told = read(write(data, library=make_library(bean)))[FIRST_UID].description.value
    assert f"{kept}: 12 bags of 12 oz" in told


CHANGE = st.tuples(
    st.sampled_from(["move", "cancel", "drop pick", "drop session", "same"]), st.integers(0, 50)
)


@settings(max_examples=25, deadline=None)
@given(st.lists(CHANGE, min_size=1, max_size=5), st.sampled_from(["sessions.ics", "garden.ics"]))
def test_stamps_grow_exactly_when_content_changes(
    changes: list[tuple[str, int]], name: str
) -> None:
    """RFC 5545, 3.8.7: over any history of plans, in one file after another; sessions count as the
    plan does."""
    previous, counted = write(name=name), 0
    for number, (change, minutes) in enumerate(changes):
        data = plan_data() | {"made_at": f"2027-10-25T{9 + number:02d}:00:00-06:00"}
        if change == "move":
            counted += 1
            data["sessions"][0]["end"] = f"2027-10-28T21:{minutes:02d}:00-06:00"
        if change == "cancel":
            counted += 1
            data["sessions"][0]["status"] = "cancelled"
        data["sessions"][0]["sequence"] = counted
        if change == "drop pick":
            data["picks"].pop(minutes % 3)
        if change == "drop session":
            data["sessions"].pop(minutes % 2)
        written = write(data, previous, name=name)
        before, after = read(previous), read(written)
        assert name == "garden.ics" or before.keys() <= after.keys()
        for uid in before.keys() & after.keys():
            old, new = before[uid], after[uid]
            same = content(old) == content(new)
            grown = int(new.sequence.value) - int(old.sequence.value)
            assert grown >= 0 and (name == "sessions.ics" or grown == (0 if same else 1))
            assert (new.last_modified.value > old.last_modified.value) != (same and not grown)
            assert new.dtstamp.value == new.last_modified.value
            if uid == FIRST_UID and change != "drop session":
                assert int(new.sequence.value) >= counted
        previous = written


def content(event: Any) -> list[tuple[str, str]]:
    """An event's lines but its stamps, and its alarms, as vobject reads them."""
    stamps = ("DTSTAMP", "CREATED", "LAST-MODIFIED", "SEQUENCE")
    lines = [(line.name, str(line.value)) for line in event.lines() if line.name not in stamps]
    return [*lines, ("VALARM", str(len(getattr(event, "valarm_list", []))))]


def test_shopping_tasks() -> None:
    """RFC 5545, 3.6.2: VTODO, in a file of its own."""
    plan, season = make_plan(), make_season()
    first = tasks_bytes(plan, season)
    calendar = vobject.readOne(io.StringIO(first.decode()))
    due = [(todo.due.value, todo.status.value) for todo in calendar.vtodo_list]
    assert due == [(dt.date(2027, 10, 27), "NEEDS-ACTION"), (dt.date(2027, 11, 2), "NEEDS-ACTION")]
    assert b"VEVENT" not in first and b"VTIMEZONE" not in first
    again = make_plan(data=later(plan_data()))
    assert tasks_bytes(again, season, first) == first
    data = later(plan_data())
    data["shopping"][0] |= {"order_by": "2027-11-01"}
    changed = vobject.readOne(
        io.StringIO(tasks_bytes(make_plan(data=data), season, first).decode())
    )
    assert sorted(todo.sequence.value for todo in changed.vtodo_list) == ["0", "1"]
