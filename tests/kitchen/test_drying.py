"""Drying: trays limit a sitting, and the dryer holds one run from its loading until it is dry."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from kitchen.foods import TRIM, WASH, crop, fig, kitchen, product, step
from pydantic import ValidationError

from harvestplan.check import check_plan
from harvestplan.errors import CannotBeMade
from harvestplan.household import Household
from harvestplan.inputs.season_kitchen import Dryer
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.layout import lay_out
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.process import Process
from harvestplan.plan.models import Plan, Run, Session
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

HOUR = dt.timedelta(hours=1)
AS_OF = dt.date(2027, 9, 1)
DRY = step("dry", per_kg="10 min per kg", time="8 h", tray_load="3 kg/m2", leaves=0.12,
           pause_least="9 h", pause_limit="21 days")  # fmt: skip
PACKING = (step("portion", per_kg="15 min per kg"), step("seal"), step("store", fixed="5 min"))
CHAIN = (WASH, TRIM, DRY, *PACKING)
SMALL = Dryer(name="small", trays=2, tray_area="0.1 m2")
LARGE = Dryer(name="large", trays=5, tray_area="0.1 m2")
SHELF: dict[str, Any] = {"storage": "shelf", "texture": "dry", "density": fig("0.3 kg/L")}


def with_dryers(*dryers: Dryer) -> Kitchen:
    return replace(kitchen(), dryers=dryers)


def dried(*dryers: Dryer) -> Process:
    made = product(CHAIN, **SHELF)
    return make_process(with_dryers(*dryers), crop(made), made, portion_grams=30)


def test_without_a_dryer_nothing_is_dried() -> None:
    with pytest.raises(CannotBeMade, match=r"^there is no \[\[dryer\]\] to dry in$"):
        dried()


def test_a_sitting_fills_the_trays_of_the_larger_dryer() -> None:
    """5 trays of 0.1 m² at 3 kg/m² hold 1.5 kg; a tenth of the raw food is trimmed off."""
    made = dried(SMALL, LARGE)
    assert made.dryer == "large"
    assert made.sitting_limit == int(1500 / 0.9)
    assert made.wait_least == 9 * 3600


def test_the_first_sitting_loads_the_trays_and_the_second_packs() -> None:
    made = dried(LARGE)
    first = lay_out(made, 1600, 5, sitting="first", freezer=None)
    loading = [task for task in first.tasks if task.step == "dry"]
    assert sum(task.grams for task in loading) == pytest.approx(1600 * 0.9, abs=len(loading))
    assert sum(task.seconds for task in loading) == pytest.approx(1440 * 0.6, abs=60)
    for task in loading:
        assert task.units == ("large",)
        assert task.settings["hours"] == 8
        assert task.settings["conditioning_days"] == 7
        assert task.settings["area_cm2"] == pytest.approx(task.grams / 3000 * 1e4, abs=2)
    second = lay_out(made, 1600, 5, sitting="second", freezer=None)
    assert {task.step for task in second.tasks} == {"portion", "seal", "store"}
    assert sum(task.grams for task in second.tasks if task.step == "seal") == 150


def test_cut_food_waits_two_hours_at_most_for_the_dryer() -> None:
    """Two hours in the room in all (USDA)."""
    made = dried(LARGE)
    limits = lay_out(made, 1600, 5, sitting="first", freezer=None).limits
    assert limits
    assert all(limit.waits[-1][1].startswith("2.dry") for limit in limits)


@pytest.mark.parametrize("left_out", ["time", "tray_load", "leaves", "pause_least"])
def test_drying_needs_its_figures(left_out: str) -> None:
    lacking = {key: value for key, value in DRY.items() if key != left_out}
    with pytest.raises(ValidationError, match="dry needs time, tray_load, leaves"):
        product((WASH, lacking, *PACKING), **SHELF)


@pytest.mark.parametrize("limit", ["9 h", "8 h"])
def test_the_least_wait_is_shorter_than_the_longest(limit: str) -> None:
    with pytest.raises(ValidationError, match="pause_limit that is longer"):
        product((WASH, DRY | {"pause_limit": fig(limit)}, *PACKING), **SHELF)


SEASON = """
[household]
name = "Hill Top"
timezone = "Europe/London"
measures = "metric"
hands = 2
[season]
start = 2027-04-01
end = 2027-11-30
[[window]]
days = ["fri", "sat", "sun"]
start = 17:00:00
end = 21:00:00
[[dryer]]
name = "cabinet"
trays = 8
tray_area = "0.14 m2"
[sealer]
kind = "external"
bar = "12 in"
[[pouch]]
name = "pint"
width = "6 in"
length = "10 in"
film = "3 mil"
[[bought]]
item = "apple"
amount = "8 kg"
on = 2027-09-03
[[bought]]
item = "onion"
amount = "6 kg"
on = 2027-09-03
[[want]]
product = "apple, dried"
portions = 10
portion = "100 g"
[[want]]
product = "onion, dried"
portions = 6
portion = "80 g"
"""


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Household, Plan]:
    folder: Path = tmp_path_factory.mktemp("drying")
    (folder / "season.toml").write_text(SEASON, encoding="utf-8")
    household = read_household(folder, AS_OF)
    return household, make_plan(household, AS_OF, None, effort=Effort(), say=lambda text: None)


@pytest.fixture(scope="module")
def plan(planned: tuple[Household, Plan]) -> Plan:
    return planned[1]


def firsts(plan: Plan) -> list[tuple[Session, Run]]:
    return [(s, r) for s in plan.sessions for r in s.runs if r.lots]


def test_dried_food_takes_two_sittings(plan: Plan) -> None:
    packing = {r.second_sitting_of: s for s in plan.sessions for r in s.runs if r.pouches}
    assert len(firsts(plan)) >= 2
    for session, run in firsts(plan):
        assert run.pouches == 0
        hours = {"apple": 13, "onion": 10}[run.crop]
        assert packing[run.id].start - session.end >= hours * HOUR


def test_two_runs_never_lie_in_the_dryer_at_once(plan: Plan) -> None:
    taken = sorted(
        (session.start, session.end + {"apple": 12, "onion": 9}[run.crop] * HOUR)
        for session, run in firsts(plan)
    )
    for (_, dry), (start, _) in pairwise(taken):
        assert start >= dry


def test_what_is_loaded_fits_the_trays(plan: Plan) -> None:
    """8 trays of 0.14 m² at 3 kg/m²: 3.36 kg of rings."""
    for session, run in firsts(plan):
        loaded = sum(t.grams for t in session.tasks if t.run == run.id and t.step == "dry")
        assert 0 < loaded <= 3360


def test_dried_food_takes_no_freezer(plan: Plan) -> None:
    assert plan.freezer == ()
    assert sum(line.planned for line in plan.wants) > 8


def test_the_judge_lets_cut_food_wait_two_hours_at_most_for_the_dryer(
    planned: tuple[Household, Plan],
) -> None:
    """Two hours in the room in all (USDA / eatright.org): the loading of one run begins later."""
    household, plan = planned
    session, run = firsts(plan)[0]
    assert _standing(plan, household) == []

    def late(hours: float) -> Plan:
        by = hours * HOUR
        tasks = tuple(
            task.model_copy(update={"start": task.start + by, "end": task.end + by})
            if task.run == run.id and task.step == "dry"
            else task
            for task in session.tasks
        )
        spoilt = session.model_copy(update={"tasks": tasks})
        sessions = tuple(spoilt if s is session else s for s in plan.sessions)
        return plan.model_copy(update={"sessions": sessions})

    assert any(run.product in message for message in _standing(late(2.1), household))


def _standing(plan: Plan, household: Household) -> list[str]:
    found = check_plan(plan, household)
    return [f.message for f in found if f.code == "V4" and "min in the room" in f.message]
