"""The book of machine settings: where to start, and how a household finds its own.

Each try tells one of two things of a number of seconds: it held, or it failed (a pump-down that
foamed). The longest that held and the shortest that failed bracket the household's own limit; the
next try halves the bracket. One failing is believed over a longer one that held before it: food
and film differ from lot to lot, and the safe side is the shorter.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from harvestplan.inputs.crops import Product
from harvestplan.inputs.season_kitchen import Pouch
from harvestplan.kitchen.sealing import CycleSettings, settings_for

GROWTH = 1.25
"""While nothing has failed yet, the next try is a quarter longer (common practice, no source)."""
LONGEST = 60.0
"""No pump-down of a household chamber is set longer, s (from memory)."""


@dataclass(frozen=True)
class Try:
    """A setting in s as the household noted it, in order of time."""

    seconds: float
    held: bool


Tries = Mapping[str, Sequence[Try]]
"""Tries of the pump-down by product, "crop, form"."""


@dataclass(frozen=True)
class Bracket:
    """The longest setting that held and the shortest that failed, s; None where unknown."""

    held: float | None
    failed: float | None

    @property
    def settled(self) -> bool:
        """Whether no whole second lies between the two."""
        return self.held is not None and self.failed is not None and not self._between()

    def middle(self) -> float:
        """The whole second nearest the middle, halves rounded down; what held, once settled.

        Raises ValueError where either end is unknown.
        """
        if self.held is None or self.failed is None:
            raise ValueError("a middle needs a setting that held and one that failed")
        inside = self._between()
        if not inside:
            return self.held
        middle = math.ceil((self.held + self.failed) / 2 - 0.5)
        return float(min(max(middle, inside[0]), inside[-1]))

    def _between(self) -> range:
        assert self.held is not None and self.failed is not None
        return range(math.floor(self.held) + 1, math.ceil(self.failed))


@dataclass(frozen=True)
class SettingAdvice:
    """What the book says of a product: the setting to use, the one to try next, and why."""

    use: float
    next_try: float
    bracket: Bracket


def starting(product: Product, pouch: Pouch) -> CycleSettings:
    """The book's first page for a product in a pouch: values of the trade, not yet its own."""
    return settings_for(product, pouch)


def own_settings(product: Product, pouch: Pouch, tries: Sequence[Try]) -> CycleSettings:
    """The book's settings as the household's tries have changed them: what plans are made with."""
    start = starting(product, pouch)
    own = entry(start.pump_down, tries)
    if not tries or own.use == start.pump_down:
        return start
    return replace(start, pump_down=own.use, note=f"{start.note} (pump-down as you found it)")


def bracket(tries: Sequence[Try]) -> Bracket:
    """What all tries say together.

    A failure drops every longer or equal setting that held before it; one that held later at or
    above an old failure drops that failure: the newest word counts.
    """
    held: list[float] = []
    failed: list[float] = []
    for each in tries:
        if each.held:
            failed = [seconds for seconds in failed if seconds > each.seconds]
            held.append(each.seconds)
        else:
            held = [seconds for seconds in held if seconds < each.seconds]
            failed.append(each.seconds)
    return Bracket(max(held, default=None), min(failed, default=None))


def entry(start: float, tries: Sequence[Try]) -> SettingAdvice:
    """The setting to use and the next to try, from the trade's `start` in s and the tries.

    Uses the longest that held; before anything held, the start or half of what failed, whichever
    is shorter. The next try is the middle of the bracket to the second.
    """
    found = bracket(tries)
    low, high = found.held, found.failed
    if low is None and high is None:
        return SettingAdvice(start, start, found)
    if high is None:
        assert low is not None
        return SettingAdvice(low, min(LONGEST, float(round(low * GROWTH))), found)
    if low is None:
        shorter = min(start, float(max(1, round(high / 2))))
        return SettingAdvice(shorter, shorter, found)
    return SettingAdvice(low, found.middle(), found)
