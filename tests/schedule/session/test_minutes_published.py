"""The minute model reaches and proves published makespans (sources in tests/data)."""

from __future__ import annotations

import dataclasses

import pytest
from benchmarks.judged_times import faults
from benchmarks.published import job_shops, projects
from each_case import each

from harvestplan.kitchen.layout import TICK
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import DoesNotFit, Pool, SessionTasks, SessionTimes

EFFORT = 30.0
"""Deterministic seconds; the hardest, ft10, needs about one."""
JOB_SHOPS, PROJECTS = job_shops(), projects()


def scaled(asked: SessionTasks, by: int) -> SessionTasks:
    """The same session with every time so many times as long."""
    tasks = tuple(dataclasses.replace(t, seconds=t.seconds * by) for t in asked.tasks)
    return dataclasses.replace(asked, tasks=tasks, length=asked.length * by)


def test_the_sets_are_complete() -> None:
    lawrence = {f"la{n:02d}" for n in range(1, 21)}
    assert set(JOB_SHOPS) == {"ft06", "ft10"} | lawrence
    assert set(PROJECTS) == {f"j30_1_{n}" for n in range(1, 11)}


@each("name", [*JOB_SHOPS, *PROJECTS])
def test_the_published_makespan_is_reached_and_proven(name: str) -> None:
    asked, makespan = (JOB_SHOPS | PROJECTS)[name]
    found = time_session(asked, EFFORT)
    assert isinstance(found, SessionTimes)
    assert faults(asked, found.times) == []
    assert found.proven
    assert found.length == found.bound == makespan


@pytest.mark.parametrize("name", ["ft06", "la01", "j30_1_1", "j30_1_4"])
def test_a_list_schedule_before_it_changes_nothing(name: str) -> None:
    asked, makespan = (JOB_SHOPS | PROJECTS)[name]
    found = time_session(scaled(asked, TICK), EFFORT)
    assert isinstance(found, SessionTimes)
    assert faults(scaled(asked, TICK), found.times) == []
    assert (found.length, found.bound) == (makespan * TICK, makespan * TICK)


@pytest.mark.parametrize("name", ["ft06", "la01", "j30_1_1", "j30_1_6"])
def test_it_fits_the_published_makespan_and_no_less(name: str) -> None:
    asked, makespan = (JOB_SHOPS | PROJECTS)[name]
    found = time_session(dataclasses.replace(asked, length=makespan), EFFORT)
    assert isinstance(found, SessionTimes)
    assert found.length == makespan
    shorter = dataclasses.replace(asked, length=makespan - 1)
    assert time_session(shorter, EFFORT) == DoesNotFit(proven=True)


def test_more_than_a_pool_holds_never_fits() -> None:
    asked, _ = PROJECTS["j30_1_1"]
    key, taken = next(iter(asked.pools[0].uses.items()))
    small = Pool(taken - 1, {key: taken})
    assert time_session(dataclasses.replace(asked, pools=(small,))) == DoesNotFit(proven=True)
