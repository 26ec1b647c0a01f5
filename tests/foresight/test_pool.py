"""Work in two processes: answers in order, faults passed on, nothing left behind by Ctrl-C."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from places import ROOT

from harvestplan.foresight.worker_processes import in_parallel

LONG = """
import os, sys, time
from harvestplan.foresight.worker_processes import in_parallel
if __name__ == "__main__":
    print("ready", flush=True)
    in_parallel(time.sleep, [(3000,), (3000,)])
"""


def test_answers_come_in_the_order_of_the_tasks() -> None:
    assert in_parallel(divmod, [(7, 2), (9, 4), (5, 5)]) == [(3, 1), (2, 1), (1, 0)]
    assert in_parallel(divmod, [(7, 2)]) == [(3, 1)]
    assert in_parallel(divmod, []) == []


def test_a_fault_is_passed_on_and_leaves_no_process() -> None:
    with pytest.raises(ZeroDivisionError):
        in_parallel(divmod, [(1, 0), (1, 1)])
    deadline = time.monotonic() + 300  # against hanging: it takes a moment
    while multiprocessing.active_children() and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not multiprocessing.active_children()


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
