"""The judge on food on trays and on visits: a sound plan of the program, spoilt."""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from planning.berry_season import SPRING, berry_folder
from planning.freezer_folder import plan_on

from harvestplan.check import check_plan
from harvestplan.household import Household
from harvestplan.plan.models import Plan
from harvestplan.planning.read import read_household

Data = dict[str, Any]
HOUR = dt.timedelta(hours=1)


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> tuple[Household, Data]:
    folder = berry_folder(tmp_path_factory.mktemp("judged"))
    return read_household(folder, SPRING), plan_on(folder, SPRING).model_dump()


def visit_of(data: Data) -> Data:
    return next(s for s in data["sessions"] if s["kind"] == "visit")


def evening_of(data: Data) -> Data:
    begun = visit_of(data)["runs"][0]["second_sitting_of"]
    return next(s for s in data["sessions"] if begun in {run["id"] for run in s["runs"]})


def move(session: Data, by: dt.timedelta) -> None:
    for part in (session, *session["tasks"]):
        part["start"], part["end"] = part["start"] + by, part["end"] + by
    session["window_start"], session["window_end"] = (
        session["window_start"] + by, session["window_end"] + by,
    )  # fmt: skip


def step(session: Data, name: str) -> Data:
    return next(task for task in session["tasks"] if task["step"] == name)


SPOILT: dict[str, tuple[str, str, Callable[[Data], Any]]] = {
    "packed before it is frozen": (
        "V18", "take 4.5 h to freeze", lambda d: move(visit_of(d), -20 * HOUR)),
    "packed when it has dried out": (
        "V18", "dried out", lambda d: move(visit_of(d), 30 * HOUR)),
    "never packed": (
        "V18", "never packed",
        lambda d: d.update(sessions=[s for s in d["sessions"] if s is not visit_of(d)])),
    "a pot at a visit": (
        "V18", "no work for a visit", lambda d: step(visit_of(d), "portion").update(step="simmer")),
    "a visit that begins food": (
        "V18", "is begun at a visit",
        lambda d: visit_of(d)["runs"][0].update(second_sitting_of=None)),
    "an evening called a visit": (
        "V18", "no work for a visit", lambda d: evening_of(d).update(kind="visit")),
    "freezing talked short": (
        "V18", "minutes",
        lambda d: step(evening_of(d), "tray freeze")["settings"].update(minutes=9)),
    "outside the times for visits": (
        "V1", "no time for a visit", lambda d: move(visit_of(d), HOUR)),
    "a visit called an evening": (
        "V1", "no free window", lambda d: visit_of(d).update(kind="session")),
    "two people at a visit": ("V1", "counts on 2 people", lambda d: visit_of(d).update(hands=2)),
}  # fmt: skip


@pytest.mark.parametrize("name", SPOILT)
def test_a_spoilt_plan_is_found(sound: tuple[Household, Data], name: str) -> None:
    household, data = sound[0], copy.deepcopy(sound[1])
    code, words, spoil = SPOILT[name]
    spoil(data)
    found = check_plan(Plan.model_validate(data), household)
    assert any(f.code == code and words in f.message for f in found), found


def test_nobody_looks_in_while_all_are_away(sound: tuple[Household, Data]) -> None:
    household, data = sound
    day = visit_of(data)["start"].date()
    away = tuple(visit for visit in household.visits if visit.start.date() != day)
    found = check_plan(Plan.model_validate(data), replace(household, visits=away))
    assert {finding.code for finding in found} == {"V1"}


def limited(household: Household, most: int) -> Household:
    span = household.season.season.model_copy(update={"max_sessions": most})
    return replace(household, season=household.season.model_copy(update={"season": span}))


def test_visits_are_no_evenings_of_a_limit(sound: tuple[Household, Data]) -> None:
    household, data = sound
    plan = Plan.model_validate(data)
    evenings = sum(not s.is_visit for s in plan.sessions)
    assert check_plan(plan, limited(household, evenings)) == ()
    found = check_plan(plan, limited(household, evenings - 1))
    assert [finding.code for finding in found] == ["V1"]


def test_loose_food_takes_its_trays_until_it_is_packed(sound: tuple[Household, Data]) -> None:
    """Trays for all of an evening's pieces suffice, since packed they are frozen; for less not."""
    household, data = sound
    plan = Plan.model_validate(data)
    laid = [
        sum(t.settings["area_cm2"] for t in s.tasks if t.step == "tray freeze")
        for s in plan.sessions
    ]

    def judged(area: float) -> set[str]:
        (chest,) = household.season.freezer
        smaller = chest.model_copy(update={"tray_area": area})
        season = household.season.model_copy(update={"freezer": (smaller,)})
        return {finding.code for finding in check_plan(plan, replace(household, season=season))}

    assert judged(max(laid) / 1e4 + 1e-3) == set()
    assert judged(max(laid) / 1e4 - 1e-3) == {"V2"}
