"""The picks of a planting along its ripening curve: those made, and those still to come.

Days count from the first pick; a pick on a day takes what ripens from then to the day before the
next. What is not picked in time stands for some days (squash and beans gain size), then is lost.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from harvestplan.forecast.amounts import YieldSpread, daily_shares
from harvestplan.forecast.clock import DAY, as_days
from harvestplan.forecast.thermal import Floats
from harvestplan.inputs.growing import Picking

WEIGHT = ((0.1, 0.5, 1.0), (0.2, 0.6, 0.9))
"""How much the picks so far say of those to come, by the share of the season expected to be picked
by then: little after the first pick, most near the end; own judgement. Quantity is hard: with
weekly counts of green fruit strawberries were still missed by 35-40 % (Deschenes & Boivin 2017,
Acta Horticulturae 1156:465, abstract seen)."""

MOST_RATIO = 4.0
"""Picked ÷ expected counts no further than this, either way: beyond it something else went on;
own judgement."""

ONE_PICK = (0.6, 1 / 0.6)
"""One pick alone moves the rest of the season no further than this; own judgement."""


@dataclass(frozen=True)
class Rhythm:
    """What ripens each day (share of the season's yield, days after the first pick), the days
    between picks, and how many days a ripe pick stands. Frost has already cut `daily` short."""

    daily: Floats
    every: int
    stands: int
    frost: bool

    def taken(self, day: int, covered: int) -> float:
        """The share a pick on `day` brings when all that ripens before `covered` is picked."""
        reach, stop = self._stretch(day, covered)
        return float(self.daily[reach:stop].sum())

    def _stretch(self, day: int, covered: int) -> tuple[int, int]:
        """The days whose food a pick on `day` takes: from the first to before the last."""
        reach = max(covered, day - self.stands, 0)
        return reach, max(day + self.every, reach)

    def stretches(self, begin: int, covered: int) -> list[tuple[int, int, int]]:
        """Picks from day `begin` on as (day, first day whose food it takes, day before which)."""
        last = len(self.daily)
        over = last if self.frost else last + self.stands
        found = []
        day = max(begin, covered)
        while day < over and covered < last:
            found.append((day, *self._stretch(day, covered)))
            covered = day + self.every
            day = covered
        return found

    def coming(self, begin: int, covered: int) -> list[tuple[int, float]]:
        """Picks from day `begin` on as (day, share)."""
        found = [
            (day, float(self.daily[reach:stop].sum()))
            for day, reach, stop in self.stretches(begin, covered)
        ]
        return [(day, share) for day, share in found if share > 0]


def rhythm_of(picking: Picking, warmth: Floats, ends: int | None) -> Rhythm:
    """The rhythm of a crop whose weeks are as warm against normal as `warmth` says, and that frost
    ends after `ends` days, or not."""
    daily = daily_shares(picking, warmth)
    last = len(daily) if ends is None else min(max(ends, 0), len(daily))
    stands = math.floor(picking.stands.value / DAY)
    return Rhythm(daily[:last], as_days(picking.every), stands, frost=last < len(daily))


@dataclass(frozen=True)
class Learnt:
    """What the picks so far say: all that ripens before `covered` is picked or lost; the rest of
    the season is `factor` times what was expected, as surely as `weight` says (0 to 1)."""

    covered: int = 0
    factor: float = 1.0
    weight: float = 0.0
    expected: float = 0.0

    def rest(self, total: YieldSpread, share: float) -> YieldSpread:
        """Grams of a coming pick. The log-normal spread shrinks with what is known, as that of a
        weighted mean of two log-normal guesses does."""
        likely = total.p50 * share * self.factor
        if total.p50 <= 0:
            return YieldSpread(0.0, 0.0, 0.0)
        left = math.sqrt(1 - self.weight)
        low, high = ((edge / total.p50) ** left for edge in (total.p10, total.p90))
        return YieldSpread(likely * low, likely, likely * high)


def learn(rhythm: Rhythm, picked: Mapping[int, float], total: YieldSpread) -> Learnt:
    """Compare picks (grams by day) with what the curve expected of them.

    The factor is the ratio of the two, weighted on the log scale; several picks in one day are
    one. What was expected leaves out what no pick came in time for.
    """
    if not picked:
        return Learnt()
    covered, share = 0, 0.0
    for day in sorted(picked):
        share += rhythm.taken(day, covered)
        covered = max(covered, day + rhythm.every)
    expected = share * total.p50
    if expected <= 0:
        return Learnt(covered)
    passed = float(rhythm.daily[:covered].sum() / rhythm.daily.sum())
    weight = float(np.interp(passed, *WEIGHT))
    ratio = min(max(sum(picked.values()) / expected, 1 / MOST_RATIO), MOST_RATIO)
    factor = ratio**weight
    if len(picked) == 1:
        factor = min(max(factor, ONE_PICK[0]), ONE_PICK[1])
    return Learnt(covered, factor, weight, expected=expected)
