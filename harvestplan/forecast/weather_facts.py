"""What a daily record tells of a place: its frosts, its warmth, and how years differ."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from harvestplan.forecast.climate import calendar_days
from harvestplan.forecast.past_years import HALF_YEAR, NEARLY_ALL, Temperatures, warmest_day

FROST = 0.0
"""°C; a night whose lowest air temperature is below has frost."""
WARM = 10.0
"""°C from which on degree-days are counted, as for beans and corn; common practice."""


@dataclass(frozen=True)
class Summer:
    """A growing year, half a year before and after the usual height of summer, named after it.

    Attributes
    ----------
    days
        With both temperatures.
    last_frost, first_frost
        Before and after the height of summer; None where no night had frost.
    warmth
        Sum of degree-days above 10 °C (°C·d), the day's mean counted.
    """

    year: int
    days: int
    last_frost: dt.date | None
    first_frost: dt.date | None
    warmth: float

    @property
    def whole(self) -> bool:
        """Whether nearly all its days are there, so that it may be compared with others."""
        return self.days >= NEARLY_ALL * 2 * HALF_YEAR


@dataclass(frozen=True)
class WeatherFacts:
    """All growing years of a record, and its extremes (°C with their days)."""

    summers: tuple[Summer, ...]
    coldest: tuple[float, dt.date]
    hottest: tuple[float, dt.date]

    @property
    def whole(self) -> tuple[Summer, ...]:
        """The growing years that may be compared."""
        return tuple(summer for summer in self.summers if summer.whole)


def weather_facts(daily: Temperatures) -> WeatherFacts:
    """Facts of a record of at least one day."""
    index = daily.index
    assert isinstance(index, pd.DatetimeIndex)
    low, high = (daily[name].to_numpy(np.float64) for name in ("tmin_c", "tmax_c"))
    ahead = (warmest_day(daily) - calendar_days(index)) % 366
    spring = ahead <= HALF_YEAR
    height = index + pd.to_timedelta(np.where(spring, ahead, ahead - 366), unit="D")
    years = height.year.to_numpy()
    warmth = np.maximum((low + high) / 2 - WARM, 0.0)
    summers = []
    for year in np.unique(years):
        own = years == year
        before, after = (index[own & half & (low < FROST)] for half in (spring, ~spring))
        summers.append(
            Summer(
                int(year),
                int(own.sum()),
                before[-1].date() if len(before) else None,
                first_frost=after[0].date() if len(after) else None,
                warmth=float(warmth[own].sum()),
            )
        )
    coldest, hottest = int(low.argmin()), int(high.argmax())
    return WeatherFacts(
        tuple(summers),
        (float(low[coldest]), index[coldest].date()),
        (float(high[hottest]), index[hottest].date()),
    )


def usual_days(days: Sequence[dt.date]) -> tuple[dt.date, dt.date, dt.date]:
    """The calendar days (in the year 2000) before which a tenth, half and nine tenths of `days`
    lie, whether or not they span New Year."""
    around = calendar_days(pd.DatetimeIndex([str(each) for each in days])).astype(float)
    centre = np.angle(np.exp(2j * np.pi * around / 366).mean()) * 366 / (2 * np.pi)
    apart = (around - centre + HALF_YEAR) % 366 - HALF_YEAR
    low, middle, high = np.round(centre + np.quantile(apart, [0.1, 0.5, 0.9])) % 366
    first = dt.date(2000, 1, 1)  # a leap year: every calendar day has its place in it
    early, usual, late = (first + dt.timedelta(days=int(each)) for each in (low, middle, high))
    return early, usual, late


def usual_frosts(facts: WeatherFacts) -> tuple[str, str] | None:
    """Month and day ("05-12") of the usual last and first frost; None where not every year has
    both."""
    last = [each.last_frost for each in facts.whole if each.last_frost is not None]
    first = [each.first_frost for each in facts.whole if each.first_frost is not None]
    if not facts.whole or min(len(last), len(first)) < len(facts.whole):
        return None
    spring, autumn = (f"{usual_days(each)[1]:%m-%d}" for each in (last, first))
    return spring, autumn
