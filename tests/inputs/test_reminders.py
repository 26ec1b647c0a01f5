"""When a household wants to be reminded, in its own words."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
from pydantic import ValidationError

from harvestplan.inputs.season import Calendars

ZONE = ZoneInfo("America/Denver")


def rings(words: str, start: str) -> str:
    (reminder,) = Calendars(remind=(words,)).remind  # type: ignore[arg-type]
    moment = reminder.moment(dt.datetime.fromisoformat(f"2027-07-14 {start}").replace(tzinfo=ZONE))
    return f"{moment:%d %H:%M}"


@pytest.mark.parametrize(
    ("words", "start", "expected"),
    [
        ("1 h", "18:00", "14 17:00"),
        ("90 min before", "18:00", "14 16:30"),
        ("the evening before 19:00", "18:00", "13 19:00"),
        ("The evening before", "18:00", "13 19:00"),
        ("the day before at 12:30", "18:00", "13 12:30"),
        ("that morning 8:00", "18:00", "14 08:00"),
        # Before seven only where they say so.
        ("2 h", "08:00", "14 07:00"),
        ("2 h", "07:00", "13 19:00"),
        ("30 min", "06:30", "13 19:00"),
        ("that morning 5:30", "08:00", "14 05:30"),
        ("10 h", "08:00", "13 22:00"),
        ("20 h", "18:00", "13 22:00"),
    ],
)
def test_when_it_rings(words: str, start: str, expected: str) -> None:
    assert rings(words, start) == expected


@pytest.mark.parametrize(
    "words", ["", "7", "tomorrow", "that morning", "the evening before 25:00", "1 kg", "8 days",
              "the evening before 19:60", "-1 h", 5],
)  # fmt: skip
def test_what_is_none_is_told_with_the_way_to_write_it(words: object) -> None:
    with pytest.raises(ValidationError, match=r"the evening before 19:00|string"):
        Calendars(remind=(words,))  # type: ignore[arg-type]


def test_no_more_than_a_few() -> None:
    with pytest.raises(ValidationError, match="at most 5"):
        Calendars(remind=("1 h",) * 6)  # type: ignore[arg-type]


@pytest.mark.parametrize("address", ["ftp://x/", "shed", "https://a b/", "https://" + "x" * 400])
def test_an_address_of_sheets_that_is_none(address: str) -> None:
    with pytest.raises(ValidationError):
        Calendars(sheets=address)
