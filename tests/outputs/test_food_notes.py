"""Labels, sheets and reminders say until which day, what it contains and how hot it is made again.

Days of the calendar are counted by hand; 165 °F is the USDA's, 38 °F the University of Alaska
Fairbanks'."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from outputs.calendar.calendar_entries import read
from outputs.paper.pages_read import read_page
from outputs.written_plans import (
    AS_OF,
    make_crop,
    make_library,
    make_plan,
    make_product,
    make_season,
    plan_data,
)

from harvestplan.inputs.crops import Library
from harvestplan.outputs.calendar.calendar_files import calendar_files
from harvestplan.outputs.food_notes import eat_or_freeze
from harvestplan.outputs.paper.label_grids import GRIDS
from harvestplan.outputs.paper.labels import labels_html, make_labels, tally_html
from harvestplan.outputs.paper.runsheet import runsheet_text
from harvestplan.outputs.terminal.summary import next_text
from harvestplan.plan.file_names import SESSIONS
from harvestplan.plan.models import Plan

FIRST, FOURTH = dt.date(2027, 10, 28), dt.date(2027, 11, 1)
"""The day of the plan's first session, and the last of four days in the refrigerator."""


def fridge(form: str, days: int, **more: Any) -> dict[str, Any]:
    keeps = {"value": f"{days} days", "source": "TEST", "seen": False}
    return make_product(form, storage="fridge", keeps=keeps, **more)


def simmered() -> list[dict[str, Any]]:
    minutes = {"value": "20 min", "source": "TEST", "seen": False}
    steps: list[dict[str, Any]] = [{"step": "simmer", "time": minutes}]
    return [*steps, *({"step": name} for name in ("chill", "portion", "seal", "store"))]


def library(name: str, product: dict[str, Any], hazard: str) -> Library:
    crop = make_crop(name, product).model_copy(update={"hazard": hazard})
    return make_library(crop)


STEW = library("beef stew", fridge("for the week", 4, steps=simmered(), texture="liquid"),
               "cooked low-acid")  # fmt: skip
PRAWN = library("prawn", fridge("peeled", 2, texture="meat"), "raw fish")


def plan_of(name: str) -> Plan:
    """The written plan, with its first session's beans as another product."""
    data = plan_data()
    for run in data["sessions"][0]["runs"]:
        run["product"], run["crop"] = name, name.partition(",")[0]
    return make_plan(data=data)


STEWED, PEELED = plan_of("beef stew, for the week"), plan_of("prawn, peeled")


def test_a_label_for_the_fridge_carries_the_day() -> None:
    label = make_labels(STEWED, make_season(), STEW)[0]
    assert label.date == FIRST
    assert label.dated == "Packed 28 Oct 2027"
    assert label.best == "Use by 1 Nov 2027"
    assert label.notes == ("Reheat to 165 °F (74 °C)",)
    frozen = make_labels(make_plan(), make_season(), make_library())[0]
    assert frozen.best == "Best before Aug 2028"
    assert frozen.notes == ()


def test_a_label_names_the_allergen_first_and_how_cold_sealed_fish_is_kept() -> None:
    label = make_labels(PEELED, make_season(), PRAWN)[0]
    assert label.best == "Use by 30 Oct 2027"
    assert label.notes == ("Contains shellfish", "Keep below 38 °F (3 °C)")
    assert label.line.endswith("; Contains shellfish; Keep below 38 °F (3 °C)")


@pytest.mark.parametrize("grid", GRIDS)
def test_the_sheet_of_labels_holds_it(grid: str) -> None:
    page = labels_html(make_labels(PEELED, make_season(), PRAWN), GRIDS[grid])
    first = read_page(page).all("div", "label")[0]
    assert "Use by 30 Oct 2027" in first.text
    assert "Contains shellfish" in first.text


def test_the_tally_says_the_first_day() -> None:
    page = tally_html(make_labels(STEWED, make_season(), STEW), STEWED, make_season())
    assert "first use by 1 Nov 2027" in read_page(page).text


def test_the_run_sheet_says_it_on_the_pouch_and_for_the_food() -> None:
    text = " ".join(runsheet_text(PEELED.sessions[0], make_season(), PRAWN).split())
    assert "eat or freeze by 30 October 2027, contains shellfish" in text
    assert "prawns, peeled: Contains shellfish." in text
    assert "prawns, peeled: Keep below 38 °F (3 °C)." in text
    stew = " ".join(runsheet_text(STEWED.sessions[0], make_season(), STEW).split())
    assert "beef stew, for the week: Reheat to 165 °F (74 °C)." in stew


def test_the_week_says_the_last_day() -> None:
    text = " ".join(next_text(STEWED, FIRST, make_season(), library=STEW).split())
    (pouches,) = (run.pouches for run in STEWED.sessions[0].runs)
    words = f"Eat or freeze by today: beef stew, for the week, {pouches} pouches of 28 Oct 2027"
    assert words in text
    assert text.index("Mon 1 November") < text.index(words) < text.index("Tue 2 November")
    after = next_text(STEWED, FOURTH + dt.timedelta(days=1), make_season(), library=STEW)
    assert "Eat or freeze" not in after


def test_the_calendar_has_the_last_day() -> None:
    assert list(eat_or_freeze(STEWED, STEW)) == [FOURTH]
    events = read(calendar_files(STEWED, make_season(), STEW)[SESSIONS])
    (event,) = (e for e in events.values() if "eat or freeze" in e.summary.value)
    assert event.dtstart.value == FOURTH
    assert event.dtend.value == FOURTH + dt.timedelta(days=1)
    assert "beef stew" in event.description.value


def test_the_entry_keeps_its_uid_from_plan_to_plan() -> None:
    def uid(plan: Plan) -> str:
        events = read(calendar_files(plan, make_season(), STEW)[SESSIONS])
        return next(u for u, e in events.items() if "eat or freeze" in e.summary.value)

    again = STEWED.model_copy(update={"as_of": AS_OF + dt.timedelta(days=1)})
    assert uid(STEWED) == uid(again)


def test_what_is_cancelled_reminds_of_nothing() -> None:
    sessions = [s.model_copy(update={"status": "cancelled"}) for s in STEWED.sessions]
    assert eat_or_freeze(STEWED.model_copy(update={"sessions": tuple(sessions)}), STEW) == {}


def test_undeclared_food_is_told_on_the_sheet() -> None:
    unsaid = make_crop("mystery", make_product("sticks")).model_copy(update={"hazard": None})
    plan = plan_of("mystery, sticks")
    text = " ".join(runsheet_text(plan.sessions[0], make_season(), make_library(unsaid)).split())
    assert "declares no hazard class" in text
    assert 'hazard = "other"' in text


def test_meat_for_the_dryer_is_measured_first() -> None:
    steps = [
        *simmered()[:1],
        {"step": "dry", "time": {"value": "8 h", "source": "T", "seen": True}},
    ]
    jerky = make_product("strips", steps=[*steps, {"step": "portion"}, {"step": "seal"}])
    crop = make_crop("beef", jerky)
    plan = plan_of("beef, strips")
    text = " ".join(runsheet_text(plan.sessions[0], make_season(), make_library(crop)).split())
    assert "meat and fish 160 °F (71 °C) inside, poultry 165 °F (74 °C)" in text
