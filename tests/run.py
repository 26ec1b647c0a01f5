"""All checks: ruff, mypy --strict, pytest. Needs only Python 3.11+ and the network once.

python3 tests/run.py            everything, ten minutes or more
python3 tests/run.py --fast     without the tests that lay out whole seasons, a minute or more
python3 tests/run.py --slow     the long tests and benchmarks as well

The tests run in two processes; the slow ones in one.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "demo"))

from audit import CONSTRAINTS, audit  # noqa: E402  (needs the path above)
from calendar_tools import ready_calendar_tools  # noqa: E402
from environment import ready_python  # noqa: E402
from machine import ready_machine  # noqa: E402

TWO = ["-n", "2", "--dist", "loadfile", "--no-loadscope-reorder"]
"""Two processes, each file in one of them, so that what a file's tests share is made once; in the
order that tests/conftest.py gives."""


def main() -> int:
    """Runs each tool; the first that fails gives the exit code."""
    python = ready_python("dev", CONSTRAINTS)
    fast, slow = "--fast" in sys.argv[1:], "--slow" in sys.argv[1:]
    if not fast:
        ready_machine()
        ready_calendar_tools()
    commands = [
        ["-m", "ruff", "check", "."],
        ["-m", "ruff", "format", "--check", "."],
        ["-m", "mypy"],
        ["-m", "pytest", *TWO, "-m", "not slow and not heavy" if fast else "not slow"],
    ]
    if slow:
        commands.append(["-m", "pytest", "-m", "slow"])
    for command in commands:
        print(f"$ {' '.join(command[1:])}", flush=True)
        code = subprocess.run([python, *command], cwd=ROOT).returncode
        if code:
            return code
    found = [] if fast else audit(python)
    return 1 if found and slow else 0


if __name__ == "__main__":
    sys.exit(main())
