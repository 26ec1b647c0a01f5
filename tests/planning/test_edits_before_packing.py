"""Files changed between the evening that cooks and the one that packs what was put to chill.

The packing cannot be dropped: the food is there. So the change has to wait, and that is said.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from planning.squash_season import AUTUMN, SEASON
from season_tables import write_season

from harvestplan.errors import NoValidPlan
from harvestplan.plan.file import plan_bytes
from harvestplan.plan.models import Plan
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort


def plan_on(folder: Path, day: dt.date, earlier: Plan | None) -> Plan:
    return make_plan(
        read_household(folder, day), day, earlier, effort=Effort(), say=lambda text: None
    )


@pytest.mark.parametrize(
    "change",
    [
        ('name = "quart"', 'name = "flat"'),
        ('portion = "1 lb"', 'portion = "2 lb"'),
        ('product = "winter squash, purée"', 'product = "winter squash, soup"'),
    ],
)
def test_the_change_has_to_wait_until_the_food_is_packed(
    tmp_path: Path, change: tuple[str, str]
) -> None:
    (tmp_path / "out").mkdir()
    plan = plan_on(write_season(tmp_path, SEASON), AUTUMN, None)
    (tmp_path / "out" / "plan.json").write_bytes(plan_bytes(plan))
    packs = next(s for s in plan.sessions if any(r.second_sitting_of for r in s.runs))
    day = packs.start.date()
    assert day > plan.sessions[0].start.date()
    assert change[0] in SEASON
    write_season(tmp_path, SEASON, change)
    with pytest.raises(NoValidPlan, match="finishes food that is begun") as told:
        plan_on(tmp_path, day, plan)
    assert "our fault" not in str(told.value) and f"{day.day} September" in str(told.value)
    write_season(tmp_path, SEASON)
    assert plan_on(tmp_path, day, plan).sessions
