"""Why a want falls short, told of small seasons in which only one thing or two can be at fault."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from season_tables import house, kitchen, write_season

from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

AS_OF = dt.date(2027, 6, 1)
HOUSE = house("2027-06-01", "2027-07-31")
ONCE = "2027-06-01", "2027-06-06"
"""One Saturday, 5 June."""
MEAT = """
[[bought]]
item = "minced meat"
amount = "{amount}"
on = 2027-06-04

[[want]]
product = "minced meat"
portions = {portions}
portion = "500 g"
priority = {priority}
"""
DRY_BEANS = """
[[bought]]
item = "dry bean"
amount = "20 kg"
on = 2027-06-03

[[want]]
product = "dry bean, sealed"
portions = 40
portion = "500 g"
"""
BERRIES = """
[[planting]]
crop = "strawberry"
row = "30 ft"
set_out = 2025-04-20

[[want]]
product = "strawberry"
portions = 5
portion = "12 oz"
"""


def why(folder: Path, text: str) -> dict[str, str]:
    """The reason by product, of each want that falls short."""
    write_season(folder, text)
    household = read_household(folder, AS_OF)
    plan = make_plan(household, AS_OF, None, effort=Effort(), say=lambda told: None)
    told = [advice.message for advice in plan.warnings if advice.code == "short"]
    assert len(told) == sum(want.short > 0 for want in plan.wants)
    found = {}
    for want in plan.wants:
        for message in told:
            if message.startswith(f"{want.product}: {want.short} portion"):
                found[want.product] = message.partition(" short. ")[2]
    return found


def test_too_little_food_is_the_only_reason_where_all_of_it_is_put_by(tmp_path: Path) -> None:
    """3 kg are six portions of 500 g."""
    text = HOUSE + kitchen() + MEAT.format(amount="3 kg", portions=10, priority=1)
    said = "What is bought gives 6 portions at most, after what is eaten fresh."
    assert why(tmp_path, text) == {"minced meat, portioned": said}


def test_no_berry_can_be_frozen_loose_in_too_short_a_morning(tmp_path: Path) -> None:
    """They lie on trays until the next day; the next Saturday is too far away, and nobody looks in
    meanwhile."""
    no_visits = house(
        "2027-06-01", "2027-07-31", hours=("09:00", "11:00"), season='visits = "none"'
    )
    text = no_visits + kitchen() + BERRIES
    said = (
        "The free hours while the food keeps are too short or too far apart. It freezes on trays "
        'and is packed the next day: a visit would do for that, but visits = "none" forbids them.'
    )
    assert why(tmp_path, text) == {"strawberry, whole": said}


def test_one_morning_holds_only_so_much(tmp_path: Path) -> None:
    text = house(*ONCE) + kitchen() + MEAT.format(amount="100 kg", portions=200, priority=1)
    (said,) = why(tmp_path, text).values()
    assert re.fullmatch(r"The free hours while the food keeps hold at most \d+ portions\.", said)


@pytest.mark.parametrize(
    ("limit", "hours"),
    [("", "hours"), ("max_sessions_per_week = 1\n", "hours (at most 1 session a week)")],
)
def test_what_others_need_first_is_told_after_what_binds_by_itself(
    tmp_path: Path, limit: str, hours: str
) -> None:
    """Meat comes first by priority and takes the whole morning with its sealing."""
    text = house(*ONCE, season=limit) + kitchen(freezer="30 cu ft")
    text += MEAT.format(amount="100 kg", portions=200, priority=9) + DRY_BEANS
    said = why(tmp_path, text)["dry bean, sealed"]
    assert said.endswith(f"The other wants leave no more of the free {hours}."), said
