"""Calendars made to hang, fill or fool their reader: each ends soon, and says what it did."""

from __future__ import annotations

from pathlib import Path

import pytest
from inputs.busy_calendar import BERLIN, TIMED, event, soon, wrap

from harvestplan.errors import FilesNeedMending

GOOD = "10-28 19:00-20:00"

BAD_RULES = [
    ("FREQ=SECONDLY", "more often than daily"),
    ("FREQ=MINUTELY;BYMONTH=2;BYMONTHDAY=30", "more often than daily"),
    ("FREQ=HOURLY;INTERVAL=0", "more often than daily"),
    ("FREQ=DAILY;INTERVAL=0", "interval below 1"),
    ("FREQ=DAILY;INTERVAL=-1", "left out"),
    ("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "no month has"),
    ("FREQ=DAILY;BYSECOND=" + ",".join(map(str, range(60))), "too often in a day"),
    ("FREQ=YEARLY;BYDAY=" + ",".join(f"{n}MO" for n in range(1, 54))
     + ";BYYEARDAY=" + ",".join(map(str, range(1, 300))), "combinations"),
    ("FREQ=WEEKLY;BYDAY=XX", "left out"),
    ("COUNT=5", "left out"),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "words"), BAD_RULES)
def test_rules_that_are_refused(tmp_path: Path, rule: str, words: str) -> None:
    bad = event(*TIMED, f"RRULE:{rule}", uid="bad").replace("Choir", "Trap")
    spans, (warning,) = soon(tmp_path, wrap(bad, event(*TIMED, uid="good")))
    assert spans == [GOOD]
    assert warning.startswith("family.ics, line 4:") and words in warning


def test_every_minute_since_1900(tmp_path: Path) -> None:
    bad = event("DTSTART:19000101T000000", "DURATION:PT1M", "RRULE:FREQ=MINUTELY", uid="bad")
    spans, (warning,) = soon(tmp_path, wrap(bad, event(*TIMED, uid="good")))
    assert spans == [GOOD] and "more often than daily" in warning


@pytest.mark.parametrize("rule", ["FREQ=DAILY;COUNT=1000000000", "FREQ=DAILY;UNTIL=99991231"])
def test_rules_that_go_on_for_ever_end_with_the_season(tmp_path: Path, rule: str) -> None:
    spans, warnings = soon(tmp_path, wrap(event(*TIMED, f"RRULE:{rule}")))
    assert GOOD in spans and 30 <= len(spans) <= 36 and not warnings


ENDLESS = [
    (event(*TIMED, "EXDATE:" + ",".join(["20261028T190000"] * 60_000)), "far too long|single"),
    (event(*TIMED, *["EXDATE:20261028T190000"] * 15_000), "single dates"),
    (event(*TIMED, "COMMENT:" + "x" * 19_000_000), "far too long"),
    (event(*TIMED, "COMMENT:x", *[" y"] * 1_000_000), "far too long"),
    (event(*TIMED, *["COMMENT:x"] * 400_000), "far too long"),
    (event(*TIMED, *["BEGIN:X-A"] * 30_000, *["END:X-A"] * 30_000), "far too long|without end"),
    (event(*TIMED, *["BEGIN:X-A"] * 9_000, *["END:X-A"] * 9_000), "without end"),
]


@pytest.mark.parametrize(("bad", "words"), ENDLESS, ids=range(len(ENDLESS)))
def test_entries_without_end(tmp_path: Path, bad: str, words: str) -> None:
    spans, (warning,) = soon(tmp_path, wrap(bad, event(*TIMED, uid="good")))
    assert spans == [GOOD]
    assert any(each in warning for each in words.split("|"))


@pytest.mark.parametrize("offset", ["+9900", "+0000Z", "-9999", "abcd"])
def test_zones_with_offsets_that_none_has(tmp_path: Path, offset: str) -> None:
    zone = BERLIN.replace("TZOFFSETTO:+0100", f"TZOFFSETTO:{offset}")
    away = event("DTSTART;TZID=Home:20261028T190000", "DURATION:PT1H", uid="away")
    spans, warnings = soon(tmp_path, wrap(zone, away, event(*TIMED, uid="good")))
    assert GOOD in spans
    assert any("time zone" in warning for warning in warnings)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("DTSTART:00000101T000000", "left out"),
        ("DTSTART:00010101T000000\nRRULE:FREQ=DAILY", "before 1900"),
        ("DTSTART:20261328T190000", "left out"),
        ("DTSTART;TZID=../../etc/passwd:20261028T190000", "not known"),
        ("DTSTART;TZID=/etc/passwd:20261028T190000", "not known"),
        ("DTSTART;TZID=America:20261028T190000", "cannot be read"),
        ("DTSTART;TZID=:20261028T190000", ""),
    ],
)
def test_times_that_none_has(tmp_path: Path, line: str, words: str) -> None:
    spans, warnings = soon(tmp_path, wrap(event(line, uid="bad"), event(*TIMED, uid="good")))
    assert GOOD in spans
    assert not words or any(words in warning for warning in warnings)


def test_a_nul_is_named(tmp_path: Path) -> None:
    with pytest.raises(FilesNeedMending, match=r"family\.ics"):
        soon(tmp_path, wrap(event("DTSTART:2026\x001028T190000")))


def test_an_alarm_that_never_stops(tmp_path: Path) -> None:
    """No alarm of a busy calendar is ever laid out."""
    alarm = (
        "BEGIN:VALARM",
        "ACTION:AUDIO",
        "TRIGGER:-PT1S",
        "DURATION:PT1S",
        "REPEAT:2000000000",
        "END:VALARM",
    )
    assert soon(tmp_path, wrap(event(*TIMED, *alarm))) == ([GOOD], [])


@pytest.mark.parametrize("end", ["\r", "\r\n\r\n\r\n", "\n" * 9])
def test_strange_line_ends(tmp_path: Path, end: str) -> None:
    text = wrap(*(event(*TIMED, uid=str(number)) for number in range(500)))
    try:
        spans, _ = soon(tmp_path, text.replace("\n", end))
    except FilesNeedMending as error:
        assert "family.ics" in str(error)  # lone CR is no line end (RFC 5545, 3.1)
    else:
        assert spans == [GOOD]


def test_a_heap_of_bare_line_ends(tmp_path: Path) -> None:
    text = wrap(event(*TIMED)).replace("BEGIN:VEVENT", "\r" * 200_000 + "\nBEGIN:VEVENT")
    spans, _ = soon(tmp_path, text)
    assert spans == [GOOD]
