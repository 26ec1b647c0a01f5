"""First-pick dates from the past: what if this season went on as each past year did?

This season's observed temperatures count first, then each past year's continuation. What the
weather does not explain (variety, soil, water) belongs to the planting and stays with it: its whole
need is uncertain, and does not become surer as the day comes near. What does tell is that nothing
was picked up to some day, where that is known: needs that were reached by then are cut off.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from harvestplan.forecast.climate import Climate
from harvestplan.forecast.thermal import Floats, ThermalTime
from harvestplan.inputs.dates import anniversary

HORIZON = 400
"""Days after the clock's start that are looked at: garlic planted in autumn needs about 270."""

UNEXPLAINED = 0.10
"""SD of the logarithm of a planting's whole need, where nothing nearer is known: GRAY has 10 % for
bush tomatoes (1352 ± 133 units, seen), of one crop and one method; trials of one variety at one
place differ by 3 to 12 % from sowing to sowing (DSSAT_EX, seen)."""

MOST_UNEXPLAINED = 0.15
"""However far varieties lie apart in a crop file, a planting is one of them; own judgement."""

P90 = NormalDist().inv_cdf(0.9)

FEW_YEARS, FEW_YEARS_SHARE = 5, 0.06
"""With fewer past years than this their own spread says too little; years differ by 4 to 5 days
in 75 to 85, about 6 % (own backtest on the Champion series, AQCW)."""

NO_WEATHER_SD = 8.5
"""SD in days of a date counted in calendar days; 7-9 days at sowing is own judgement, one
gardener's first tomatoes had 10.1 (FLATBREAD, seen)."""

LEVELS = (np.arange(21) + 0.5) / 21
Z = np.array([NormalDist().inv_cdf(level) for level in LEVELS])
"""Midpoint quantiles of the standard normal: a spread without random numbers."""

MOST_PASSED = 0.98
"""No more of the needs than this is cut off: what is later still is not reckoned but overdue."""


@dataclass(frozen=True)
class FirstPick:
    """Possible first picks, in days after the clock's start, the hour as a fraction (HORIZON or
    more = not within it).

    `normal` is the day in a year with normal temperatures, `ahead` the degree-days (°C·d) by
    which this season is ahead of normal after `observed` days (at most until it is normally ripe).
    `moved` tells the past year behind each: how many days its days lie from this season's; 0 where
    none is behind it.
    """

    days: Floats
    normal: int
    ahead: float
    observed: int
    moved: NDArray[np.int64] | None = None

    def quantiles(self) -> tuple[int, int, int]:
        """P10, P50 and P90 in whole days: the days whose start, middle and end lie nearest.

        Taking P10 at the start and P90 at the end of a day keeps the days from one to the other,
        both included, at 80 %.
        """
        low, middle, high = np.quantile(self.days, [0.1, 0.5, 0.9])
        day = int(middle)
        return min(round(low), day), day, max(round(high) - 1, day)


def first_pick(
    climate: Climate,
    start: dt.date,
    needed: ThermalTime,
    *,
    as_of: dt.date,
    spread: float = UNEXPLAINED,
    unpicked: dt.date | None = None,
) -> FirstPick:
    """First picks of a planting whose clock started on `start`, as seen on `as_of`.

    The first pick is on the first day at whose end the sum from `start` (included) reaches the
    need, which is log-normal around `needed` with `spread` (SD of its logarithm). Where it is known
    that nothing had been picked by the day `unpicked`, needs that were reached before it are cut
    off. Raises ValueError if the climate does not cover the season.
    """
    warmth = climate.warmth(needed)
    first = climate.index(start)
    if first < 0 or first + HORIZON > len(warmth.daily):
        raise ValueError(f"the climate does not cover the {HORIZON} days from {start}")
    normal = _reach(np.cumsum(warmth.normal[first : first + HORIZON]), needed.amount)
    observed = observed_days(climate, start, as_of)
    told = told_days(climate, start, as_of)
    rows = member_days(climate, start, told, needs=int(normal))
    sums = np.cumsum(warmth.daily[rows], axis=1)
    before = 0 if unpicked is None else min(observed, (unpicked - start).days)
    passed = float(sums[0, before - 1]) if before > 0 else 0.0
    if len(sums) < FEW_YEARS:
        spread = float(np.hypot(spread, FEW_YEARS_SHARE))
    amounts = possible_needs(needed.amount, spread, passed=passed)
    days = np.concatenate([_moment(row, amounts) for row in sums])
    growing = slice(first, first + min(observed, int(normal) + 1))
    ahead = float((warmth.daily - warmth.normal)[growing].sum())
    moved = np.repeat(rows[:, -1] - first - HORIZON + 1, len(amounts))
    return FirstPick(days, int(normal), ahead, observed=observed, moved=moved)


def possible_needs(amount: float, spread: float, *, passed: float) -> Floats:
    """Midpoint quantiles of the needs that are left when `passed` (°C·d) did not do."""
    if spread <= 0:
        return np.array([amount])
    least = 0.0
    if passed > 0:
        least = min(NormalDist(math.log(amount), spread).cdf(math.log(passed)), MOST_PASSED)
    left = least + (1 - least) * LEVELS
    return amount * np.exp(spread * np.array([NormalDist().inv_cdf(level) for level in left]))


def days_without_weather(days: int) -> FirstPick:
    """First picks counted in calendar days alone, with an SD of 8.5 days."""
    return FirstPick(np.maximum(days + 0.5 + NO_WEATHER_SD * Z, 1.0), days, 0.0, observed=0)


def observed_days(climate: Climate, start: dt.date, as_of: dt.date) -> int:
    """How many days of the season, counted from `start`, the weather file already has."""
    last = climate.last_known(as_of)
    first = climate.index(start)
    return 0 if last is None else min(max(last - first + 1, 0), HORIZON)


def told_days(climate: Climate, start: dt.date, as_of: dt.date) -> int:
    """How many days of the season, counted from `start`, are observed or told by a forecast."""
    return observed_days(climate, start, max(as_of, climate.told_to or as_of))


def member_days(
    climate: Climate, start: dt.date, observed: int, *, needs: int
) -> NDArray[np.int64]:
    """Indices into the climate's days, one row a past year: (years, HORIZON).

    The first `observed` columns are this season's own days in every row, observed or told by a
    weather forecast. A past year counts if
    nearly all its days that matter, up to `needs` and a quarter more, were observed; if none
    does, there is one row, filled with normals where nothing was observed.
    """
    own = climate.index(start)
    seen = np.concatenate([[0], np.cumsum(climate.known)])
    last = min(max(needs + needs // 4 + 14, observed + 1), HORIZON)
    found = []
    for year in _years(climate):
        begin = climate.index(anniversary(start, year))
        inside = begin + observed >= 0 and begin + HORIZON <= len(climate.known)
        if begin == own or not inside:
            continue
        wanted = last - observed
        if seen[begin + last] - seen[begin + observed] >= 0.95 * wanted:
            found.append(begin)
    begins = np.array(found or [own], dtype=np.int64)
    offsets = np.arange(HORIZON, dtype=np.int64)
    rows: NDArray[np.int64] = np.where(offsets < observed, own, begins[:, None]) + offsets
    return rows


def _years(climate: Climate) -> range:
    last = climate.first + dt.timedelta(days=len(climate.known))
    return range(climate.first.year, last.year + 1)


def _reach(sums: Floats, amount: float | Floats) -> NDArray[np.int64]:
    """Index of the first day whose running sum reaches `amount`, for each amount."""
    return np.searchsorted(sums, np.asarray(amount) - 1e-9, side="left")


def _moment(sums: Floats, amounts: Floats) -> Floats:
    """When the running sum reaches each amount, as day and fraction of that day."""
    day = _reach(sums, amounts)
    inside = np.minimum(day, len(sums) - 1)
    before = np.where(inside > 0, sums[inside - 1], 0.0)
    share = (amounts - before) / np.maximum(sums[inside] - before, 1e-9)
    return day.astype(np.float64) + np.clip(share, 0.0, 0.999)
