"""What who waits for a long question hears: beforehand how long it takes, then how far it is."""

from __future__ import annotations

import os
import time
from collections.abc import Callable

from harvestplan.words import time_left

Say = Callable[[str], None]
WORTH_TELLING = 60.0
"""Seconds from which on a question is said beforehand to take long."""
USUAL = 2000
"""Ways of putting by in a household's season, for which the seconds of a question are known."""


def how_long(tasks: int, seconds: float, options: int) -> str:
    """A sentence where so many tasks of so many seconds each (on one processor, in a season of the
    usual size) will take over a minute here; else nothing."""
    whole = tasks * seconds * options / USUAL / (os.cpu_count() or 1)
    if whole < WORTH_TELLING:
        return ""
    minutes = max(2, round(whole / 60))
    return f" This may take some {minutes} minutes; Ctrl-C ends it with what is known by then."


class Patience:
    """Says after answers how many are there and about how long the others will take."""

    def __init__(self, whole: int, told: str, say: Say, every: int = 1) -> None:
        """`told` is a sentence without full stop, with {done} and {all}, said after so many
        answers each time."""
        self._whole, self._told, self._say, self._every = whole, told, say, every
        self._done, self._began = 0, time.monotonic()

    def __call__(self, answer: object = None) -> None:
        """One more answer is there."""
        self._done += 1
        if self._done % self._every:
            return
        passed = time.monotonic() - self._began
        left = time_left(passed * max(0, self._whole - self._done) / self._done)
        told = self._told.format(done=self._done, all=self._whole)
        self._say(f"{told}; {left}." if left else f"{told}.")
