"""The local weather as one unbroken daily series, with the normal for every day of the year."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from harvestplan.forecast.thermal import Floats, ThermalTime

SMOOTHING = 15
"""Days over which a normal is averaged, centred; common practice, no source."""

DAYS_FOR_NORMALS = 350
"""Distinct days of the year that must have been observed before normals mean anything."""

SPRING = 183
"""Days before the warmest of the year that are winter and spring."""

WARMER = {"fleece": (2.0, 2.0), "tunnel": (2.0, 5.0)}
"""K by which the lowest and the highest temperature of the day are above those outside under
garden fleece and in an unheated tunnel that is aired; own judgement, no source."""

Key = tuple[str, float, float | None]


@dataclass(frozen=True)
class Warmth:
    """Degree-days (°C·d) of each day of the series: what was observed (normals where nothing
    was), and what is normal."""

    daily: Floats
    normal: Floats


@dataclass(frozen=True, eq=False)
class Climate:
    """Daily minimum and maximum temperatures (°C) from `first` on, gaps filled with normals.

    All arrays have one entry a day; `known` tells observed days from filled ones. Days up to
    `told_to` are known from a weather forecast, where there is one. `rough` says that nothing was
    observed here and the years stand for what a place may be like (see rough_climate).
    """

    first: dt.date
    known: NDArray[np.bool_]
    tmin: Floats
    tmax: Floats
    calendar_day: NDArray[np.int64]
    told_to: dt.date | None = None
    rough: bool = False
    _warmth: dict[Key, Warmth] = field(default_factory=dict)
    _under: dict[str, Climate] = field(default_factory=dict)

    @classmethod
    def from_frame(cls, weather: pd.DataFrame, begin: dt.date, end: dt.date) -> Climate | None:
        """A climate that covers at least `begin` to `end`, or None if there is too little weather.

        `weather` has a DatetimeIndex and columns tmin_c and tmax_c; missing days are allowed.
        """
        seen = weather[["tmin_c", "tmax_c"]].dropna()
        if seen.empty:
            return None
        span = pd.date_range(
            min(seen.index.min(), pd.Timestamp(begin)), max(seen.index.max(), pd.Timestamp(end))
        )
        frame = seen.reindex(span)
        known = frame["tmin_c"].notna().to_numpy()
        calendar_day = calendar_days(span)
        if len(np.unique(calendar_day[known])) < DAYS_FOR_NORMALS:
            return None
        filled = [
            np.where(known, values, normals(values, known, calendar_day)[calendar_day])
            for values in (frame[name].to_numpy(np.float64) for name in ("tmin_c", "tmax_c"))
        ]
        return cls(span[0].date(), known, filled[0], filled[1], calendar_day)

    def under(self, cover: str) -> Climate:
        """The climate of what grows under fleece or in an unheated tunnel all season; made once."""
        if cover not in self._under:
            night, day = WARMER[cover]
            self._under[cover] = replace(
                self, tmin=self.tmin + night, tmax=self.tmax + day, _warmth={}, _under={}
            )
        return self._under[cover]

    def index(self, day: dt.date) -> int:
        return (day - self.first).days

    def warmth(self, reckoned_as: ThermalTime) -> Warmth:
        """Degree-days of the whole series, reckoned as the given amount was; kept once made."""
        key = (reckoned_as.method, reckoned_as.base, reckoned_as.upper)
        if key not in self._warmth:
            daily = reckoned_as.of_days(self.tmin, self.tmax)
            normal = normals(daily, self.known, self.calendar_day)
            normal_days = normal[self.calendar_day]
            self._warmth[key] = Warmth(np.where(self.known, daily, normal_days), normal_days)
        return self._warmth[key]

    def last_known(self, as_of: dt.date) -> int | None:
        """Index of the last known day up to `as_of`, or None."""
        seen = np.flatnonzero(self.known[: max(self.index(as_of) + 1, 0)])
        return int(seen[-1]) if seen.size else None

    def last_frost(self) -> int | None:
        """Calendar day (0-365) of the median last frost of spring; None where fewer than half of
        the years have one."""
        warmest = self.warmest_day()
        cold = np.flatnonzero(self.known & (self.tmin < 0))
        ahead = (warmest - self.calendar_day[cold]) % 366
        spring = (ahead > 0) & (ahead <= SPRING)
        summers = np.round((cold + ahead)[spring] / 365.25).astype(np.int64)
        years = np.unique(summers)
        if len(years) < self.known.sum() / 730:
            return None
        last = [int(ahead[spring][summers == year].min()) for year in years]
        return (warmest - round(float(np.median(last)))) % 366

    def warmest_day(self) -> int:
        """Calendar day (0-365) at which the year is normally warmest."""
        return int(np.argmax(self._mean()))

    def warm_from(self, mean: float) -> int:
        """Calendar day (0-365) in spring from which every day up to the warmest has a normal mean
        of at least `mean` °C; the warmest day where none has."""
        warmest = self.warmest_day()
        back = self._mean()[(warmest - np.arange(366)) % 366] >= mean
        days = 182 if back.all() else max(int(np.argmin(back)) - 1, 0)
        return (warmest - days) % 366

    def _mean(self) -> Floats:
        """The normal mean temperature (°C) of each of the 366 calendar days."""
        return normals((self.tmin + self.tmax) / 2, self.known, self.calendar_day)


def normals(values: Floats, known: NDArray[np.bool_], calendar_day: NDArray[np.int64]) -> Floats:
    """Smoothed mean of the known values for each of the 366 calendar days."""
    days = calendar_day[known]
    count = np.bincount(days, minlength=366).astype(np.float64)
    total = np.bincount(days, weights=values[known], minlength=366).astype(np.float64)
    half = SMOOTHING // 2
    return _ring_sum(total, half) / np.maximum(_ring_sum(count, half), 1.0)


def _ring_sum(values: Floats, half: int) -> Floats:
    ring = np.concatenate([values[-half:], values, values[:half]])
    return np.convolve(ring, np.ones(2 * half + 1), mode="valid")


def calendar_days(span: pd.DatetimeIndex) -> NDArray[np.int64]:
    """0 for 1 January to 365 for 31 December; 29 February has its own place in every year."""
    lengths = np.cumsum([0, 31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30])
    days: NDArray[np.int64] = lengths[span.month.to_numpy() - 1] + span.day.to_numpy() - 1
    return days
