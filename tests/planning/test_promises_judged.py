"""Every plan is judged beside the one before: what was held or promised stands.

A planner that forgets it is found out, whatever the rest of its plan is like.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from planning.freezer_folder import SPRING, plan_on, write_folder

import harvestplan.schedule.statement.build_problem
from harvestplan.errors import HarvestPlanError
from harvestplan.plan.models import Plan
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.statement.history import History

JULY = dt.date(2027, 7, 20)
"""The beans of 14 July are done, those of 21 July promised."""


@pytest.fixture(scope="module")
def lane(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Plan]:
    folder = write_folder(tmp_path_factory.mktemp("lane"))
    return folder, unsure(plan_on(folder, JULY, plan_on(folder, SPRING)))


def again(lane: tuple[Path, Plan], move_firm: bool = False) -> Plan:
    household = read_household(lane[0], JULY)
    return make_plan(
        household, JULY, lane[1], effort=Effort(), say=lambda text: None, move_firm=move_firm
    )


def unsure(plan: Plan) -> Plan:
    """The plan, not saying what it was made from: so it does not stand unlooked at."""
    return plan.model_copy(update={"basis": ""})


def forget(monkeypatch: pytest.MonkeyPatch, status: str) -> None:
    """The planner without what the earlier plan holds of this status."""
    known = harvestplan.schedule.statement.build_problem.take_over

    def forgetful(*args: Any, **keys: Any) -> History:
        found = known(*args, **keys)
        kept = tuple(s for s in found.sessions if s.status != status)
        return History(kept, found.lots, found.used, pouches=found.pouches)

    monkeypatch.setattr(harvestplan.schedule.statement.build_problem, "take_over", forgetful)


def test_what_stands_is_no_finding(lane: tuple[Path, Plan]) -> None:
    assert {s.status for s in lane[1].sessions} >= {"done", "firm"}
    assert again(lane) == lane[1]


@pytest.mark.parametrize("status", ["done", "firm"])
def test_a_planner_that_forgets_it_is_found_out(
    lane: tuple[Path, Plan], monkeypatch: pytest.MonkeyPatch, status: str
) -> None:
    forget(monkeypatch, status)
    with pytest.raises(HarvestPlanError, match=f"V11: The {status} session of Wed"):
        again(lane)
