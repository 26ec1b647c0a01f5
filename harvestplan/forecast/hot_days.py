"""What heat does: cool crops run to seed in long warm days, and flowers drop in hot nights."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from harvestplan.forecast.climate import Climate
from harvestplan.forecast.thermal import Floats

LONG_DAY = 14.0
"""Hours of light from which on cool crops run to seed in warmth: spinach, from memory."""
WARM_DAYS = 10
"""Days over which the warmth is averaged; own judgement."""
LATITUDE = 45.0
"""Degrees, where the garden's is not known."""
DROPPED = 0.8
"""Share of the flowers of a hot night that set nothing; own judgement."""

Whole = NDArray[np.int64]


def day_length(latitude: float, calendar_day: Whole) -> Floats:
    """Hours from sunrise to sunset on calendar days 0 to 365, without refraction, by the sun's
    declination (Cooper 1969, Solar Energy 12:333, from memory)."""
    declination = np.radians(23.45) * np.sin(2 * np.pi * (calendar_day + 1 - 81) / 365.25)
    cosine = np.clip(-np.tan(np.radians(latitude)) * np.tan(declination), -1.0, 1.0)
    hours: Floats = 24 / np.pi * np.arccos(cosine)
    return hours


def bolting_day(
    climate: Climate, warmest: float, latitude: float | None, begin: Whole, *, days: int
) -> Whole:
    """Days from each index `begin` of the climate to the first on which the mean of ten days is
    above `warmest` (°C) in days of 14 h and more, of `days` in all; `days` where there is none."""
    mean = (climate.tmin + climate.tmax) / 2
    sums = np.concatenate([[0.0], np.cumsum(mean)])
    warm = np.zeros(mean.size, dtype=bool)
    warm[WARM_DAYS - 1 :] = (sums[WARM_DAYS:] - sums[:-WARM_DAYS]) / WARM_DAYS > warmest
    north = LATITUDE if 91 <= climate.warmest_day() < 274 else -LATITUDE
    light = day_length(north if latitude is None else latitude, climate.calendar_day)
    runs = np.append(np.flatnonzero(warm & (light >= LONG_DAY)), 10 * mean.size)
    found: Whole = np.minimum(runs[np.searchsorted(runs, begin)] - begin, days)
    return found


def setting(climate: Climate, hottest: float, begin: Whole) -> Floats:
    """The share of the flowers that set in the week from each index `begin` on, where nights above
    `hottest` (°C) cost most of theirs."""
    hot = np.concatenate([[0.0], np.cumsum(climate.tmin > hottest)])
    inside = np.clip(begin, 0, len(hot) - 8)
    found: Floats = 1 - DROPPED * (hot[inside + 7] - hot[inside]) / 7
    return found
