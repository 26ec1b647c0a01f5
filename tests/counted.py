"""How much work something takes, in calls of functions: the same on every machine, however busy."""

from __future__ import annotations

import cProfile
import signal
from collections.abc import Callable
from types import FrameType
from typing import Any, TypeVar

Answer = TypeVar("Answer")
HANGS = 600.0
"""Seconds of computing after which something hangs: hundreds of times what any of these takes."""


def counted(do: Callable[[], Answer]) -> tuple[Answer, int]:
    """What `do` answers, and how many functions it called, in Python and below; children and
    threads of its own are not counted. Fails where it never ends."""
    profile = cProfile.Profile()
    before = signal.signal(signal.SIGVTALRM, _hangs)
    signal.setitimer(signal.ITIMER_VIRTUAL, HANGS)
    profile.enable()
    try:
        answer = do()
    finally:
        profile.disable()
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)
    return answer, sum(entry.callcount for entry in profile.getstats())


def _hangs(number: int, frame: FrameType | None) -> Any:
    raise AssertionError("it never ends")
