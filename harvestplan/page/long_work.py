"""Long work in processes of its own, so that the page stays quick: planning, forecasts, questions.

A job goes to the process as one line of JSON; lines of JSON come back: what it says on the way,
and at the end its result, or why there is none. A process whose server is gone ends by itself.
"""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, field
from typing import Any, Literal

MOST_LINES = 400


@dataclass
class LongJob:
    """One piece of work; `changed` counts up with everything that is new of it."""

    kind: str
    asked: dict[str, Any]
    process: subprocess.Popen[str]
    began: float = field(default_factory=time.time)
    lines: list[str] = field(default_factory=list)
    state: Literal["running", "done", "failed"] = "running"
    result: dict[str, Any] = field(default_factory=dict)
    trouble: str = ""
    changed: int = 0
    ended: float = 0.0
    over: threading.Event = field(default_factory=threading.Event)
    mark: str = ""
    """What the season was when it was asked of, for who asked."""

    @property
    def seconds(self) -> float:
        """How long it has been at work."""
        return (self.ended or time.time()) - self.began


class LongWork:
    """The jobs of a server; of each kind and name one at a time."""

    def __init__(self) -> None:
        self._jobs: dict[str, LongJob] = {}
        self._lock = threading.Lock()

    def begin(self, name: str, kind: str, asked: dict[str, Any]) -> LongJob:
        """Begin a job under a name, or give the one that is running under it."""
        with self._lock:
            running = self._jobs.get(name)
            if running is not None and running.state == "running":
                return running
            job = LongJob(kind, asked, _process())
            self._jobs[name] = job
        threading.Thread(target=_listen, args=(job,), daemon=True).start()
        return job

    def job(self, name: str) -> LongJob | None:
        """The last job under this name."""
        return self._jobs.get(name)

    def drop(self, name: str) -> None:
        """Forget a job; one that is running is ended."""
        with self._lock:
            job = self._jobs.pop(name, None)
        if job is not None and job.state == "running":
            job.process.kill()

    def enough(self, name: str) -> None:
        """Have a running job end with the best it has."""
        job = self._jobs.get(name)
        if job is None or job.state != "running" or job.process.stdin is None:
            return
        try:
            job.process.stdin.write("enough\n")
            job.process.stdin.flush()
        except (OSError, ValueError):
            pass  # it has just ended

    def close(self) -> None:
        """End all that is running."""
        for name in list(self._jobs):
            self.drop(name)


def _process() -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "harvestplan.page.worker"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        encoding="utf-8",
        errors="replace",
        # Ctrl-C at the terminal is meant for the server, which ends its processes itself.
        start_new_session=True,
    )


def _listen(job: LongJob) -> None:
    process = job.process
    assert process.stdin is not None and process.stdout is not None
    try:
        process.stdin.write(json.dumps({"kind": job.kind, **job.asked}) + "\n")
        process.stdin.flush()
        for line in process.stdout:
            _heard(job, json.loads(line))
    except (OSError, ValueError):
        pass
    process.wait()
    if job.state == "running":
        job.state, job.trouble = "failed", job.trouble or "It was ended before it was done."
    job.ended = time.time()
    job.changed += 1
    job.over.set()
    for stream in (process.stdin, process.stdout):
        with contextlib.suppress(OSError):
            stream.close()


def _heard(job: LongJob, told: dict[str, Any]) -> None:
    if "say" in told:
        job.lines = [*job.lines, str(told["say"])][-MOST_LINES:]
    elif "result" in told:
        job.state, job.result = "done", told["result"]
    elif "trouble" in told:
        job.state, job.trouble = "failed", str(told["trouble"])
    job.changed += 1
