"""The child process that lays out strange repeat rules: a job on stdin, answers on stdout."""

from __future__ import annotations

import signal
import sys

from harvestplan.inputs.busy import expand_job
from harvestplan.inputs.busy_guard import CPU_SECONDS, MEMORY, READY, read_job, write_answer

_CPU_SECONDS = 60
"""Ends a child whose parent was killed; as a rule the parent ends it much sooner."""


def main() -> None:
    """Answer the job, one line for each series."""
    _limit()
    job = read_job(sys.stdin.read())
    print(READY, flush=True)
    _allow_work()
    for answer in expand_job(job):
        print(write_answer(answer), flush=True)
        _allow_work()


def _allow_work() -> None:
    """Lets the system end this process after so much more work, where the system can."""
    if sys.platform != "win32":
        signal.setitimer(signal.ITIMER_VIRTUAL, CPU_SECONDS)


def _limit() -> None:
    """Hold this process to its memory and time, where the system can."""
    try:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (_CPU_SECONDS, _CPU_SECONDS))
    except (ImportError, ValueError, OSError):
        return  # the parent's clock still holds it


if __name__ == "__main__":
    main()
