"""VTIMEZONE against the zone data itself (RFC 5545, 3.6.5; RFC 8536, 3.3)."""

from __future__ import annotations

import datetime as dt
import io
from zoneinfo import ZoneInfo, available_timezones

import pytest
import vobject
from icalendar import Calendar

from harvestplan.outputs.calendar.vtimezone import read_footer, real_changes, vtimezone

FIRST = dt.datetime(2027, 2, 1, tzinfo=dt.UTC)
LAST = dt.datetime(2028, 12, 1, tzinfo=dt.UTC)
TOLD = (
    "America/New_York",
    "Europe/Berlin",
    "Europe/Dublin",
    "Australia/Hobart",
    "Australia/Lord_Howe",
    "Asia/Kolkata",
    "America/Vancouver",
)
EACH_CHANGE = ("Africa/Casablanca", "America/Santiago", "Asia/Jerusalem", "America/Nuuk")
"""No yearly rule tells these, or none without hours past midnight."""


def read_back(key: str) -> dt.tzinfo:
    """The zone as an independent parser understands the file."""
    zone = vtimezone(key, FIRST, LAST)
    calendar = Calendar()
    calendar.add_component(zone)
    text = calendar.to_ical(sorted=False).decode()
    parsed = vobject.readOne(io.StringIO(text))
    return parsed.vtimezone.gettzinfo()


@pytest.mark.parametrize("key", TOLD)
def test_every_hour_of_two_years_reads_as_in_the_zone_data(key: str) -> None:
    told, real = read_back(key), ZoneInfo(key)
    hour = dt.datetime(2027, 1, 1)
    while hour < dt.datetime(2029, 1, 1):
        aware = hour.replace(tzinfo=real)
        back = aware.astimezone(dt.UTC).astimezone(real)
        # Clock times that come twice or never are not written with a zone.
        usual = back.replace(tzinfo=None) == hour
        if usual and aware.utcoffset() == hour.replace(tzinfo=real, fold=1).utcoffset():
            assert told.utcoffset(hour) == aware.utcoffset(), hour
        hour += dt.timedelta(hours=1)


@pytest.mark.parametrize("key", TOLD)
def test_onsets_stand_in_the_offset_before_them(key: str) -> None:
    """RFC 5545, 3.6.5: DTSTART of an observance is local time in TZOFFSETFROM."""
    zone = vtimezone(key, FIRST, LAST)
    changes = real_changes(ZoneInfo(key), range(2026, 2027))
    # The anchors lie a year before the first event; zones without changes have none to compare.
    anchors = [
        (part["DTSTART"].dt - part["TZOFFSETFROM"].td).replace(tzinfo=dt.UTC)
        for part in zone.subcomponents
        if "RRULE" in part
    ]
    if anchors:
        assert sorted(anchors) == [change.instant for change in changes]
    else:
        assert real_changes(ZoneInfo(key), range(2027, 2029)) == []


@pytest.mark.parametrize("key", TOLD)
def test_one_standard_and_at_most_one_daylight(key: str) -> None:
    zone = vtimezone(key, FIRST, LAST)
    names = [part.name for part in zone.subcomponents]
    assert names in (["STANDARD"], ["STANDARD", "DAYLIGHT"])
    assert "COMMENT" not in zone
    assert zone["TZID"] == key


@pytest.mark.parametrize("key", EACH_CHANGE)
def test_where_no_yearly_rule_holds_each_change_is_told(key: str) -> None:
    """Morocco moves its clocks around Ramadan; Chile and Israel change at odd hours."""
    zone = vtimezone(key, FIRST, LAST)
    onsets = [
        (part["DTSTART"].dt - part["TZOFFSETFROM"].td).replace(tzinfo=dt.UTC)
        for part in zone.subcomponents
    ]
    changes = [change.instant for change in real_changes(ZoneInfo(key), range(2026, 2029))]
    assert onsets == [dt.datetime(2026, 1, 1, tzinfo=dt.UTC), *changes] and len(changes) > 3
    assert all("RDATE" not in part and "RRULE" not in part for part in zone.subcomponents)


def wrong_hours(key: str) -> list[dt.datetime]:
    """Hours of the season's year that a parser of another make reads otherwise than the zone data
    have them; clock times that come twice or never are not written with a zone."""
    calendar = Calendar()
    first, last = (dt.datetime(2027, month, 1, tzinfo=dt.UTC) for month in (3, 12))
    zone = vtimezone(key, first, last)
    # Parsers remember zones by name, so each has a name of its own.
    zone["TZID"] = f"Told/{key}"
    calendar.add_component(zone)
    text = calendar.to_ical(sorted=False).decode()
    told, real = vobject.readOne(io.StringIO(text)).vtimezone.gettzinfo(), ZoneInfo(key)
    wrong = []
    hour, end = dt.datetime(2027, 1, 1), dt.datetime(2028, 1, 1)
    while hour < end:
        offset = hour.replace(tzinfo=real).utcoffset()
        if offset == hour.replace(tzinfo=real, fold=1).utcoffset() and (
            told.utcoffset(hour) != offset
        ):
            wrong.append(hour)
        hour += dt.timedelta(hours=1)
    return wrong


@pytest.mark.slow
def test_every_zone_reads_hour_by_hour_as_in_the_zone_data() -> None:
    found = {key: wrong_hours(key) for key in sorted(available_timezones() - {"localtime"})}
    assert len(found) > 400
    assert not {key: hours[:3] for key, hours in found.items() if hours}


@pytest.mark.parametrize(
    ("footer", "number"),
    [
        ("MST7MDT,M3.2.0,M11.1.0", 2),
        ("<+0530>-5:30", 1),
        ("<-02>2<-01>,M3.5.0/-1,M10.5.0/0", 0),
        ("EET-2EEST,M4.5.5/0,M10.5.4/24", 0),
        ("AAA3BBB,J60,J300", 0),
        ("", 0),
    ],
)
def test_footers(footer: str, number: int) -> None:
    assert len(read_footer(footer)) == number


def test_a_footer_that_no_longer_holds_is_not_believed() -> None:
    """Russia moved its clocks in 2010 and 2011 only; its rule of today has no changes."""
    early = dt.datetime(2010, 1, 10, tzinfo=dt.UTC)
    assert len(vtimezone("Europe/Moscow", early, early).subcomponents) == 5
    assert len(vtimezone("Europe/Moscow", FIRST, LAST).subcomponents) == 1


def test_a_key_cannot_leave_the_zone_folder() -> None:
    with pytest.raises((ValueError, KeyError)):
        vtimezone("../../etc/passwd", FIRST, LAST)
