"""When visits suit: the words of the season file, and where they lie day by day.

That windows and busy entries come first, and by how much a visit makes room, is own judgement.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from season_tables import house, kitchen, write_season

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.load import load_season
from harvestplan.inputs.quantities import QuantityError
from harvestplan.inputs.visit_times import DAYS, visit_times, visits_beside
from harvestplan.inputs.windows import free_times
from harvestplan.kitchen.crop_library import load_library

LIBRARY = load_library()
ZONE = ZoneInfo("America/Chicago")
MONDAY = dt.date(2027, 7, 5)


def clock(hour: int, minute: int = 0, day: dt.date = MONDAY) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(hour, minute), ZONE).astimezone(dt.UTC)


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("17:30-18:00", [(DAYS, "17:30", "18:00")]),
        ("  7:00 – 7:45 ", [(DAYS, "07:00", "07:45")]),
        ("mon-fri 17:30-18:00, Sat sun 10:00-10:45", [
            (DAYS[:5], "17:30", "18:00"), (DAYS[5:], "10:00", "10:45")]),
        ("sat-mon 12:00-13:00", [(("mon", "sat", "sun"), "12:00", "13:00")]),
        ("none", []), ("None", []),
    ],
)  # fmt: skip
def test_what_people_write(words: str, found: list[tuple[tuple[str, ...], str, str]]) -> None:
    read = [(v.days, f"{v.start:%H:%M}", f"{v.end:%H:%M}") for v in visit_times(words)]
    assert read == found


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ("", "does not say"), ("early evening", "does not say"), ("17:30", "does not say"),
        ("25:00-26:00", "no clock"), ("18:00-17:30", "no visit"), ("17:30-17:40", "no visit"),
        ("10:00-15:00", "no visit"), ("man 17:30-18:00", "no day"),
        ("17:30-18:00,", "does not say"),
        ("mon " * 99 + "17:30-18:00", "too much"),
    ],
)  # fmt: skip
def test_what_nobody_can_follow_is_told(words: str, why: str) -> None:
    with pytest.raises(QuantityError) as raised:
        visit_times(words)
    assert why in raised.value.message
    assert raised.value.hint


@pytest.mark.parametrize("value", ["true", "18:00:00", '["17:30-18:00"]', '"whenever"'])
def test_a_flaw_in_the_season_file_names_its_line(tmp_path: Path, value: str) -> None:
    text = house("2027-07-05", "2027-07-11", season=f"visits = {value}") + kitchen()
    with pytest.raises(FilesNeedMending) as raised:
        load_season(write_season(tmp_path, text), LIBRARY)
    (flaw,) = raised.value.flaws
    assert (flaw.line, "visits" in flaw.message, "17:30-18:00" in flaw.hint) == (8, True, True)


def place(*taken: tuple[dt.datetime, dt.datetime], words: str = "17:30-18:00") -> str:
    """Where the Monday's visit lies, by the clock on the wall."""
    spans = list(visits_beside(visit_times(words), MONDAY, taken, ZONE))
    local = [(a.astimezone(ZONE), b.astimezone(ZONE)) for a, b in spans]
    return ", ".join(f"{a:%H:%M}-{b:%H:%M}" for a, b in local)


def test_a_visit_makes_room_for_what_comes_first() -> None:
    assert place() == "17:30-18:00"
    assert place((clock(18), clock(21))) == "17:30-18:00"
    assert place((clock(17, 45), clock(21))) == "17:15-17:45"
    assert place((clock(15), clock(17, 50))) == "17:50-18:20"
    assert place((clock(16), clock(17, 40)), (clock(17, 55), clock(20))) == "15:30-16:00"
    assert place((clock(14), clock(20))) == ""
    assert place((clock(6), clock(9)), words="7:00-7:30") == "09:00-09:30"
    assert place((clock(5), clock(7, 10)), words="6:00-6:30") == "07:10-07:40"
    assert place(words="7:00-7:30, 17:30-18:00") == "07:00-07:30, 17:30-18:00"
    assert place(words="tue 7:00-7:30") == ""


def test_every_day_at_home_has_a_visit_that_meets_no_window(tmp_path: Path) -> None:
    """A week, away on Thursday; on Monday and Saturday the window lies over the usual time."""
    text = house("2027-07-05", "2027-07-11", days="mon sat", hours=("17:00", "20:00"))
    text += kitchen() + "[[away]]\nstart = 2027-07-08\nend = 2027-07-08\n"
    free = free_times(load_season(write_season(tmp_path, text), LIBRARY).season, tmp_path)
    assert [f"{v.start:%a %H:%M}" for v in free.visits] == [
        "Mon 16:30", "Tue 17:30", "Wed 17:30", "Fri 17:30", "Sat 16:30", "Sun 17:30",
    ]  # fmt: skip
    assert {(v.hands, v.kind, v.extra) for v in free.visits} == {(1, "visit", False)}
    assert {w.kind for w in free.windows} == {"session"}


def test_a_visit_lasts_as_long_over_a_change_of_the_clocks() -> None:
    """14 March 2027: 2:00 to 3:00 does not come in Chicago."""
    spring = dt.date(2027, 3, 14)
    assert list(visits_beside(visit_times("2:15-2:45"), spring, [], ZONE)) == [
        (clock(3, 15, spring), clock(3, 45, spring))
    ]
    assert list(visits_beside(visit_times("1:50-3:00"), spring, [], ZONE)) == []
