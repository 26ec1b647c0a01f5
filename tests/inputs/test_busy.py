"""Busy calendars: what counts as busy (RFC 5545), faults that are survived, hostile rules."""

from __future__ import annotations

from pathlib import Path

import pytest
from counted import counted
from inputs.busy_calendar import BERLIN, TIMED, event, read, soon, wrap

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs import busy as busy_module


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        (TIMED, ["10-28 19:00-20:00"]),
        (("DTSTART:20261028T190000", "DTEND:20261028T200000"), ["10-28 19:00-20:00"]),
        (("DTSTART:20261028T230000Z", "DURATION:PT90M"), ["10-28 19:00-20:30"]),
        (("DTSTART;TZID=W. Europe Standard Time:20261028T190000", "DURATION:PT1H"),
         ["10-28 14:00-15:00"]),
        (("DTSTART;TZID=Home:20261028T190000", "DURATION:PT1H"), ["10-28 14:00-15:00"]),
        (("DTSTART:20261028T190000",), ["10-28 19:00-20:00"]),
        ((*TIMED, "STATUS:TENTATIVE"), ["10-28 19:00-20:00"]),
        ((*TIMED, "STATUS:CANCELLED"), []),
        ((*TIMED, "TRANSP:TRANSPARENT"), []),
        ((*TIMED, "X-MICROSOFT-CDO-BUSYSTATUS:FREE"), []),
        (("DTSTART;VALUE=DATE:20261028", "DTEND;VALUE=DATE:20261030"), []),
        (("DTSTART:20260128T190000", "DTEND:20260128T200000"), []),
        ((*TIMED, "RRULE:FREQ=WEEKLY;COUNT=3"),
         ["10-28 19:00-20:00", "11-04 19:00-20:00", "11-11 19:00-20:00"]),
        ((*TIMED, "RRULE:FREQ=WEEKLY;UNTIL=20261104"), ["10-28 19:00-20:00", "11-04 19:00-20:00"]),
        ((*TIMED, "RRULE:FREQ=WEEKLY;UNTIL=20261105T000000Z"),
         ["10-28 19:00-20:00", "11-04 19:00-20:00"]),
        ((*TIMED, "RRULE:FREQ=WEEKLY;COUNT=3", "EXDATE;TZID=America/New_York:20261104T190000"),
         ["10-28 19:00-20:00", "11-11 19:00-20:00"]),
        ((*TIMED, "RDATE;TZID=America/New_York:20261103T190000"),
         ["10-28 19:00-20:00", "11-03 19:00-20:00"]),
        ((*TIMED, "BEGIN:VALARM", "ACTION:DISPLAY", "TRIGGER:-PT15M", "END:VALARM"),
         ["10-28 19:00-20:00"]),
    ],
)  # fmt: skip
def test_what_counts_as_busy(tmp_path: Path, lines: tuple[str, ...], expected: list[str]) -> None:
    assert read(tmp_path, wrap(BERLIN, event(*lines))) == (expected, [])


def test_a_series_without_end_stops_at_the_seasons_end(tmp_path: Path) -> None:
    spans, warnings = read(tmp_path, wrap(event(*TIMED, "RRULE:FREQ=WEEKLY")))
    assert len(spans) == 5 and not warnings
    assert {span[6:] for span in spans} == {"19:00-20:00"}


def test_moved_and_cancelled_occurrences(tmp_path: Path) -> None:
    zone = ";TZID=America/New_York:2026"
    moved = event(
        f"RECURRENCE-ID{zone}1104T190000", f"DTSTART{zone}1105T170000", f"DTEND{zone}1105T180000"
    )
    dropped = event(
        f"RECURRENCE-ID{zone}1111T190000",
        f"DTSTART{zone}1111T190000",
        f"DTEND{zone}1111T200000",
        "STATUS:CANCELLED",
    )
    series = event(*TIMED, "RRULE:FREQ=WEEKLY;COUNT=4")
    spans, warnings = read(tmp_path, wrap(series, moved, dropped))
    assert spans == ["10-28 19:00-20:00", "11-05 17:00-18:00", "11-18 19:00-20:00"]
    assert not warnings


def test_folded_lines_and_windows_line_ends(tmp_path: Path) -> None:
    text = wrap(event("DTSTART;TZID=America/\n New_York:20261028T190000", "DURATION:PT1H"))
    assert read(tmp_path, text.replace("\n", "\r\n").encode())[0] == ["10-28 19:00-20:00"]


def test_an_unknown_zone_is_named_once_and_read_as_the_households(tmp_path: Path) -> None:
    lines = ("DTSTART;TZID=Mars/Base:20261028T190000", "DTEND;TZID=Mars/Base:20261028T200000")
    spans, warnings = read(tmp_path, wrap(event(*lines), event(*lines, uid="2")))
    assert spans == ["10-28 19:00-20:00"]
    assert len(warnings) == 1 and "Mars/Base" in warnings[0] and "America/New_York" in warnings[0]


def test_a_zone_of_one_file_is_not_known_in_the_next(tmp_path: Path) -> None:
    line = "DTSTART;TZID=Home:20261028T190000"
    assert not read(tmp_path / "a", wrap(BERLIN, event(line)))[1]
    assert "Home" in read(tmp_path / "b", wrap(event(line)))[1][0]


@pytest.mark.parametrize(
    ("bad", "words"),
    [
        (event(), "no readable start"),
        (event("DTSTART:yesterday"), "DTSTART"),
        (event("DTSTART:20261028T190000", "DTEND:20261028T180000"), "ends before it starts"),
        (event("DTSTART;VALUE=DATE:20261028", "DTEND:20261028T180000"), "a day and ends"),
        (event("DTSTART:18500101T190000", "RRULE:FREQ=DAILY"), "before 1900"),
        (event(*TIMED, "RRULE:FREQ=SOMETIMES"), "left out"),
        (event(*TIMED, "RRULE:FREQ=SECONDLY"), "more often than daily"),
        (event(*TIMED, "RRULE:FREQ=MINUTELY;BYMONTH=2;BYMONTHDAY=30"), "more often than daily"),
        (event(*TIMED, "RRULE:FREQ=DAILY;INTERVAL=0"), "interval"),
        (event(*TIMED, "RRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30"), "no month has"),
        (event(*TIMED, "RRULE:FREQ=DAILY;BYMONTH=4,6;BYMONTHDAY=31"), "no month has"),
        (event(*TIMED, "RRULE:FREQ=DAILY;BYHOUR=" + ",".join(map(str, range(24)))
               + ";BYMINUTE=" + ",".join(map(str, range(60)))), "combinations"),
        (event(*TIMED, "RRULE:FREQ=DAILY;BYMINUTE=" + ",".join(map(str, range(60)))),
         "too often in a day"),
        (event(*TIMED, "RRULE:FREQ=DAILY;BYMONTH=1;BYYEARDAY=200"), "days of the year"),
        (event(*TIMED, "EXDATE:" + ",".join(["20261028T190000"] * 6000)), "single dates"),
        ("BEGIN:VEVENT\nUID:9\nDTSTART:20261028T190000", "no END line"),
        (event(*["COMMENT:x"] * 30_000), "far too long"),
    ],
)  # fmt: skip
def test_a_bad_entry_is_named_and_spoils_no_other(tmp_path: Path, bad: str, words: str) -> None:
    spans, warnings = soon(tmp_path, wrap(bad, event(*TIMED, uid="good")))
    assert spans == ["10-28 19:00-20:00"]
    (warning,) = warnings
    assert warning.startswith("family.ics, line 4:") and words in warning


@pytest.mark.parametrize(
    "rule",
    [
        "FREQ=YEARLY;UNTIL=99991231T000000Z",
        "FREQ=DAILY;COUNT=1000000000",
        "FREQ=DAILY;INTERVAL=7;BYDAY=TH",
    ],
)
def test_rules_without_end_or_match_come_back_soon(tmp_path: Path, rule: str) -> None:
    spans, _ = soon(tmp_path, wrap(event(*TIMED, f"RRULE:{rule}")))
    assert "10-28 19:00-20:00" in spans and len(spans) < 70


def test_control_characters_do_not_reach_the_warning(tmp_path: Path) -> None:
    bad = "BEGIN:VEVENT\nUID:1\nSUMMARY:a\x1b[31mb\nEND:VEVENT"
    assert "\x1b" not in read(tmp_path, wrap(bad))[1][0]


def flaw_of(folder: Path, text: str | bytes) -> Flaw:
    with pytest.raises(FilesNeedMending) as caught:
        read(folder, text)
    (flaw,) = caught.value.flaws
    return flaw


def test_a_torn_file_names_the_line_where_it_breaks_off(tmp_path: Path) -> None:
    text = wrap(event(*TIMED)).replace("END:VCALENDAR\n", "")
    flaw = flaw_of(tmp_path, text)
    assert (flaw.file, flaw.line) == ("family.ics", text.count("\n"))
    assert "END:VCALENDAR" in flaw.message


def test_what_is_no_calendar(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert "not a calendar" in flaw_of(tmp_path, "<html></html>").message
    assert "not a calendar" in flaw_of(tmp_path, "").message
    assert "UTF-8" in flaw_of(tmp_path, wrap(event(*TIMED)).encode("utf-16")).hint
    monkeypatch.setattr(busy_module, "LARGEST_FILE", 100)
    assert "too large" in flaw_of(tmp_path, wrap(event(*TIMED))).message


def test_entries_far_from_the_season_cost_little(tmp_path: Path) -> None:
    old = [
        event(
            f"DTSTART:2015{n % 12 + 1:02}01T190000", "DURATION:PT1H", f"X-N:{n}", uid=str(n)
        ).replace("DURATION:PT1H", f"DTEND:2015{n % 12 + 1:02}01T200000")
        for n in range(5000)
    ]
    found, calls = counted(lambda: read(tmp_path, wrap(*old, event(*TIMED, uid="now"))))
    assert found == (["10-28 19:00-20:00"], [])
    assert calls < 300 * len(old)  # 76 were counted for each
