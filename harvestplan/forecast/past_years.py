"""Past years of the weather file, laid over the season that is planned."""

from __future__ import annotations

import datetime as dt
from typing import TypeAlias

import numpy as np
import pandas as pd

from harvestplan.forecast.climate import calendar_days, normals
from harvestplan.inputs.season import Season

Temperatures: TypeAlias = pd.DataFrame
"""Daily columns tmin_c and tmax_c (°C) under a DatetimeIndex, oldest day first."""
HALF_YEAR = 183
"""Days before the warmest of the year that are winter and spring."""
NEARLY_ALL = 0.95
"""Share of a season's days that a past year must have been observed on to be replayed."""


def past_years(weather: Temperatures, season: Season) -> tuple[int, ...]:
    """The years whose weather is known throughout the season, from its first day to its last.

    A year is named after the one in which the season would have begun.
    """
    span = season.season
    found = []
    for year in range(_days(weather)[0].year, span.start.year):
        days = _shifted(weather, span.start.year - year)
        inside = (days.index >= pd.Timestamp(span.start)) & (days.index <= pd.Timestamp(span.end))
        if inside.sum() >= NEARLY_ALL * ((span.end - span.start).days + 1):
            found.append(year)
    return tuple(found)


def as_this_season(
    weather: Temperatures, year: int, this_year: int, *, as_of: dt.date
) -> Temperatures:
    """The weather file of a season that goes on from `as_of` as a past year did.

    The past year itself is left out, so that no forecast knows it beforehand.
    """
    moved = _shifted(weather, this_year - year)
    near = np.abs(_days(moved).year - this_year) <= 1
    known = weather.loc[(weather.index <= pd.Timestamp(as_of)) & (_days(weather).year != year)]
    ahead = moved.loc[near & ~moved.index.isin(known.index)]
    return pd.concat([known, ahead]).sort_index()


def by_warmth(weather: Temperatures, season: Season) -> tuple[int, ...]:
    """The past years that cover the season, from the coolest season to the warmest."""
    means = {}
    for year in past_years(weather, season):
        moved = _shifted(weather, season.season.start.year - year)
        days = moved.loc[str(season.season.start) : str(season.season.end)]
        means[year] = float(days.to_numpy().mean())
    return tuple(sorted(means, key=lambda year: (means[year], year)))


def safe_from_frost(weather: Temperatures, below: float, years: float) -> tuple[int, int] | None:
    """Month and day before the height of summer from which on, in that share of the years, no night
    is colder than `below` (°C); None where there is never such a night.

    What lies in the half year before the normally warmest day counts for spring, north and south.
    """
    warmest = warmest_day(weather)
    cold = _days(weather[weather["tmin_c"] < below])
    ahead = (warmest - calendar_days(cold)) % 366
    spring = (ahead > 0) & (ahead <= HALF_YEAR)
    if not spring.any():
        return None
    summers = (cold + pd.to_timedelta(ahead, unit="D")).year
    last = pd.Series(ahead[spring]).groupby(summers[spring].to_numpy()).min()
    safe = int(np.floor(np.quantile(warmest - last.to_numpy(), years))) + 1
    # In a leap year: every calendar day has its place in it.
    day = dt.date(2000, 1, 1) + dt.timedelta(days=safe % 366)
    return (3, 1) if (day.month, day.day) == (2, 29) else (day.month, day.day)


def warmest_day(weather: Temperatures) -> int:
    """Calendar day (0-365) at which the year is normally warmest."""
    mean = weather[["tmin_c", "tmax_c"]].mean(axis=1, skipna=False)
    known = mean.notna().to_numpy()
    return int(np.argmax(normals(mean.to_numpy(), known, calendar_days(_days(weather)))))


def _shifted(weather: Temperatures, years: int) -> Temperatures:
    """Every day so many years later; 29 February is left out where it has no day to go to."""
    index = _days(weather)
    parts = pd.DataFrame({"year": index.year + years, "month": index.month, "day": index.day})
    days = pd.to_datetime(parts, errors="coerce")
    moved = weather.set_axis(pd.DatetimeIndex(days.to_numpy(), name=index.name))
    kept: Temperatures = moved.loc[moved.index.notna()]
    return kept


def _days(weather: Temperatures) -> pd.DatetimeIndex:
    index = weather.index
    assert isinstance(index, pd.DatetimeIndex)
    return index
