"""A sound plan as data, ways to spoil it, and what the judge says."""

from __future__ import annotations

import datetime as dt
from typing import Any

from check.small_season import (
    LIBRARY,
    SEASON,
    WINDOWS,
    plan_data,
)

from harvestplan.check import Finding, check_plan
from harvestplan.household import Household
from harvestplan.inputs.season import Season
from harvestplan.plan.models import Plan

Data = dict[str, Any]


SOUND = plan_data(SEASON, LIBRARY)


SECOND, MINUTE, DAY = (dt.timedelta(seconds=n) for n in (1, 60, 86400))


def judge(data: Data, season: Season = SEASON, earlier: Plan | None = None) -> tuple[Finding, ...]:
    return check_plan(
        Plan.model_validate(data), Household(season, LIBRARY, tuple(WINDOWS)), earlier
    )


def codes(findings: tuple[Finding, ...]) -> set[str]:
    return {finding.code for finding in findings}


def session(data: Data, uid: str) -> Data:
    return next(each for each in data["sessions"] if each["uid"] == uid)


def run(data: Data, name: str) -> Data:
    return next(r for each in data["sessions"] for r in each["runs"] if r["id"] == name)


def task(data: Data, name: str) -> Data:
    return next(t for each in data["sessions"] for t in each["tasks"] if t["id"] == name)


def shift(data: Data, name: str, by: dt.timedelta) -> None:
    spoilt = task(data, name)
    spoilt["start"], spoilt["end"] = spoilt["start"] + by, spoilt["end"] + by


def move_session(data: Data, uid: str, by: dt.timedelta) -> None:
    moved = session(data, uid)
    for part in (moved, *moved["tasks"]):
        part["start"], part["end"] = part["start"] + by, part["end"] + by
    for edge in ("window_start", "window_end"):
        moved[edge] += by
