"""The next days as a weather forecast has them, where the household's files hold one."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from harvestplan.forecast.past_years import Temperatures

BELIEVED = 10
"""Days ahead for which a weather forecast adds to what is usual: 7 to 10, own judgement."""
FURTHEST = 16
"""Days ahead that weather services forecast at most. A record that goes on for longer after the day
from which the season is looked at is the real weather, which nobody knew then."""


def coming_days(daily: Temperatures, as_of: dt.date) -> Temperatures | None:
    """The days after `as_of` that are a forecast, at most ten; None where there are none."""
    day = pd.Timestamp(as_of)
    if not day < daily.index[-1] <= day + pd.Timedelta(days=FURTHEST):
        return None
    ahead = daily.loc[(daily.index > day) & (daily.index <= day + pd.Timedelta(days=BELIEVED))]
    return None if ahead.empty else ahead
