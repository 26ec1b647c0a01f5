"""The judge reckons with the household's own pace, its failed seals and the machine's hours."""

from __future__ import annotations

import copy
import datetime as dt
from typing import Any

from check.small_season import BEANS, LIBRARY, SEASON, WINDOWS, make_season, plan_data

from harvestplan.check import check_plan
from harvestplan.household import Household
from harvestplan.kitchen.experience import Experience, Pace, Sealing
from harvestplan.kitchen.practice import Practice
from harvestplan.plan.models import Plan

SOUND = plan_data(SEASON, LIBRARY)


def findings(data: dict[str, Any], experience: Experience) -> list[tuple[str, str]]:
    plan = Plan.model_validate(data)
    found = check_plan(plan, Household(SEASON, LIBRARY, tuple(WINDOWS), experience=experience))
    return [(finding.code, finding.message) for finding in found]


def with_pace(pace: float, status: str = "planned") -> dict[str, Any]:
    data = copy.deepcopy(SOUND)
    data["sessions"][0]["status"] = status
    data["sessions"][0]["runs"][0]["pace"] = pace
    return data


def own(factor: float) -> Experience:
    return Experience({BEANS: Pace(factor, factor, 5)})


def test_tasks_must_last_as_long_as_the_pace_they_state() -> None:
    assert findings(with_pace(0.9), own(0.9)) == []
    short = findings(with_pace(1.3), own(1.3))
    assert {code for code, _ in short} == {"V5"}
    assert any("trim" in message for _, message in short)


def test_an_evening_ahead_must_allow_for_the_own_pace() -> None:
    assert any("1.4 times" in said for code, said in findings(with_pace(1.0), own(1.4)))
    assert findings(with_pace(1.0), own(1.1)) == []  # learned since, and little
    assert not [f for f in findings(with_pace(1.0, "done"), own(1.4)) if f[0] == "V5"]


def test_an_evening_ahead_must_allow_for_a_step_timed_by_itself() -> None:
    slow = Experience({BEANS: Pace(1.0, 1.0, 0, steps={"trim": Pace(1.4, 1.6, 5)})})
    assert any("1.4 times" in said and "trim" in said for _, said in findings(SOUND, slow))
    data = with_pace(1.0)
    data["sessions"][0]["runs"][0]["step_paces"] = {"trim": 1.4}
    short = [said for _, said in findings(data, slow)]  # its tasks are as long as by the book
    assert short
    assert all("trim" in said for said in short)


def test_an_evening_ahead_must_allow_for_how_practised_the_household_says_it_is() -> None:
    beginner = Experience(practice={BEANS: Practice({"trim": 1.5, "portion": 1.5}, 1.4)})
    assert any("1.5 times" in said and "trim" in said for _, said in findings(SOUND, beginner))
    practised = Experience(practice={BEANS: Practice({"trim": 0.8, "portion": 0.75}, 0.8)})
    assert findings(SOUND, practised) == []  # a plan that allows for more is sound
    said = copy.deepcopy(SOUND)
    said["sessions"][0]["runs"][0]["step_paces"] = {"trim": 1.5, "portion": 1.5}
    short = [message for _, message in findings(said, beginner)]  # its tasks are still the book's
    assert short
    assert not any("crop file's minutes are planned" in message for message in short)


def test_the_shopping_list_must_hold_the_spares_that_were_learned() -> None:
    # 26 pouches: 5 in 100 are 2 spares, 20 in 200 are 3.
    assert findings(SOUND, Experience(seals={BEANS: (95, 0)})) == []
    failing = findings(SOUND, Experience(seals={BEANS: (85, 15)}))
    assert [code for code, _ in failing] == ["V12"]
    assert "29" in failing[0][1]


def test_the_machines_hours_in_the_diary_count() -> None:
    assert findings(SOUND, Experience()) == []
    late = Experience(sealings=(Sealing(dt.date(2027, 6, 1), BEANS, 3600),))
    found = findings(SOUND, late)
    assert [code for code, _ in found] == ["V12"]
    assert "service" in found[0][1]
    data = copy.deepcopy(SOUND)
    data["warnings"].append({"code": "service", "message": "Change the oil."})
    assert findings(data, late) == []
    assert make_season().sealer is not None
