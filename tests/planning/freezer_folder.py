"""A small household with beans in the garden, meat to buy and one freezer, to plan again."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from season_tables import kitchen, write_season

from harvestplan.check import check_plan
from harvestplan.plan.file import plan_bytes
from harvestplan.plan.models import Plan
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

BEANS, MEAT, CORN = "snap bean, cut", "minced meat, portioned", "sweet corn, kernel"
SPRING = dt.date(2027, 6, 1)
SEASON = """\
[household]
name = "The Lane"
timezone = "America/Chicago"
hands = 2
[season]
start = 2027-06-01
end = 2027-08-31
[[window]]
days = ["wed", "sat"]
start = 16:00:00
end = 21:00:00
"""
KITCHEN = kitchen(
    pot="16 qt",
    power="3 kW",
    bath="8 gal",
    sealer='kind = "chamber"\nbar = "12 in"\nchamber = "16x14x5 in"',
    used="40 L",
)
GARDEN = """\
[[planting]]
crop = "snap bean"
id = "beans"
row = "30 ft"
sown = 2027-05-10
first_pick = 2027-07-05
[[bought]]
item = "minced meat"
amount = "6 lb"
on = 2027-06-15
[[want]]
product = "snap bean, cut"
portions = 20
portion = "12 oz"
[[want]]
product = "minced meat"
portions = 6
portion = "1 lb"
per_week = 1
from = 2027-07-01
[[stored]]
product = "snap bean, cut"
portions = 4
portion = "12 oz"
frozen_on = 2026-09-02
[[stored]]
product = "sweet corn, kernel"
portions = 3
portion = "12 oz"
frozen_on = 2026-09-02
"""


NO_TOIL = (
    "end = 2027-08-31",
    'end = 2027-08-31\nevening_is_worth = "0 portions"\nfood_is_worth = "0 portions"',
)
"""A change of the season: the household comes to the kitchen for whatever is left to do."""


def write_folder(folder: Path, *changes: tuple[str, str]) -> Path:
    """The season in a folder, some of its text changed."""
    return write_season(folder, SEASON + KITCHEN + GARDEN, *changes)


def plan_on(folder: Path, day: str | dt.date, earlier: Plan | None = None) -> Plan:
    """A plan that breaks no rule, published in the folder."""
    date = dt.date.fromisoformat(day) if isinstance(day, str) else day
    household = read_household(folder, date)
    plan = make_plan(household, date, earlier, effort=Effort(), say=lambda text: None)
    found = check_plan(plan, household, earlier)
    assert found == ()
    (folder / "out").mkdir(exist_ok=True)
    (folder / "out" / "plan.json").write_bytes(plan_bytes(plan))
    return plan
