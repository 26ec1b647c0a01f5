"""A whole season with a small fridge."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

import pytest

from harvestplan.check import check_plan
from harvestplan.new_season.starter import Answers, files_for
from harvestplan.plan.models import Plan
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Plan]:
    """The starter season for 2027 with a small fridge and batches of 2 lb, planned in spring."""
    folder = tmp_path_factory.mktemp("season")
    files = files_for(Answers.example(dt.date(2027, 4, 1)))
    assert "[cold]\n" in files["kitchen.toml"] and "[season]\n" in files["household.toml"]
    files["kitchen.toml"] = files["kitchen.toml"].replace("[cold]\n", '[cold]\nfridge = "5 L"\n')
    files["household.toml"] = files["household.toml"].replace(
        "[season]\n", '[season]\nsmallest_batch = "2 lb"\n'
    )
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder, plan_on(folder, dt.date(2027, 4, 1), None)


def plan_on(folder: Path, as_of: dt.date, earlier: Plan | None) -> Plan:
    return make_plan(
        read_household(folder, as_of), as_of, earlier, effort=Effort(), say=lambda text: None
    )


def fullest(plan: Plan, folder: Path) -> float:
    """mL on the fullest night, from the plan's picks and purchases alone."""
    household = read_household(folder, plan.as_of)
    begins = {session.uid: session.start.date() for session in plan.sessions}
    nights: dict[dt.date, float] = {}
    for pick in plan.picks:
        crop = household.library.crops[pick.crop]
        cold = crop.keeping.best_place(household.season.cold.cellar) == "fridge"
        until = begins.get(pick.session or "", pick.date)
        for number in range((until - pick.date).days if cold else 0):
            night = pick.date + dt.timedelta(days=number)
            nights[night] = nights.get(night, 0.0) + pick.grams / crop.raw_density.value
    return max(nights.values(), default=0.0)


def test_a_season_with_a_small_fridge_is_planned_and_judged(planned: tuple[Path, Plan]) -> None:
    folder, plan = planned
    assert 1000 < fullest(plan, folder) <= 5000
    raws = [
        (run.grams_in, run.pouches, run.product)
        for session in plan.sessions
        for run in session.runs
        if run.second_sitting_of is None
    ]
    wanted = {want.product: want.wanted for want in plan.wants}
    assert raws
    assert all(
        grams >= 2 * 453.59 or pouches == wanted[product] for grams, pouches, product in raws
    )


def test_it_is_planned_again_in_summer(planned: tuple[Path, Plan]) -> None:
    folder, before = planned
    july = dt.date(2027, 7, 17)
    after = plan_on(folder, july, before)
    household = read_household(folder, july)
    assert check_plan(after, household, before) == ()
    assert fullest(after, folder) <= math.floor(household.season.cold.fridge or 0)
