"""What a household reads of its visits: summary, week, sheet, book, calendar, labels."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from icalendar import Calendar, Event
from planning.berry_season import SPRING, berry_folder, visits
from planning.freezer_folder import plan_on

from harvestplan.household import Household
from harvestplan.outputs.calendar.calendar_files import calendar_files
from harvestplan.outputs.paper.book import book_bytes
from harvestplan.outputs.paper.labels import make_labels
from harvestplan.outputs.paper.runsheet import runsheet_text
from harvestplan.outputs.paper.runsheet_html import runsheet_html
from harvestplan.outputs.session_names import counted, sheet_names
from harvestplan.outputs.terminal.summary import next_text, summary_text
from harvestplan.plan.file_names import SESSIONS
from harvestplan.plan.models import Plan, Session
from harvestplan.planning.read import read_household

Season = tuple[Household, Plan]


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Season:
    folder = berry_folder(tmp_path_factory.mktemp("shown"))
    return read_household(folder, SPRING), plan_on(folder, SPRING)


def flat(text: str) -> str:
    return " ".join(text.split())


def minutes(visit: Session) -> int:
    return -(-round((visit.end - visit.start).total_seconds()) // 60)


def test_the_summary_counts_visits_beside_sessions(season: Season) -> None:
    house, plan = season
    text = flat(summary_text(plan, house.season, house.library))
    count, evenings = len(visits(plan)), sum(not s.is_visit for s in plan.sessions)
    assert f"{evenings} sessions and {count} visits, " in text
    visit = visits(plan)[0]
    told = f"5:30 pm, a visit of {minutes(visit)} min: pack strawberries, whole, "
    assert f"Fri {visit.start.day} June, {told}{visit.runs[0].pouches} portions" in text


def test_without_visits_nothing_is_said_of_them() -> None:
    assert counted([]) == "0 sessions"


def test_the_week_says_when_to_come_and_what_for(season: Season) -> None:
    house, plan = season
    visit = visits(plan)[0]
    text = flat(next_text(plan, visit.start.date(), house.season, library=house.library))
    assert f"Fri {visit.start.day} June, today 5:30 pm, a visit of" in text
    assert "pack strawberries, whole" in text


def test_a_visit_has_half_a_page(season: Season) -> None:
    """A page of the text sheets has some 66 lines: what lies where, pouches, machine, labels."""
    house, plan = season
    visit = visits(plan)[0]
    text = runsheet_text(visit, house.season, house.library)
    assert len(text.splitlines()) <= 42
    told = flat(text)
    for words in (
        "Visit to pack on Fri",
        "From the trays in chest: ",
        f"Pouches quart: {visit.runs[0].pouches}",
        "pump-down",
        "best before",
        "back into chest at once, frozen as it is",
        "for more than two days dries out",
        'harvestplan froze "strawberry, whole"',
    ):
        assert words in told, words
    for words in ("potful", "empty the baths", "ice to hand"):
        assert words not in told
    assert "Visit to pack, 5:30 pm" in runsheet_html(visit, house.season, house.library).decode()


def test_the_evening_before_says_that_the_trays_are_left(season: Season) -> None:
    house, plan = season
    evening = min(plan.sessions, key=lambda session: session.start)
    told = flat(runsheet_text(evening, house.season, house.library))
    assert "to freeze in chest: about 4 h" in told
    assert "What is on trays is packed another time, when it is hard" in told


def test_book_and_labels_know_visits(season: Season) -> None:
    house, plan = season
    book = book_bytes(plan, house.season, house.library, today=SPRING).decode()
    assert book.count("5:30 pm, a visit") >= len(visits(plan))
    days = {label.date for label in make_labels(plan, house.season, house.library)}
    assert days == {visit.start.date() for visit in visits(plan)}
    assert {s.kind for s in sheet_names(plan).values()} == {"session", "visit"}


def entry_of(plan: Plan, house: Household, uid: str) -> Event:
    """The session's entry, as icalendar reads it."""
    text = calendar_files(plan, house.season, house.library)[SESSIONS]
    return next(e for e in Calendar.from_ical(text).walk("VEVENT") if str(e["UID"]) == uid)


@pytest.mark.parametrize("hour", [7, 8, 9, 17])
def test_a_visit_stands_briefly_in_the_calendar_and_wakes_nobody(season: Season, hour: int) -> None:
    """Whenever it is, nothing rings before seven in the morning."""
    house, plan = season
    visit = visits(plan)[0]
    by = dt.timedelta(hours=hour - visit.start.hour)
    moved = visit.model_copy(update={"start": visit.start + by, "end": visit.end + by})
    sessions = tuple(moved if s is visit else s for s in plan.sessions)
    entry = entry_of(replace_sessions(plan, sessions), house, visit.uid)
    bags = sum(run.pouches for run in visit.runs)
    assert str(entry["SUMMARY"]) == f"Strawberries: pack {bags} bags"
    rings = [moved.start + alarm["TRIGGER"].dt for alarm in entry.subcomponents]
    assert rings and all(ring.time() >= dt.time(7) for ring in rings)
    words = str(entry["DESCRIPTION"])
    assert "From the last sitting: strawberries, whole" in words and "Portion" not in words
    assert len(words.splitlines()) <= 15


def replace_sessions(plan: Plan, sessions: tuple[Session, ...]) -> Plan:
    return plan.model_copy(update={"sessions": sessions})


def test_a_household_without_visits_is_told_why(tmp_path: Path) -> None:
    """The free hours are too far apart, once nobody looks in."""
    folder = berry_folder(tmp_path, ("# more", 'visits = "none"'))
    plan = plan_on(folder, SPRING)
    short = [w.message for w in plan.warnings if w.code == "short"]
    assert len(short) == 2 and all("visit" in message for message in short)
    assert read_household(folder, SPRING).visits == ()
