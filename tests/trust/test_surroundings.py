"""Another number of threads, another zone, new rules of time: the plan stays what it was."""

from __future__ import annotations

import importlib.resources
import json
import os
import subprocess
import sys
import zoneinfo
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from places import ROOT
from trust.forked import run
from trust.small_folder import write_small

SPRING, EVE, MORNING, LATE = "2027-05-01", "2027-06-04", "2027-06-05", "2027-06-20"


def sessions(folder: Path) -> list[dict[str, Any]]:
    plan = json.loads((folder / "out" / "plan.json").read_text(encoding="utf-8"))
    return [session for session in plan["sessions"] if session["status"] != "cancelled"]


def new_rules(folder: str) -> None:
    """The zone data of `folder` in place of the computer's."""
    zoneinfo.reset_tzpath(to=[folder])
    zoneinfo.ZoneInfo.clear_cache()


@pytest.fixture
def without_summer_time(tmp_path: Path) -> Path:
    """Zone data in which Chicago keeps to one time all the year, as Regina does."""
    folder = tmp_path / "zones" / "America"
    folder.mkdir(parents=True)
    regina = importlib.resources.files("tzdata").joinpath("zoneinfo/America/Regina")
    (folder / "Chicago").write_bytes(regina.read_bytes())
    return folder.parent


def plan(folder: Path, day: str, rules: Path | None = None) -> Any:
    words = ["plan", "--quiet", "--as-of", day, "--in", str(folder)]
    return run(words, partial(new_rules, str(rules)) if rules else None)


@pytest.mark.parametrize("day", [EVE, MORNING, LATE])
def test_new_rules_of_a_zone_between_two_plans_keep_the_clock_time(
    tmp_path: Path, without_summer_time: Path, day: str
) -> None:
    """Planned, firm or done: on Saturday at nine stays on Saturday at nine."""
    folder = write_small(tmp_path / "season")
    assert plan(folder, SPRING).code == 0
    (before,) = sessions(folder)
    assert before["start"] == "2027-06-05T09:00:00-05:00"
    again = plan(folder, day, without_summer_time)
    assert again.code == 0, again.told
    (after,) = sessions(folder)
    assert after["uid"] == before["uid"]
    assert after["start"] == "2027-06-05T09:00:00-06:00"
    assert (after["uid"], after["sequence"]) == (before["uid"], before["sequence"] + 1)
    assert after["status"] == {EVE: "firm", MORNING: "firm", LATE: "done"}[day]
    check = run(["check", "--in", str(folder)], partial(new_rules, str(without_summer_time)))
    assert check.code == 0, check.said
    third = plan(folder, day, without_summer_time)
    assert third.code == 0 and sessions(folder) == [after]


def test_the_judge_sees_that_the_rules_have_changed(
    tmp_path: Path, without_summer_time: Path
) -> None:
    folder = write_small(tmp_path / "season")
    assert plan(folder, SPRING).code == 0
    check = run(["check", "--in", str(folder)], partial(new_rules, str(without_summer_time)))
    assert check.code == 4
    assert "V1" in check.said and "harvestplan plan" in check.told


def test_a_household_that_moves_to_another_zone_keeps_its_evenings(tmp_path: Path) -> None:
    folder = write_small(tmp_path / "season")
    assert plan(folder, EVE).code == 0
    path = folder / "household.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("America/Chicago", "Europe/London"))
    again = plan(folder, EVE)
    assert again.code == 0, again.told
    (session,) = sessions(folder)
    assert session["start"] == "2027-06-05T09:00:00+01:00"


def test_sound_rules_change_no_byte(tmp_path: Path) -> None:
    folder = write_small(tmp_path / "season")
    assert plan(folder, SPRING).code == 0
    before = (folder / "out" / "plan.json").read_bytes()
    assert plan(folder, SPRING).code == 0
    assert (folder / "out" / "plan.json").read_bytes() == before


THREADS = [
    {},
    {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "64"},
    {"OMP_NUM_THREADS": "no number", "OPENBLAS_NUM_THREADS": "-3"},
    {"OMP_NUM_THREADS": "100000", "PYTHONHASHSEED": "7"},
]


def story(folder: Path) -> dict[str, Any]:
    """The plan without when it was made and how long it took."""
    told: dict[str, Any] = json.loads((folder / "out" / "plan.json").read_text("utf-8"))
    del told["made_at"]
    del told["proof"]["seconds"]
    return told


def test_the_number_of_threads_and_processors_changes_nothing(tmp_path: Path) -> None:
    plans = []
    for number, more in enumerate(THREADS):
        folder = write_small(tmp_path / "season")
        environment = os.environ | {"PYTHONPATH": str(ROOT)} | more
        one = ["taskset", "-c", "0"] if number == 1 and sys.platform == "linux" else []
        command = [
            *one,
            sys.executable,
            "-m",
            "harvestplan",
            "plan",
            "--quiet",
            "--as-of",
            SPRING,
            "--in",
            str(folder),
        ]
        done = subprocess.run(command, env=environment, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
        plans.append(story(folder))
        (folder / "out" / "plan.json").unlink()
    assert all(told == plans[0] for told in plans)
