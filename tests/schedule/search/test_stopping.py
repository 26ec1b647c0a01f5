"""Ctrl-C while planning: the best plan so far is written, with what was proven by then."""

from __future__ import annotations

import datetime as dt
import itertools
import os
import random
import signal
import subprocess
import sys
import threading
from collections.abc import Collection
from pathlib import Path

import pytest
from ortools.sat.python import cp_model
from places import ROOT

from harvestplan.check import check_plan
from harvestplan.new_season.starter import Answers, write_starter
from harvestplan.plan.file import read_plan
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.schedule.search import season_search
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.season_search import SeasonSearch
from harvestplan.schedule.solver_call import one_worker, solve

SPRING = dt.date(2027, 4, 1)


def test_stopped_in_the_middle(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While it looks nearby: the plan so far stands, and branch and bound ends as well."""
    write_starter(tmp_path, Answers.example(SPRING))
    household = read_household(tmp_path, SPRING)
    looked = SeasonSearch._look_into
    count = itertools.count()

    def stopped(search: SeasonSearch, free: Collection[int]) -> tuple[float, bool]:
        if next(count) == 2:
            raise KeyboardInterrupt
        return looked(search, free)

    monkeypatch.setattr(season_search, "SMALL", 0)  # else branch and bound settles it alone
    monkeypatch.setattr(SeasonSearch, "_look_into", stopped)
    running = threading.active_count()
    plan = make_plan(household, SPRING, None, effort=Effort(), say=lambda text: None)
    assert check_plan(plan, household) == ()
    assert plan.sessions
    assert "stopped" in {advice.code for advice in plan.warnings}
    assert threading.active_count() == running


def test_stopped_before_there_is_any_plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_starter(tmp_path, Answers.example(SPRING))
    household = read_household(tmp_path, SPRING)

    def stop(search: SeasonSearch, published: Collection[int]) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(SeasonSearch, "begin", stop)
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
            if line.startswith("So far"):
                run.send_signal(signal.SIGINT)
                break
        _, errors = run.communicate(timeout=600)  # against hanging: it takes some seconds
    assert run.returncode == 0, errors
    assert "Traceback" not in errors
    assert read_plan(tmp_path / "out" / "plan.json").sessions
