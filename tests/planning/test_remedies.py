"""What would help where something falls short: each change told is made, and the season planned
anew with it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from season_tables import house, kitchen, write_season

from harvestplan.outputs.remedy_words import remedy_lines
from harvestplan.outputs.terminal.plan_short import plan_short
from harvestplan.plan.models import Plan
from harvestplan.planning import remedies as trials
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort

AS_OF = dt.date(2027, 6, 1)
MEAT = """
[[bought]]
item = "minced meat"
amount = "20 kg"
on = 2027-06-14
keeps = "2 days"

[[want]]
product = "minced meat"
portions = 40
portion = "500 g"
"""
"""Bought on a Monday, and gone by Thursday."""


def planned(folder: Path, text: str) -> Plan:
    """The season planned from its texts."""
    write_season(folder, text)
    household = read_household(folder, AS_OF)
    return make_plan(household, AS_OF, None, effort=Effort(), say=lambda told: None)


def made(plan: Plan) -> int:
    return sum(want.planned for want in plan.wants)


def test_one_more_evening_brings_what_the_season_with_it_brings(tmp_path: Path) -> None:
    """Only Saturdays are free, when the meat of Monday is gone: nothing is put by of it. An extra
    window in that week, as long as a Saturday's, puts by as much as is told."""
    text = house("2027-06-01", "2027-06-30", "sat") + kitchen() + MEAT
    plan = planned(tmp_path, text)
    assert made(plan) == 0
    [remedy] = plan.remedies
    assert remedy.change == "one more evening in the week of 14 June"
    [brings] = remedy.brings
    assert brings.product == "minced meat, portioned"
    extra = "[[extra_window]]\ndate = 2027-06-16\nstart = 09:00:00\nend = 12:00:00\n"
    assert remedy.kind == "evening" and remedy.start and remedy.end
    assert f"{remedy.start:%Y-%m-%d %H:%M}-{remedy.end:%H:%M}" == "2027-06-16 09:00-12:00"
    with_it = planned(tmp_path, text + extra)
    assert made(with_it) == brings.portions > 0
    assert with_it.proof is not None and plan.proof is not None
    assert with_it.proof.worth - plan.proof.worth == pytest.approx(remedy.worth, abs=0.02)


def test_a_household_without_any_window_is_told_of_an_evening(tmp_path: Path) -> None:
    """Only promised evenings of before are left to it: here none, so there is no plan at all but
    for one time that is extra and too early for the meat."""
    none = house("2027-06-01", "2027-06-30", "sat").partition("[[window]]")[0]
    early = "[[extra_window]]\ndate = 2027-06-05\nstart = 09:00:00\nend = 12:00:00\n"
    plan = planned(tmp_path, none + early + kitchen() + MEAT)
    assert [each.change for each in plan.remedies] == ["one more evening in the week of 14 June"]


def test_half_an_hour_more_brings_what_the_longer_windows_bring(tmp_path: Path) -> None:
    short = house("2027-06-01", "2027-06-30", "mon", ("18:00", "19:00")) + kitchen() + MEAT
    plan = planned(tmp_path, short)
    found = {remedy.change: remedy for remedy in plan.remedies}
    longer = found["30 minutes more on Mondays"]
    assert longer.kind == "longer" and longer.start is None
    long = house("2027-06-01", "2027-06-30", "mon", ("18:00", "19:30")) + kitchen() + MEAT
    assert made(planned(tmp_path, long)) == made(plan) + longer.brings[0].portions


def test_a_full_freezer_asks_for_room(tmp_path: Path) -> None:
    """Half a cubic foot is free: some 14 L, and 20 kg of meat take more."""
    small = kitchen(freezer="1.5 cu ft", used="1.3 cu ft")
    text = house("2027-06-01", "2027-06-30", "mon tue", ("16:00", "22:00")) + small + MEAT
    plan = planned(tmp_path, text)
    assert [remedy.change for remedy in plan.remedies] == ["1.8 cu ft more of chest"]
    assert plan.remedies[0].brings[0].portions > 0


def test_nothing_is_tried_where_no_food_is_left_over(tmp_path: Path) -> None:
    """All that is bought is put by, and more is wanted."""
    little = MEAT.replace("20 kg", "2 kg")
    plan = planned(tmp_path, house("2027-06-01", "2027-06-30", "tue") + kitchen() + little)
    assert made(plan) == 4 and plan.wants[0].short > 0
    assert not plan.remedies


def test_ctrl_c_leaves_the_plan_as_it_was_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def pressed(*args: object, **named: object) -> object:
        raise KeyboardInterrupt

    text = house("2027-06-01", "2027-06-30", "mon", ("18:00", "19:00")) + kitchen() + MEAT
    whole = planned(tmp_path, text)
    monkeypatch.setattr(trials, "_tried", pressed)
    plan = planned(tmp_path, text)
    assert whole.remedies and not plan.remedies
    assert plan.sessions == whole.sessions


def test_a_change_is_told_in_a_sentence(tmp_path: Path) -> None:
    plan = planned(tmp_path, house("2027-06-01", "2027-06-30", "sat") + kitchen() + MEAT)
    portions = plan.remedies[0].brings[0].portions
    assert remedy_lines(plan) == [
        f"One more evening in the week of 14 June would bring {portions} portions of minced meat"
    ]


def test_the_short_plan_names_the_change_worth_most(tmp_path: Path) -> None:
    plan = planned(tmp_path, house("2027-06-01", "2027-06-30", "sat") + kitchen() + MEAT)
    household = read_household(tmp_path, AS_OF)
    told = " ".join(plan_short(plan, household.season, household.library).split())
    assert f"{remedy_lines(plan)[0]}. More that would help: harvestplan compare" in told
    without = plan.model_copy(update={"remedies": ()})
    asked = " ".join(plan_short(without, household.season, household.library).split())
    assert "What would help: harvestplan compare --what-helps" in asked
