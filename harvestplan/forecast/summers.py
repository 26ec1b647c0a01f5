"""Whole summers that a planting may meet: its date, its yield, frost and failure together.

A week's amount is uncertain in many ways at once, and most of all in whether the picking has begun.
So each of some hundred summers has a first pick, with the past year and the need behind it, a good
or poor yield, the frost of that year, or a failure; what the weeks bring is counted in all of them.
"""

from __future__ import annotations

import math
import zlib
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from harvestplan.forecast.amounts import YieldSpread
from harvestplan.forecast.ensemble import P90, FirstPick
from harvestplan.forecast.thermal import Floats

SUMMERS = 420
"""As many for each planting, and the n-th of two plantings in the same past year wherever both know
the same years, so that they can be added up."""

FAILS = 0.05
"""Share of plantings that bring nothing: seed that does not come up, slugs, hail, blight; common
practice, no source."""

_NORMAL = np.array([NormalDist().inv_cdf((k + 0.5) / SUMMERS) for k in range(SUMMERS)])

Whole = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Summers:
    """What each pick brings in each summer: `days` (after the clock's start) and `grams`, both of
    shape (picks, SUMMERS)."""

    days: Whole
    grams: Floats

    def weekly(self, start: int) -> dict[int, Floats]:
        """Grams of each summer by week (whole weeks since Monday, 1 January of the year 1), where
        day 0 has the ordinal `start`."""
        if not self.grams.any():
            return {}
        week = (self.days + start - 1) // 7
        first = int(week.min())
        summer = np.broadcast_to(np.arange(SUMMERS), week.shape)
        cells = ((week - first) * SUMMERS + summer).ravel()
        sums = np.bincount(cells, weights=self.grams.ravel())
        sums = np.pad(sums, (0, -len(sums) % SUMMERS)).reshape(-1, SUMMERS)
        found: list[Floats] = list(sums)
        return {first + n: row for n, row in enumerate(found) if row.any()}

    def totals(self) -> Floats:
        found: Floats = self.grams.sum(axis=0)
        return found


@dataclass(frozen=True)
class Chances:
    """How a planting's summers differ in what they bring: the spread of its whole yield, how much
    of that spread is left, and the share of failures."""

    total: YieldSpread
    left: float
    fails: float


def first_days(first: FirstPick, name: str) -> tuple[Whole, Whole]:
    """The day of the first pick in each summer, and how far its past year lies (`moved`).

    Years stand in the same order for every planting, so that frosts and warm spells meet plantings
    together; which needs go with them is the planting's own.
    """
    moved = np.zeros(first.days.size, dtype=np.int64) if first.moved is None else first.moved
    order = np.argsort(moved, kind="stable")
    _, begins, inverse, sizes = np.unique(
        moved[order], return_index=True, return_inverse=True, return_counts=True
    )
    place = (np.arange(SUMMERS) * first.days.size) // SUMMERS
    group = inverse[place]
    turn = _draws(name, "need").random(len(sizes))
    inside = (place - begins[group] + (turn * sizes)[group].astype(np.int64)) % sizes[group]
    chosen = order[begins[group] + inside]
    return first.days[chosen].astype(np.int64), moved[chosen]


def share_by(ripe: Floats, day: Whole) -> Floats:
    """The share that is ripe before each day (after the first pick), (days, SUMMERS), from the
    shares by the end of each week; within a week the same each day."""
    last = len(ripe) - 1
    at = np.clip(day / 7, 0, last)
    week = np.minimum(at.astype(np.int64), last - 1)
    inside = (at - week)[:, None]
    found: Floats = ripe[week] + (ripe[week + 1] - ripe[week]) * inside
    return found


def eight_in_ten(grams: Floats) -> tuple[float, float]:
    """P10, and what holds eight tenths of the summers together with it: P90 as a rule, P80 where
    more than one summer in ten brings nothing, below which there is nothing."""
    low = float(np.quantile(grams, 0.1))
    below = float((grams < low).mean())
    return low, float(np.quantile(grams, min(below + 0.8, 1.0)))


def factors(chances: Chances, name: str) -> Floats:
    """What each summer's yield is over the likely one: log-normal on either side, 0 where the
    planting failed."""
    total = chances.total
    if total.p50 <= 0:
        return np.zeros(SUMMERS)
    size = _draws(name, "yield").permutation(_NORMAL) / P90
    edges = [math.log(max(edge, 1e-9) / total.p50) for edge in (total.p10, total.p90)]
    logs = np.where(size < 0, -size * edges[0], size * edges[1]) * chances.left
    luck = _draws(name, "failure").permutation(SUMMERS) / SUMMERS
    found: Floats = np.where(luck < chances.fails, 0.0, np.exp(logs))
    return found


def _draws(name: str, of: str) -> np.random.Generator:
    """Always the same draws for the same planting, and others for another."""
    return np.random.default_rng([zlib.crc32(name.encode()), zlib.crc32(of.encode())])
