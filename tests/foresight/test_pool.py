"""Work in several processes: answers in order, faults passed on, nothing left behind by Ctrl-C."""

from __future__ import annotations

import functools
import multiprocessing
import operator
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from places import ROOT

from harvestplan.foresight.crew import crew

LONG = """
import os, sys, time
from harvestplan.foresight.crew import crew
if __name__ == "__main__":
    print("ready", flush=True)
    with crew() as team:
        team.each(time.sleep, [(3000,), (3000,)])
"""


def test_answers_come_in_the_order_of_the_tasks() -> None:
    heard: list[tuple[int, int]] = []
    with crew() as team:
        assert team.each(divmod, [(7, 2), (9, 4), (5, 5)], heard.append) == [(3, 1), (2, 1), (1, 0)]
        assert sorted(heard) == [(1, 0), (2, 1), (3, 1)]
        assert team.each(divmod, [(7, 2)]) == [(3, 1)]
        assert team.each(divmod, []) == []


def test_one_task_is_done_here() -> None:
    with crew(tasks=1) as team:
        assert team.each(os.getpid, [()]) == [os.getpid()]
        with pytest.raises(ZeroDivisionError):
            team.each(divmod, [(1, 0)])


def test_a_fault_is_passed_on_and_leaves_no_process() -> None:
    with pytest.raises(ZeroDivisionError), crew() as team:
        team.each(divmod, [(1, 0), (1, 1)])
    no_process_is_left()


def no_process_is_left() -> None:
    deadline = time.monotonic() + 300  # against hanging: it takes a moment
    while multiprocessing.active_children() and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not multiprocessing.active_children()


def test_what_is_stopped_gives_the_answers_there_are() -> None:
    """The long ones would sleep for an hour; they end with it."""

    def stop(answer: object) -> None:
        raise KeyboardInterrupt

    with crew() as team:
        assert team.until_stopped(time.sleep, [(3600,), (0,), (3600,)], stop) == [None, None, None]
        assert team.stopped
    no_process_is_left()
    with crew() as team:
        found = team.until_stopped(abs, [(-3,)] * 3, stop)
    assert 3 in found and set(found) <= {3, None}


def test_stopped_before_any_answer_it_ends() -> None:
    with pytest.raises(KeyboardInterrupt), crew() as team:
        team.until_stopped(interrupted, [(1,), (2,)], print)
    no_process_is_left()


def interrupted(number: int) -> int:
    raise KeyboardInterrupt


def test_chains_go_on_from_their_last_answers() -> None:
    """Each doubles until it passes a hundred."""
    answers: dict[int, list[int]] = {3: [], 7: []}

    def doubling(first: int, last: int | None) -> tuple[int, int] | None:
        if last is not None:
            answers[first].append(last)
        now = first if last is None else last
        return (now, 2) if now <= 100 else None

    with crew() as team:
        chains = [functools.partial(doubling, first) for first in answers]
        heard = list(team.chains(operator.mul, chains))
    assert answers == {3: [6, 12, 24, 48, 96, 192], 7: [14, 28, 56, 112]}
    assert sorted(heard) == sorted(answers[3] + answers[7])


def test_ctrl_c_ends_every_process(tmp_path: Path) -> None:
    script = tmp_path / "long.py"
    script.write_text(LONG, encoding="utf-8")
    child = subprocess.Popen(
        [sys.executable, str(script)],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    assert child.stdout is not None and child.stdout.readline()
    time.sleep(2)
    os.killpg(child.pid, signal.SIGINT)
    assert child.wait(600) != 0  # it takes a second; by itself it would sleep for fifty minutes
    child.stdout.close()
    with pytest.raises(ProcessLookupError):
        for _ in range(3000):  # against hanging: they are gone at once
            os.killpg(child.pid, 0)
            time.sleep(0.1)
