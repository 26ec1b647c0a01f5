"""A command at a pseudo-terminal, with somebody who answers its questions."""

from __future__ import annotations

import os
import pty
import select
import sys
import time

from places import ROOT

ENV = {**os.environ, "PYTHONPATH": str(ROOT), "TZ": "America/New_York"}
HANGS = 600.0
"""Seconds after which a command that waits for something is ended; it takes one or two."""


def talk(words: list[str], answers: list[tuple[str, str]]) -> tuple[str, int]:
    """Runs a command at a pseudo-terminal: each answer is typed at the prompt that ends so."""
    child, terminal = pty.fork()
    if child == 0:  # pragma: no cover - the other process
        os.execve(sys.executable, [sys.executable, "-m", "harvestplan", *words], ENV)
    shown, left, since = "", list(answers), 0
    until = time.monotonic() + HANGS
    while time.monotonic() < until:
        if select.select([terminal], [], [], 0.1)[0]:
            try:
                shown += os.read(terminal, 4096).decode("utf-8", "replace")
            except OSError:
                break
        if left and shown[since:].rstrip(" ").endswith(":") and left[0][0] in shown[since:]:
            os.write(terminal, (left.pop(0)[1] + "\n").encode())
            since = len(shown)
    else:
        os.kill(child, 9)
    return shown.replace("\r\n", "\n"), os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
