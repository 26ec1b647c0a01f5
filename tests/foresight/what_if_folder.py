"""A small season of bought food, each evening needed for something that does not keep."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from season_tables import house, kitchen, write_season

from harvestplan.outputs.write_all import write_outputs
from harvestplan.plan.models import Plan
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

AS_OF = dt.date(2027, 5, 20)
MEAT_DAY, SHRIMP_DAY = dt.date(2027, 6, 5), dt.date(2027, 6, 12)
"""Saturdays on whose mornings meat and shrimp are bought; neither keeps until the next window."""
EVENING, FOOD = 2.0, 0.7
"""Portions that an evening and a food started are worth to who says nothing of it."""
ALL = 6 * 2 + 4 + 8 - 2 * EVENING - 3 * FOOD
"""What the season is worth: six portions of meat at priority 2, four of shrimp, eight of beans, on
two evenings."""
WITHOUT_MEAT = 4 + 8 - EVENING - 2 * FOOD
WITHOUT_SHRIMP = 6 * 2 + 8 - EVENING - 2 * FOOD
SEASON = house("2027-06-01", "2027-06-30", "sat wed", ("13:00", "16:00"))
GARDEN = """\
[[planting]]
id = "beans-1"
crop = "snap bean"
row = "20 ft"
sown = 2027-05-01

[[planting]]
crop = "snap bean"
row = "10 ft"
sown = 2027-05-20

[[bought]]
item = "minced meat"
amount = "6 lb"
on = 2027-06-05
keeps = "2 days"

[[bought]]
item = "shrimp"
amount = "3 lb"
on = 2027-06-12
keeps = "1 days"

[[bought]]
item = "dry bean"
amount = "8 lb"
on = 2027-06-02

[[want]]
product = "minced meat"
portions = 6
portion = "1 lb"
priority = 2

[[want]]
product = "shrimp"
portions = 4
portion = "12 oz"

[[want]]
product = "dry bean, sealed"
portions = 8
portion = "1 lb"
"""


def about(worth: float) -> Any:
    """The worth, but for the little that dry beans lose of their freshness within the month."""
    return pytest.approx(worth, abs=0.1)


def write_folder(folder: Path, *changes: tuple[str, str]) -> Path:
    """The season in one file, with texts replaced."""
    priced = kitchen(pouch="pack = 50\nprice = 8.25\n", freezer="5 cu ft")
    return write_season(folder, f"{SEASON}{priced}\n{GARDEN}", *changes)


def write_plan(folder: Path, day: dt.date = AS_OF) -> Plan:
    """Plans the season and writes everything to out/."""
    household = read_household(folder, day)
    plan = make_plan(household, day, None, effort=Effort(), say=lambda text: None)
    write_outputs(plan, household.season, household.library, out=folder / "out")
    return plan
