"""Lay out strange repeat rules in a child process, so that none can hang or fill the computer.

The child answers series by series. One that takes too long, or brings the child down, is given
up, and a new child goes on with the rest.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import json
import os
import queue
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import IO

from harvestplan.inputs.busy_blocks import Block

CHILD = "harvestplan.inputs.busy_child"
READY = "ready"
START_SECONDS = 120.0
"""For the child to load its libraries: a second, which a slow and busy computer may draw out."""
SECONDS = 8.0
"""For one series by the clock on the wall, on a computer however busy."""
CPU_SECONDS = 2.0
"""For one series, of work; a sound one takes milliseconds. Kept by the child, where it can."""
MEMORY = 1_000_000_000
_MOST_CHILDREN = 5

Interval = tuple[dt.datetime, dt.datetime]
"""Start and end in UTC."""
Answer = tuple[list[Interval], list[str]]
"""Busy spans of a series, and warnings."""


@dataclass(frozen=True)
class Job:
    """What the child needs: the file's name, household zone, days, time zones and series."""

    name: str
    zone: str
    first: dt.date
    last: dt.date
    zones: list[Block]
    series: list[list[Block]]


def guarded(job: Job) -> Iterator[Answer | None]:
    """For each series what the child found, or None where it had to be given up."""
    left, children = job, 0
    while left.series and children < _MOST_CHILDREN:
        children += 1
        answered = 0
        for answer in _one_child(left):
            answered += 1
            yield answer
        given_up = answered < len(left.series)
        if given_up:
            yield None
        left = replace(left, series=left.series[answered + given_up :])
    yield from [None] * len(left.series)


def _one_child(job: Job) -> Iterator[Answer]:
    """Answers in order, up to the first that does not come in time."""
    # The child finds the package where this process found it, installed or not.
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
    child = subprocess.Popen(
        [sys.executable, "-m", CHILD],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env=environment,
        text=True,
        encoding="utf-8",
    )
    assert child.stdin is not None and child.stdout is not None
    lines: queue.Queue[str] = queue.Queue()
    reader = threading.Thread(target=_forward, args=(child.stdout, lines), daemon=True)
    reader.start()
    try:
        with contextlib.suppress(BrokenPipeError), child.stdin as pipe:
            pipe.write(write_job(job))
        if lines.get(timeout=START_SECONDS).strip() != READY:
            return
        for _ in job.series:
            line = lines.get(timeout=SECONDS)
            if not line:
                return
            yield _read_answer(line)
    except (queue.Empty, ValueError):
        return
    finally:
        child.kill()
        child.wait()
        reader.join()
        child.stdout.close()


def _forward(stream: IO[str], lines: queue.Queue[str]) -> None:
    for line in stream:
        lines.put(line)
    lines.put("")


def write_job(job: Job) -> str:
    """The job as one JSON text."""
    data = vars(job) | {"first": job.first.isoformat(), "last": job.last.isoformat()}
    data["zones"] = [vars(block) for block in job.zones]
    data["series"] = [[vars(block) for block in blocks] for blocks in job.series]
    return json.dumps(data)


def read_job(text: str) -> Job:
    """The reverse of `write_job`."""
    data = json.loads(text)

    def block(found: dict[str, object]) -> Block:
        return Block(str(found["kind"]), int(str(found["line"])), _lines(found["lines"]))

    return Job(
        data["name"],
        data["zone"],
        dt.date.fromisoformat(data["first"]),
        last=dt.date.fromisoformat(data["last"]),
        zones=[block(found) for found in data["zones"]],
        series=[[block(found) for found in blocks] for blocks in data["series"]],
    )


def _lines(found: object) -> tuple[str, ...]:
    return tuple(str(line) for line in found) if isinstance(found, list) else ()


def write_answer(answer: Answer) -> str:
    """An answer as one line of JSON."""
    spans, warnings = answer
    return json.dumps([[[a.isoformat(), b.isoformat()] for a, b in spans], warnings])


def _read_answer(line: str) -> Answer:
    spans, warnings = json.loads(line)
    moment = dt.datetime.fromisoformat
    return [(moment(begin), moment(end)) for begin, end in spans], [str(said) for said in warnings]
