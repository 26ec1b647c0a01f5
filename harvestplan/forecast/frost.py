"""The frost that ends the picking of tender crops."""

from __future__ import annotations

import datetime as dt

import numpy as np
from numpy.typing import NDArray

from harvestplan.forecast.climate import Climate
from harvestplan.forecast.clock import next_month_day
from harvestplan.forecast.ensemble import HORIZON, member_days, told_days
from harvestplan.inputs.season import Season

KILLS = {"tender": -0.5, "half-hardy": -3.0}
"""Night minimum (°C, air) that ends the picking. OLNEY (seen): tender crops are damaged by light
frost, 28-32 °F (-2 to 0 °C), half-hardy ones withstand it; the two lines are own judgement."""

LATER = {"tender": 0, "half-hardy": 14}
"""Days after the household's first frost; common practice, no source."""

WARMEST_TO_WINTER = 150
"""Days after the warmest time of the year by which a killing frost comes, if one comes; own
judgement."""

RIPENING_YEAR = 240
"""A warmest day up to this many days off is still ahead; otherwise the planting is past it; own
judgement."""


def picking_ends(
    hardiness: str,
    start: dt.date,
    first_pick: int,
    *,
    as_of: dt.date,
    climate: Climate | None,
    season: Season,
) -> int | None:
    """Days from `start` to the frost that ends picking, or None if frost does not end it.

    The median over the past years' first killing frost after the warmest time of the year; a
    frost that this season really had after `first_pick` (days from `start`) counts as it is.
    Without weather: the household's `first_frost`, or None; it counts before a rough climate.
    """
    if hardiness not in KILLS:
        return None
    if climate is None or (climate.rough and season.weather.first_frost is not None):
        if season.weather.first_frost is None:
            return None
        frost = next_month_day(season.weather.first_frost, start)
        return (frost - start).days + LATER[hardiness]
    observed = told_days(climate, start, as_of)
    warmest = _warmest(climate, start)
    rows = member_days(climate, start, observed, needs=warmest + WARMEST_TO_WINTER)
    freezing = climate.tmin[rows] < KILLS[hardiness]
    offsets = np.arange(HORIZON)
    autumn = offsets >= warmest
    seen = (offsets < observed) & (offsets >= first_pick)
    freezing &= autumn | seen
    first = np.where(freezing.any(axis=1), freezing.argmax(axis=1), HORIZON)
    middle = int(np.median(first))
    return None if middle >= HORIZON else middle


def ends_by_year(
    hardiness: str, start: dt.date, moved: NDArray[np.int64], *, as_of: dt.date, climate: Climate
) -> NDArray[np.int64]:
    """Days from `start` to each past year's killing frost after the warmest time of the year; a
    frost that this season really had then counts as it is. `HORIZON` stands for none."""
    if hardiness not in KILLS:
        return np.full(moved.shape, HORIZON, dtype=np.int64)
    observed = told_days(climate, start, as_of)
    warmest = _warmest(climate, start)
    years, which = np.unique(moved, return_inverse=True)
    offsets = np.arange(HORIZON)
    own = climate.index(start)
    rows = np.where(offsets < observed, own, own + years[:, None]) + offsets
    freezing = (climate.tmin[rows] < KILLS[hardiness]) & (offsets >= warmest)
    first = np.where(freezing.any(axis=1), freezing.argmax(axis=1), HORIZON)
    found: NDArray[np.int64] = first[which]
    return found


def early_frost(
    hardiness: str, start: dt.date, up: int, *, first_pick: int, as_of: dt.date, climate: Climate
) -> dt.date | None:
    """The next killing frost before its first pick by the weather forecast, else the last that the
    planting has met this season; or None.

    It stands above the ground from `up` days after `start` on; no seed in the ground freezes.
    """
    known = told_days(climate, start, as_of)
    if hardiness not in KILLS or known == 0:
        return None
    begin = climate.index(start)
    first, last = begin + up, begin + min(known, first_pick)
    cold = np.flatnonzero(climate.known[first:last] & (climate.tmin[first:last] < KILLS[hardiness]))
    days = [start + dt.timedelta(days=up + int(each)) for each in cold]
    return next((day for day in days if day > as_of), days[-1] if days else None)


def _warmest(climate: Climate, start: dt.date) -> int:
    """Days from `start` to the warmest time of the year, or 0 if it is past."""
    begin = int(climate.calendar_day[climate.index(start)])
    ahead = (climate.warmest_day() - begin) % 366
    return ahead if ahead <= RIPENING_YEAR else 0
