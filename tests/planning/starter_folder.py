"""The starter season in a folder, planned and judged."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from harvestplan.check import check_plan
from harvestplan.new_season.starter import Answers, files_for
from harvestplan.plan.models import Plan
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

SPRING, JULY = dt.date(2027, 4, 1), dt.date(2027, 7, 17)


def folder_in(tmp_path: Path, *changes: tuple[str, str]) -> Path:
    """The starter season for 2027 with a calendar of draws, and some lines changed."""
    files = files_for(Answers.example(SPRING))
    garden = files["garden.toml"]
    garden = garden.replace(
        'portion = "12 oz"', 'portion = "12 oz"\nper_week = 1\nfrom = 2027-07-20'
    )
    for old, new in changes:
        assert old in garden
        garden = garden.replace(old, new)
    tmp_path.mkdir(exist_ok=True)
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    (tmp_path / "garden.toml").write_text(garden, encoding="utf-8")
    return tmp_path


def plan_on(folder: Path, day: dt.date, earlier: Plan | None, move_firm: bool = False) -> Plan:
    household = read_household(folder, day)
    plan = make_plan(
        household, day, earlier, effort=Effort(), say=lambda text: None, move_firm=move_firm
    )
    assert check_plan(plan, household, earlier) == ()
    return plan
