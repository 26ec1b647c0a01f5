"""Busy calendars of every nonsense: each is read or left out by name, and a sound entry counts."""

from __future__ import annotations

import datetime as dt
import itertools
import random
from pathlib import Path
from unittest import mock

from counted import counted
from each_case import each
from inputs.busy_calendar import FIRST, LAST, TIMED, ZONE, event, read, wrap

from harvestplan.inputs import busy
from harvestplan.inputs.busy import read_busy

GOOD = "10-28 19:00-20:00"
STARTS = (
    "DTSTART:20261001T190000", "DTSTART:20261001T190000Z", "DTSTART;VALUE=DATE:20261001",
    "DTSTART;TZID=Nowhere/At_All:20261001T190000", "DTSTART:00010101T000000",
    "DTSTART:19000101T000000Z", "DTSTART:99991231T235959", "DTSTART:99991231T235959Z",
    "DTSTART:20261301T190000", "DTSTART:", "DTSTART:20261001T250000", "DTSTART:-0001",
)  # fmt: skip
ENDS = (
    "DTEND:20261001T200000", "DTEND:20261001T200000Z", "DTEND;VALUE=DATE:20261002",
    "DTEND:99991231T235959", "DTEND:99991231T235959Z", "DTEND:00010101T000000",
    "DTEND:20260931T000000", "DTEND:20260901T000000", "DURATION:PT1H", "DURATION:-PT1H",
    "DURATION:P9999999D", "DURATION:P99999999999999W", "DURATION:PT", "COMMENT:none",
)  # fmt: skip
MORE = (
    "COMMENT:none", "RRULE:FREQ=DAILY;UNTIL=00010101T000000Z", "RRULE:FREQ=DAILY;UNTIL=99991231",
    "RRULE:FREQ=WEEKLY;UNTIL=99991231T235959Z", "RRULE:FREQ=YEARLY;INTERVAL=99999999",
    "RRULE:FREQ=DAILY;INTERVAL=9999999999999999999999",
    "RDATE;VALUE=PERIOD:20261010T190000/20261009T190000",
    "RDATE;VALUE=PERIOD:20261010T190000/P9999999D", "RDATE;VALUE=PERIOD:20261010T190000/-P1D",
    "RDATE:99991231T235959,00010101T000000", "EXDATE:99991231T235959Z", "RDATE:",
    "RECURRENCE-ID:99991231T235959", "RECURRENCE-ID;RANGE=THISANDFUTURE:20261001T190000",
)  # fmt: skip


@each("start", STARTS)
def test_dates_of_every_nonsense(tmp_path: Path, start: str) -> None:
    """196 entries for each start, in calendars of their own."""
    for number, (end, more) in enumerate(itertools.product(ENDS, MORE)):
        bad = event(start, end, more, uid="bad").replace("Choir", "Trap")
        spans, warnings = read(tmp_path / str(number), wrap(bad, event(*TIMED, uid="good")))
        assert GOOD in spans, (end, more)
        assert all("family.ics" in warning for warning in warnings), (end, more)


def _daily(count: int, since: int, more: str = "") -> str:
    rule = f"RRULE:FREQ=DAILY{more}"
    start, end = (f"{key}:{since}0101T{hour}0000" for key, hour in (("DTSTART", 19), ("DTEND", 20)))
    return wrap(*(event(start, end, rule, uid=f"a{n}") for n in range(count)))


def _dates(count: int, each: int) -> str:
    days = (dt.date(2015, 1, 1) + dt.timedelta(days=n) for n in range(each))
    listed = "RDATE:" + ",".join(f"{day:%Y%m%d}T190000" for day in days)
    return wrap(*(event(*TIMED, listed, uid=f"a{n}") for n in range(count)))


LARGE = {
    "a hundred daily since 1900": (_daily(100, 1900), 100 * 60),
    "a thousand daily since 1900": (_daily(1000, 1900), 60),
    "a thousand daily since 2015": (_daily(1000, 2015), 60),
    "weekly since 1900": (_daily(100, 1900, ";INTERVAL=7"), 100 * 8),
    "forty lists of dates": (_dates(40, 4900), 0),
    "one uid for all": (wrap(*(event(*TIMED) for _ in range(9000))), 1),
}


@each(("text", "least"), LARGE.values(), told=lambda text, least: f"{len(text)} letters")
def test_a_calendar_without_measure(tmp_path: Path, text: str, least: int) -> None:
    """Held to so much work, whatever there is; what is left out is told in one sentence."""
    (tmp_path / "family.ics").write_text(text, encoding="utf-8")
    found, calls = counted(lambda: read_busy(tmp_path / "family.ics", ZONE, FIRST, last=LAST))
    assert calls < 30_000_000  # under ten seconds; without limits ten times as many
    _, warnings = found
    assert len(warnings) <= 1
    assert not warnings or "entries were left out, from line" in warnings[0]
    assert warnings or least


def test_more_entries_than_are_read(tmp_path: Path) -> None:
    with mock.patch.object(busy, "_MOST_ENTRIES", 5):
        reading = busy._Reading("family.ics", ZONE, FIRST, last=LAST, entries_left=5)
        blocks, _ = busy.cut_blocks(wrap(*(event(*TIMED, uid=f"a{n}") for n in range(8))), "f")
        assert len(busy._parse_events(reading, blocks)) == 5 and len(reading.beyond) == 3


@each("seed", range(120))
def test_a_series_that_begins_later_is_the_same(tmp_path: Path, seed: int) -> None:
    """Against the same series laid out from its own beginning."""
    draw = random.Random(seed)
    begun = dt.datetime(2026, 9, 1) - dt.timedelta(days=draw.randint(0, 3000), hours=3)
    zone = draw.choice(("", ";TZID=America/New_York", ";TZID=Europe/Berlin"))
    days = draw.sample(("MO", "TU", "WE", "TH", "FR", "SA", "SU"), draw.randint(1, 3))
    rule = f"FREQ={draw.choice(('DAILY', 'WEEKLY'))};INTERVAL={draw.randint(1, 5)}"
    rule += f";BYDAY={','.join(days)}" if "WEEKLY" in rule and draw.random() < 0.6 else ""
    rule += draw.choice(("", "", ";UNTIL=20261020", ";UNTIL=20261101T120000Z", ";WKST=SU"))
    off = dt.datetime(2026, 10, draw.randint(1, 30), begun.hour)
    lines = [f"DTSTART{zone}:{begun:%Y%m%dT%H%M%S}", "DURATION:PT1H", f"RRULE:{rule}"]
    text = wrap(event(*lines, f"EXDATE{zone}:{off:%Y%m%dT%H%M%S}"))
    later = read(tmp_path / "later", text)
    with mock.patch.object(busy, "begin_later", lambda *given: None):
        assert read(tmp_path / "whole", text) == later
