"""V6, V12 and the chain of a plan without a sealing machine: each way to spoil it is found."""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from season_by_hand import BAG, BOX, SEASON
from season_tables import write_season

from harvestplan.check import Finding, check_plan
from harvestplan.household import Household
from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.models import Plan
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

SPRING = dt.date(2027, 5, 1)
Data = dict[str, Any]


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Household, Plan]:
    folder = write_season(tmp_path_factory.mktemp("by-hand"), SEASON)
    household = read_household(folder, SPRING)
    return household, make_plan(
        household, SPRING, None, effort=Effort(), say=lambda text: None, move_firm=False
    )


def tasks(data: Data, step: str, pouch: str) -> list[Data]:
    """Tasks of a step of the runs that fill a container."""
    runs = {r["id"] for s in data["sessions"] for r in s["runs"] if r["pouch"] == pouch}
    found = [t for s in data["sessions"] for t in s["tasks"] if t["step"] == step]
    return [t for t in found if t["run"] in runs]


def runs(data: Data, pouch: str) -> list[Data]:
    return [r for s in data["sessions"] for r in s["runs"] if r["pouch"] == pouch]


def test_the_plan_is_sound_and_packs_in_both(planned: tuple[Household, Plan]) -> None:
    household, plan = planned
    assert check_plan(plan, household) == ()
    data = plan.model_dump()
    assert tasks(data, "close", "quart bag") and tasks(data, "close", "quart box")
    assert not [t for s in data["sessions"] for t in s["tasks"] if t["step"] == "seal"]
    assert sum(want.planned for want in plan.wants) == 10


def _set(step: str, pouch: str, **settings: Any) -> Callable[[Data], None]:
    return lambda data: tasks(data, step, pouch)[0]["settings"].update(settings)


def _sealed(data: Data) -> None:
    """As if a machine did it."""
    tasks(data, "close", "quart bag")[0]["step"] = "seal"


def _hurried(data: Data) -> None:
    task = tasks(data, "close", "quart bag")[0]
    task["end"] = task["start"] + dt.timedelta(seconds=10)


def _forgotten(data: Data) -> None:
    gone = tasks(data, "close", "quart box")[0]["id"]
    for session in data["sessions"]:
        session["tasks"] = [t for t in session["tasks"] if t["id"] != gone]


def _into(pouch: str, other: str) -> Callable[[Data], None]:
    def spoil(data: Data) -> None:
        for run in runs(data, pouch):
            run["pouch"] = other

    return spoil


def _list(item: str, **changes: Any) -> Callable[[Data], None]:
    return lambda data: next(x for x in data["shopping"] if x["item"] == item).update(changes)


SPOILT: dict[str, tuple[str, str, Callable[[Data], None]]] = {
    "no head space in the box": ("V6", "head_mm", _set("portion", "quart box", head_mm=0)),
    "half the head space": ("V6", "head_mm", _set("portion", "quart box", head_mm=13)),
    "a bag filled to the zip": ("V6", "head_mm", _set("portion", "quart bag", head_mm=0)),
    "a box called a bag": ("V6", "kind", _set("portion", "quart box", kind="zip bag")),
    "a bag closed as a box": ("V6", "kind", _set("close", "quart bag", kind="box")),
    "one bag forgotten": ("V6", "pouches", _set("close", "quart bag", pouches=0)),
    "closed in no time": ("V6", "to close them takes", _hurried),
    "sealed in a machine that is not there": ("V4", '"seal"', _sealed),
    "boxes left open": ("V4", '"close"', _forgotten),
    "purée poured into bags": ("V6", "kind", _into("quart box", "quart bag")),
    "a container that the kitchen has not": ("V6", "no pouch", _into("quart bag", "gallon bag")),
    "a machine held": (
        "V2", "which the kitchen has not",
        lambda d: tasks(d, "close", "quart bag")[0].update(equipment=["sealer"])),
    "closed by nobody": (
        "V3", "counts on", lambda d: tasks(d, "close", "quart bag")[0].update(hands=0)),
    "space of an evacuated bag": ("V8", "volume_ml", _set("freeze", "quart bag", volume_ml=100)),
    "boxes in no room on the tray": ("V7", "area_cm2", _set("freeze", "quart box", area_cm2=1)),
    "bags without spares": ("V12", "spares", _list("quart bag", need=6)),
    "boxes too few": ("V12", "lacking", _list("quart box", buy=0)),
}  # fmt: skip


@pytest.mark.parametrize("name", SPOILT)
def test_a_spoilt_plan_is_found(name: str, planned: tuple[Household, Plan]) -> None:
    household, plan = planned
    code, words, spoil = SPOILT[name]
    data = copy.deepcopy(plan.model_dump())
    spoil(data)
    found = check_plan(Plan.model_validate(data), household)
    assert any(f.code == code and words in f.message for f in found), found


def judged_in(
    folder: Path, plan: Plan, household: Household, *changes: tuple[str, str]
) -> set[str]:
    """What is found where the household has changed its kitchen since."""
    season = load_season(write_season(folder, SEASON, *changes), load_library()).season
    changed = Household(season, household.library, household.windows)
    found: tuple[Finding, ...] = check_plan(plan, changed)
    return {f"{finding.code} {finding.message}" for finding in found}


@pytest.mark.parametrize(
    ("change", "code", "said"),
    [
        ((BOX, BOX.replace("1 US qt", "1 US pint")), "V6", "may hold"),
        ((BAG, BAG.replace("7.5 in", "5 in")), "V6", "may hold"),
        ((BOX, BOX.replace("1 US qt", "3 US qt")), "V6", "may hold 0 mL"),
        (('product = "tomato, purée"', 'product = "tomato, purée"\npouch = "quart bag"'), "V6",
         "quart bag is wanted"),
        ((BAG, BAG.replace('kind = "zip bag"', 'film = "3 mil"')), "V6", "no sealer"),
    ],
)  # fmt: skip
def test_containers_that_no_longer_serve(
    tmp_path: Path,
    planned: tuple[Household, Plan],
    change: tuple[str, str],
    code: str,
    said: str,
) -> None:
    household, plan = planned
    found = judged_in(tmp_path, plan, household, change)
    assert any(each.startswith(code) and said in each for each in found), found
