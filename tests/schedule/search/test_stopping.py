"""Ctrl-C while planning: the best plan so far is written, with what was proven by then."""

from __future__ import annotations

import datetime as dt
import os
import random
import signal
import subprocess
import sys
import threading
from collections.abc import Sequence
from pathlib import Path

import pytest
from ortools.sat.python import cp_model
from places import ROOT

from harvestplan.check import check_plan
from harvestplan.new_season.starter import Answers, write_starter
from harvestplan.plan.file import read_plan
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search import levels
from harvestplan.schedule.search.levels import Effort
from harvestplan.schedule.search.one_level import LevelSearch
from harvestplan.schedule.search.policies import POLICIES, Policy
from harvestplan.schedule.solver_call import one_worker, solve

SPRING = dt.date(2027, 4, 1)


def test_stopped_in_the_middle_of_a_level(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_starter(tmp_path, Answers.example(SPRING))
    household = read_household(tmp_path, SPRING)

    class Stopped(Policy):
        def search(self, search: LevelSearch, near: Sequence[int] | None = None) -> None:
            raise KeyboardInterrupt

    monkeypatch.setattr(levels, "POLICIES", {**POLICIES, "evenings": Stopped()})
    plan = make_plan(household, SPRING, None, effort=Effort(), say=lambda text: None)
    assert check_plan(plan, household) == ()
    assert [row.level for row in plan.proof] == [
        "wants",
        "change",
        "evenings",
        "overtime",
        "waiting",
    ]
    rows = {row.level: row for row in plan.proof}
    assert rows["wants"].status == "optimal"
    assert all(row.bound <= row.value for row in plan.proof)
    assert "stopped" in {advice.code for advice in plan.warnings}


def test_stopped_before_there_is_any_plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_starter(tmp_path, Answers.example(SPRING))
    household = read_household(tmp_path, SPRING)

    def stop(search: LevelSearch) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(LevelSearch, "begin", stop)
    with pytest.raises(KeyboardInterrupt):
        make_plan(household, SPRING, None, effort=Effort(), say=lambda text: None)


def test_control_c_while_a_model_is_solved() -> None:
    """Four sums to be hit at once by forty switches: nothing but trying helps (Cornuéjols, Dawande
    1998, "A class of hard small 0-1 programs", IPCO; source from memory)."""
    draw = random.Random(1)
    model = cp_model.CpModel()
    switches = [model.new_bool_var("") for _ in range(40)]
    for _ in range(4):
        weights = [draw.randrange(100) for _ in switches]
        model.add(cp_model.LinearExpr.weighted_sum(switches, weights) == sum(weights) // 2)
    timer = threading.Timer(0.5, os.kill, (os.getpid(), signal.SIGINT))
    with pytest.raises(KeyboardInterrupt):
        timer.start()
        for seed in range(1000):  # whichever is under way
            solve(one_worker(5.0, seed), model)
    timer.join()


def test_control_c_at_the_keyboard(tmp_path: Path) -> None:
    write_starter(tmp_path, Answers.example(SPRING))
    command = [sys.executable, "-m", "harvestplan", "plan", "--in", str(tmp_path)]
    with subprocess.Popen(
        [*command, "--as-of", SPRING.isoformat()],
        cwd=ROOT,
        stderr=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as run:
        assert run.stderr is not None
        for line in run.stderr:
            if line.startswith("wants:"):
                run.send_signal(signal.SIGINT)
                break
        _, errors = run.communicate(timeout=600)  # against hanging: it takes some seconds
    assert run.returncode == 0, errors
    assert "Traceback" not in errors
    assert read_plan(tmp_path / "out" / "plan.json").sessions
