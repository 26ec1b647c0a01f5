"""What the demo household meets on its phone, over a whole season: counted, not looked at."""

from __future__ import annotations

import datetime as dt
import gzip
import re
from collections import Counter
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar
from outputs.calendar.calendar_entries import read
from outputs.written_plans import make_library, make_plan, make_season, plan_data
from places import ROOT, TESTS

from harvestplan.inputs.season import Season
from harvestplan.outputs.calendar.calendar_files import calendar_files
from harvestplan.outputs.calendar.folder import write_folder
from harvestplan.outputs.calendar.kinds import KINDS, USUAL_KINDS, UnknownKind, read_kinds
from harvestplan.outputs.write_all import write_outputs
from harvestplan.plan.models import Plan
from harvestplan.planning.read import read_household
from harvestplan.words import crop_many

SAVED = TESTS / "browser" / "willow_bend_plan.json.gz"
FEW_A_WEEK = 3
POUND, OUNCE = 453.59237, 28.349523125
UNITS = {"lb": POUND, "oz": OUNCE}
AMOUNT = re.compile(r"([\d.,]+) (lb|oz)\b")


@pytest.fixture(scope="module")
def plan() -> Plan:
    return Plan.model_validate_json(gzip.decompress(SAVED.read_bytes()))


@pytest.fixture(scope="module")
def files(plan: Plan) -> dict[str, bytes]:
    household = read_household(ROOT / "demo" / "willow-bend", plan.as_of)
    return calendar_files(plan, household.season, household.library)


def events(data: bytes) -> list[Any]:
    return list(Calendar.from_ical(data).walk("VEVENT"))


def day_of(event: Any) -> dt.date:
    start = event["DTSTART"].dt
    return start.date() if isinstance(start, dt.datetime) else start


def a_week(found: list[Any]) -> Counter[dt.date]:
    days = [day_of(event) for event in found]
    return Counter(day - dt.timedelta(days=day.weekday()) for day in days)


def usual(files: dict[str, bytes]) -> list[Any]:
    return [e for name in USUAL_KINDS for e in events(files[KINDS[name].file])]


def test_few_entries_a_week(files: dict[str, bytes]) -> None:
    """Three at most outside August, but in weeks of two sessions with visits to pack after them."""
    weeks = a_week(usual(files))
    assert sum(weeks.values()) < 50
    visits = a_week([e for e in events(files["sessions.ics"]) if ": pack" in e["SUMMARY"]])
    too_full = {week: n for week, n in weeks.items() if n > FEW_A_WEEK and week.month != 8}
    assert too_full.keys() <= visits.keys() and max(weeks.values()) <= FEW_A_WEEK + 2


@pytest.mark.parametrize(
    ("kind", "order_by", "on"),
    [("staple", 5, 4), ("staple", 1, 4), ("staple", -2, -2), ("pouch", 1, 1), ("staple", 13, 13)],
)
def test_what_lasts_is_bought_with_something_else(kind: str, order_by: int, on: int) -> None:
    """Of an errand on the 4th, before or after it; what may have to be sent for is not put off."""
    first = dt.date(2027, 6, 1)
    line = {"need": 1, "in_stock": 0, "buy": 1, "packs": 0, "pack": None, "price": None}
    lines = [
        line | {"kind": "food", "item": "shrimp", "order_by": first + dt.timedelta(days=4)},
        line | {"kind": kind, "item": "salt", "order_by": first + dt.timedelta(days=order_by)},
    ]
    plan = make_plan(data=plan_data() | {"shopping": lines})
    found = events(calendar_files(plan, make_season(), make_library())["shopping.ics"])
    days = {day_of(event) for event in found if "salt" in str(event["DESCRIPTION"]).lower()}
    assert days == {first + dt.timedelta(days=on)}
    assert len(found) == (1 if on == 4 else 2)


def test_the_food_stands_in_the_first_twenty_letters(plan: Plan, files: dict[str, bytes]) -> None:
    crops = {crop_many(lot.crop) for lot in plan.lots}
    crops |= {crop_many(line.item) for line in plan.shopping} | {"salt"}
    words = {crop.split(",")[0].split(" ")[0].lower() for crop in crops} | {"ice", "pouches"}
    for event in [*usual(files), *events(files["garden.ics"])]:
        title = str(event["SUMMARY"])
        assert len(title) < 80
        assert any(word in title[:20].lower() for word in words), title


def test_descriptions_fit_a_screen(files: dict[str, bytes]) -> None:
    for event in [*usual(files), *events(files["garden.ics"])]:
        text = str(event.get("DESCRIPTION", ""))
        assert len(text.splitlines()) <= 15 and len(text.encode()) < 1500
        if event["DTSTART"].dt.__class__ is dt.datetime:
            assert "Every step: out/runsheets/" in text and "Take care" in text


def rings(event: Any, zone: ZoneInfo) -> list[dt.datetime]:
    start = event["DTSTART"].dt
    if not isinstance(start, dt.datetime):
        start = dt.datetime.combine(start, dt.time(), zone)
    instant = start.astimezone(dt.UTC)
    return [(instant + alarm["TRIGGER"].dt).astimezone(zone) for alarm in event.walk("VALARM")]


def test_nobody_is_woken(plan: Plan, files: dict[str, bytes]) -> None:
    """Nothing rings before seven or after nine in the evening; every session and purchase does."""
    zone = ZoneInfo(plan.season.timezone)
    for event in usual(files):
        told = rings(event, zone)
        assert told and all(dt.time(7) <= ring.time() <= dt.time(21) for ring in told)
        assert all(alarm["TRIGGER"].dt < dt.timedelta() for alarm in event.walk("VALARM"))
    assert not any(event.walk("VALARM") for event in events(files["garden.ics"]))


def test_the_morning_of_a_pick_that_feeds_a_session(plan: Plan, files: dict[str, bytes]) -> None:
    zone = ZoneInfo(plan.season.timezone)
    found = {str(event["UID"]): event for event in events(files["sessions.ics"])}
    starts = {session.uid: session.start for session in plan.sessions}
    told = 0
    for pick in plan.picks:
        morning = dt.datetime.combine(pick.date, dt.time(7), zone)
        if pick.session in found and pick.grams >= OUNCE and morning < starts[pick.session]:
            told += 1
            assert morning in rings(found[pick.session], zone), pick
    assert told > 20


def test_amounts_worth_telling(files: dict[str, bytes]) -> None:
    for event in events(files["garden.ics"]):
        found = AMOUNT.findall(str(event["SUMMARY"]))
        assert found
        least = POUND if "give away" in str(event["SUMMARY"]) else OUNCE
        for number, unit in found:
            # Two figures are told, so a pound may be rounded from 0.95 of one.
            assert float(number.replace(",", "")) * UNITS[unit] >= 0.95 * least, event["SUMMARY"]
    gifts = [e for e in events(files["garden.ics"]) if "give away" in str(e["SUMMARY"])]
    assert gifts and max(a_week(gifts).values()) == 1
    weekly = [e for e in events(files["garden.ics"]) if "this week" in str(e["SUMMARY"])]
    assert weekly and max(a_week(weekly).values()) == 1


def test_kinds_are_apart(files: dict[str, bytes]) -> None:
    """RFC 5545, 3.8.1.2; RFC 7986, 5.9: a category and a colour of CSS for each."""
    seen = set()
    for kind in KINDS.values():
        (calendar,) = Calendar.from_ical(files[kind.file], multiple=True)
        assert str(calendar["COLOR"]) == kind.color
        for event in calendar.walk("VEVENT"):
            assert event["CATEGORIES"].to_ical().decode() == kind.category
            assert str(event["COLOR"]) == kind.color
        seen.add((kind.category, kind.color, str(calendar["NAME"])))
    assert len(seen) == len(KINDS) == 3


def test_what_is_asked_for(tmp_path: Path) -> None:
    assert read_kinds(["garden, sessions", "garden"]) == ("sessions", "garden")
    assert read_kinds([]) == ()
    with pytest.raises(UnknownKind, match="sessions, garden, shopping"):
        read_kinds(["sessions,meals"])
    write_outputs(make_plan(), make_season(), make_library(), out=tmp_path / "out")
    written = write_folder(tmp_path / "out", tmp_path / "web", ("garden",))
    assert [path.name for path in written] == ["garden.ics"]


def told(**calendars: Any) -> tuple[Season, dict[str, Any]]:
    season = make_season(calendars=calendars)
    return season, read(calendar_files(make_plan(), season, make_library())["sessions.ics"])


def test_what_the_household_writes() -> None:
    """Its reminders, its place, the address of its sheets."""
    uid = "00000002-6a52-5c64-9f3c-5a1f0c3c9d11"
    _, found = told(
        remind=["the evening before 19:00", "1 h"], place="Hall", sheets="https://shed.example/s/"
    )
    triggers = [alarm.trigger.value for alarm in found[uid].valarm_list]
    assert dt.timedelta(hours=-1) in triggers and dt.timedelta(hours=-23) in triggers
    assert found[uid].location.value == "Hall"
    assert "https://shed.example/s/2027-11-09.html" in found[uid].description.value
    _, found = told(remind=[])
    assert not hasattr(found[uid], "valarm_list")
    files = calendar_files(make_plan(), make_season(calendars={"remind": []}), make_library())
    assert b"VALARM" not in b"".join(files.values())


def test_a_reminder_over_a_change_of_the_clocks() -> None:
    """Clocks go back on 7 November in Denver: the evening before is 24 real hours and one off."""
    data = plan_data()
    for name, time in (("start", "18:00"), ("end", "20:30")):
        data["sessions"][1][name] = f"2027-11-07T{time}:00-07:00"
    season = make_season(calendars={"remind": ["the evening before 18:00"]})
    files = calendar_files(make_plan(data=data), season, make_library())
    event = read(files["sessions.ics"])["00000002-6a52-5c64-9f3c-5a1f0c3c9d11"]
    assert event.valarm.trigger.value == dt.timedelta(hours=-25)
