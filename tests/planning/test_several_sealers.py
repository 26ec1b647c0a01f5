"""Several equal sealing machines: each is a unit of its own, in planning and in judging."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from harvestplan.check import check_plan
from harvestplan.errors import FilesNeedMending
from harvestplan.household import Household
from harvestplan.plan.models import Plan
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

DAY = dt.date(2027, 6, 4)
SEASON = f"""
[household]
name = "Meat evening"
timezone = "America/Denver"
hands = 6

[season]
start = {DAY}
end = {DAY + dt.timedelta(days=2)}

[[extra_window]]
date = {DAY}
start = 18:00:00
end = 19:30:00

[sealer]
kind = "external"
bar = "30 cm"
count = COUNT
handling = "60 s"
service_after = "3 h"
run_so_far = "2 h 50 min"

[[pouch]]
name = "quart"
width = "20 cm"
length = "30 cm"
film = "80 um"

[[freezer]]
name = "chest"
volume = "600 L"

[[bought]]
item = "minced meat"
amount = "12 kg"
on = {DAY}

[[bought]]
item = "beef cut"
amount = "12 kg"
on = {DAY}

[[want]]
product = "minced meat"
portions = 24
portion = "450 g"

[[want]]
product = "beef cut"
portions = 24
portion = "450 g"
"""


def planned(folder: Path, count: int) -> tuple[Household, Plan]:
    (folder / "season.toml").write_text(SEASON.replace("COUNT", str(count)), encoding="utf-8")
    household = read_household(folder, DAY)
    return household, make_plan(household, DAY, None, effort=Effort(), say=lambda text: None)


def machines(plan: Plan) -> set[str]:
    return {
        unit
        for session in plan.sessions
        for task in session.tasks
        if task.step == "seal"
        for unit in task.equipment
    }


def test_two_machines_close_what_one_cannot(tmp_path: Path) -> None:
    """48 pouches at about 75 s each are an hour of sealing; half an hour is left for it."""
    _, alone = planned(tmp_path, 1)
    _, both = planned(tmp_path, 2)
    assert machines(alone) == {"sealer"}
    assert machines(both) == {"sealer 1", "sealer 2"}
    assert sum(w.short for w in both.wants) < sum(w.short for w in alone.wants)


def test_the_judge_knows_each_machine(tmp_path: Path) -> None:
    household, plan = planned(tmp_path, 2)
    text = plan.model_dump_json()

    def judged(changed: str) -> set[str]:
        spoilt = Plan.model_validate_json(changed)
        findings = check_plan(spoilt, household)
        return {finding.code for finding in findings}

    assert judged(text) == set()
    assert judged(text.replace('"sealer 2"', '"sealer 3"')) == {"V2"}
    assert judged(text.replace('"sealer 2"', '"sealer 1"')) == {"V2"}


def test_no_other_thing_is_called_like_one_of_them(tmp_path: Path) -> None:
    pot = '[[pot]]\nname = "Sealer 2"\nvolume = "8 qt"\npower = "2 kW"\n'
    (tmp_path / "kitchen.toml").write_text(pot, encoding="utf-8")
    planned(tmp_path, 1)
    with pytest.raises(FilesNeedMending, match="already used"):
        planned(tmp_path, 2)


@pytest.mark.parametrize("count, told", [(1, True), (4, False)])
def test_equal_machines_share_the_running_time(tmp_path: Path, count: int, told: bool) -> None:
    _, plan = planned(tmp_path, count)
    assert any(warning.code == "service" for warning in plan.warnings) == told
