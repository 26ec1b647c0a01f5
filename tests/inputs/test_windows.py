"""Free windows: pattern and extra, days away, overlaps, changes of the clocks."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from inputs.season_folder import write
from inputs.shown_windows import shown

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.season import Season
from harvestplan.inputs.windows import FreeWindow, free_times

HERE = Path(__file__).parent


def free_windows(season: Season, folder: Path) -> tuple[FreeWindow, ...]:
    return free_times(season, folder).windows


def make_season(
    first: str, last: str, zone: str = "America/New_York", hands: int = 1, **tables: Any
) -> Season:
    head = {"name": "Test", "timezone": zone, "hands": hands}
    span = {"start": dt.date.fromisoformat(first), "end": dt.date.fromisoformat(last)}
    return Season.model_validate({"household": head, "season": span, **tables})


def window(days: str, start: str, end: str, hands: int | None = None) -> dict[str, Any]:
    return {"days": days.split(), "start": start, "end": end, "hands": hands}


def extra(date: str, start: str, end: str, hands: int | None = None) -> dict[str, Any]:
    return {"date": date, "start": start, "end": end, "hands": hands}


def test_pattern_extra_and_days_away() -> None:
    season = make_season(
        "2027-07-05",
        "2027-07-15",
        hands=2,
        window=[window("mon thu", "18:00", "21:00"), window("sat", "09:00", "12:00", hands=1)],
        extra_window=[extra("2027-07-11", "14:00", "16:00", hands=3)],
        away=[{"start": dt.date(2027, 7, 8), "end": dt.date(2027, 7, 9)}],
    )
    assert shown(free_windows(season, HERE)) == [
        "07-05 18:00-21:00 2",
        "07-10 09:00-12:00 1",
        "07-11 14:00-16:00 3 extra",
        "07-12 18:00-21:00 2",
        "07-15 18:00-21:00 2",
    ]


def test_no_windows() -> None:
    assert free_windows(make_season("2027-07-05", "2027-07-15"), HERE) == ()


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        (window("mon", "20:00", "22:00"), ["07-05 18:00-22:00 1"]),
        (window("mon", "18:00", "21:00", hands=2), ["07-05 18:00-21:00 2"]),
        (window("mon", "19:00", "20:00", hands=2), ["07-05 18:00-21:00 1"]),
        (window("mon", "17:00", "22:00", hands=2), ["07-05 17:00-22:00 2"]),
        (window("mon", "20:00", "22:00", hands=2), ["07-05 18:00-22:00 1"]),
        (window("mon", "21:00", "22:00"), ["07-05 18:00-21:00 1", "07-05 21:00-22:00 1"]),
    ],
)
def test_overlapping_windows_become_one(more: dict[str, Any], expected: list[str]) -> None:
    season = make_season("2027-07-05", "2027-07-05", window=[window("mon", "18:00", "21:00"), more])
    assert shown(free_windows(season, HERE)) == expected


def test_a_usual_window_stays_usual_when_an_extra_one_lengthens_it() -> None:
    season = make_season(
        "2027-07-05",
        "2027-07-05",
        window=[window("mon", "18:00", "21:00")],
        extra_window=[extra("2027-07-05", "20:00", "22:00")],
    )
    assert shown(free_windows(season, HERE)) == ["07-05 18:00-22:00 1"]


def test_clocks_going_back_and_forward() -> None:
    """New York, 2026-2027: back on 1 November at 2:00, forward on 14 March at 2:00."""
    season = make_season(
        "2026-10-25",
        "2027-03-14",
        extra_window=[
            extra("2026-10-31", "18:00", "21:00"),
            extra("2026-11-01", "00:30", "03:00"),
            extra("2027-03-14", "01:00", "02:30"),
            extra("2027-03-14", "18:00", "21:00"),
        ],
    )
    before, night, gap, after = free_windows(season, HERE)
    assert before.start.isoformat() == "2026-10-31T18:00:00-04:00"
    assert night.start.isoformat() == "2026-11-01T00:30:00-04:00"
    assert night.end.isoformat() == "2026-11-01T03:00:00-05:00"
    assert gap.end.isoformat() == "2027-03-14T03:30:00-04:00"
    assert gap.end.timestamp() - gap.start.timestamp() == 90 * 60
    assert after.start.isoformat() == "2027-03-14T18:00:00-04:00"


def calendar(*spans: tuple[str, str]) -> str:
    events = "".join(
        f"BEGIN:VEVENT\nUID:{n}\nDTSTART:{start}\nDTEND:{end}\nEND:VEVENT\n"
        for n, (start, end) in enumerate(spans)
    )
    return f"BEGIN:VCALENDAR\nVERSION:2.0\n{events}END:VCALENDAR\n"


@pytest.mark.parametrize(
    ("start", "end", "travel", "expected"),
    [
        ("20270705T190000", "20270705T193000", 0, ["18:00-19:00", "19:30-21:00"]),
        ("20270705T184500", "20270705T193000", 0, ["18:00-18:45", "19:30-21:00"]),
        ("20270705T184400", "20270705T193000", 0, ["19:30-21:00"]),
        ("20270705T190000", "20270705T193000", 900, ["18:00-18:45", "19:45-21:00"]),
        ("20270705T190000", "20270705T193000", 1200, ["19:50-21:00"]),
        ("20270705T170000", "20270705T180000", 0, ["18:00-21:00"]),
        ("20270705T170000", "20270705T180000", 600, ["18:10-21:00"]),
        ("20270705T210000", "20270705T220000", 600, ["18:00-20:50"]),
        ("20270704T120000", "20270706T120000", 0, []),
    ],
)
def test_busy_entries_cut_windows(
    tmp_path: Path, start: str, end: str, travel: int, expected: list[str]
) -> None:
    write(tmp_path, family_ics=calendar((start, end)))
    season = make_season(
        "2027-07-05",
        "2027-07-05",
        window=[window("mon", "18:00", "21:00")],
        calendars={"busy": ["family.ics"], "travel": f"{travel} s"},
    )
    found = free_times(season, tmp_path)
    windows, warnings = found.windows, found.warnings
    assert [f"{w.start:%H:%M}-{w.end:%H:%M}" for w in windows] == expected
    assert warnings == ()


def test_a_short_window_that_nothing_cuts_stays() -> None:
    season = make_season("2027-07-05", "2027-07-05", window=[window("mon", "18:00", "18:30")])
    assert len(free_windows(season, HERE)) == 1


def test_a_calendar_outside_the_folder_is_refused(tmp_path: Path) -> None:
    write(tmp_path, family_ics=calendar())
    season = make_season("2027-07-05", "2027-07-05", calendars={"busy": ["../family.ics"]})
    with pytest.raises(FilesNeedMending, match="outside"):
        free_windows(season, write(tmp_path / "season"))


MINUTE = st.integers(0, 1439)
SPANS = st.lists(st.tuples(MINUTE, MINUTE).map(sorted).filter(lambda s: s[0] < s[1]), max_size=4)


@settings(max_examples=50)
@given(windows=SPANS, busy=SPANS)
def test_every_free_minute_is_in_a_window_and_none_is_busy(
    tmp_path_factory: pytest.TempPathFactory, windows: list[list[int]], busy: list[list[int]]
) -> None:
    """Against a count of single minutes; pieces under 45 minutes may be missing."""
    folder = tmp_path_factory.mktemp("minutes")
    stamps = [
        (f"20270705T{a // 60:02}{a % 60:02}00", f"20270705T{b // 60:02}{b % 60:02}00")
        for a, b in busy
    ]
    write(folder, family_ics=calendar(*stamps))
    clock = [(f"{a // 60:02}:{a % 60:02}", f"{b // 60:02}:{b % 60:02}") for a, b in windows]
    season = make_season(
        "2027-07-05",
        "2027-07-05",
        window=[window("mon", a, b) for a, b in clock],
        calendars={"busy": ["family.ics"]},
    )
    midnight = dt.datetime.combine(season.season.start, dt.time())
    free = [
        [(t.replace(tzinfo=None) - midnight).seconds // 60 for t in (w.start, w.end)]
        for w in free_windows(season, folder)
    ]
    wanted = {m for a, b in windows for m in range(a, b)} - {
        m for a, b in busy for m in range(a, b)
    }
    given_out = [m for a, b in free for m in range(a, b)]
    assert len(given_out) == len(set(given_out))
    assert set(given_out) <= wanted
    for minute in wanted - set(given_out):
        run = 1
        while minute + run in wanted:
            run += 1
        while minute - 1 in wanted:
            minute, run = minute - 1, run + 1
        assert run < 45 or any(a in range(minute, minute + run + 1) for a, _ in free)
