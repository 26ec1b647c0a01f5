"""A rough climate where there is no weather: from latitude, longitude and a small table of normals.

The two nearest places of the table on the same half of the earth count, the nearer the more, where
100 m of altitude keep apart like 60 km; their monthly normals are moved by 5 K a km of altitude and
0.6 K a degree of latitude. These four figures are fitted: left out in turn, the table's 91 places
are met to 2.0 to 2.3 K where the nearest other one lies within 800 km (root mean square of the 24
monthly figures), to 3.2 K beyond. The years made from it are
spread as widely: each is warmer or colder as a whole by that much and by what years differ.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from statistics import NormalDist

import numpy as np
import pandas as pd

from harvestplan.forecast.climate import Climate
from harvestplan.forecast.past_years import Temperatures
from harvestplan.forecast.thermal import Floats
from harvestplan.inputs.season import Season

TABLE = "climate_normals.csv"
"""91 places: monthly means of the daily lowest and highest temperature, °C (WMO_CITY in the crops'
sources, seen); altitudes in m are from memory, to about 50 m."""
LAPSE = 5e-3
"""K per m of altitude."""
PER_DEGREE = 0.6
"""K per degree of latitude away from the equator."""
KM_PER_M = 0.6
"""km that a metre of altitude counts for, when the nearest places are chosen."""
NEAREST = 2
AROUND = 3
"""Nearest places whose mean altitude is taken where the garden's is not known; how they differ then
adds to the spread."""
PLACE_SD, PLACE_SD_PER_KM = 2.0, 0.5e-3
"""K; how far a month is off as a rule, and how much more per km to the nearest place."""
YEAR_SD = 1.0
"""K by which whole seasons differ: 1.2 in Nebraska and 0.5 in Suffolk (April to September, highest
temperatures, the two series of the tests)."""
DAY_SD_PER_RANGE, LEAST_DAY_SD = 0.2, 1.5
"""K by which days differ from the normal for each K between the coldest month and the warmest: 5.3
over 26 K in Nebraska, 2.3 over 13 K in Suffolk."""
NIGHTS, AFTERNOONS = 0.8, 1.2
"""Of that, what the lowest and the highest temperatures differ by: in Nebraska 4.2 and 6.4 K."""
PERSISTENCE = 0.65
"""How much of a day's difference is left on the next: 0.61 to 0.72 in the same series."""
YEARS = 15
EARTH = 6371.0
"""km, mean radius."""


@dataclass(frozen=True)
class RoughNormals:
    """Monthly means of a place from the table.

    Attributes
    ----------
    tmin, tmax
        °C, 12 each, January first.
    nearest
        Name of the nearest place in the table, and its distance in km.
    sd
        K by which a month is off, as a rule.
    """

    tmin: Floats
    tmax: Floats
    nearest: tuple[str, float]
    sd: float


def rough_normals(latitude: float, longitude: float, altitude: float | None) -> RoughNormals:
    """Normals for a place in degrees north and east and m; without an altitude, the mean of the
    three nearest places is taken."""
    table = _table()
    same = table[(table["latitude"] < 0) == (latitude < 0)]
    away = _distance(latitude, longitude, same)
    above = same["altitude_m"].to_numpy(np.float64)
    unsure = 0.0
    if altitude is None:
        around = above[np.argsort(away, kind="stable")[:AROUND]]
        altitude, unsure = float(around.mean()), LAPSE * float(around.std())
    apart = np.hypot(away, KM_PER_M * (above - altitude))
    near = np.argsort(apart, kind="stable")[:NEAREST]
    weight = 1 / np.maximum(apart[near], 50.0) ** 2
    farther = np.abs(same["latitude"].to_numpy(np.float64)) - abs(latitude)
    moved = PER_DEGREE * farther[near] + LAPSE * (above[near] - altitude)
    months = same.filter(regex="^tm").to_numpy(np.float64)[near] + moved[:, None]
    mean = (months * weight[:, None]).sum(axis=0) / weight.sum()
    nearest = str(same["place"].iloc[int(near[0])]), float(away[near[0]])
    sd = float(np.hypot(PLACE_SD + PLACE_SD_PER_KM * away[near[0]], unsure))
    return RoughNormals(mean[:12], mean[12:], nearest, sd=sd)


def rough_years(normals: RoughNormals, last: int) -> Temperatures:
    """Fifteen years of days, the last of them `last`, that stand for what the place may be like.

    The same for the same normals: their differences come from fixed quantiles and fixed draws.
    """
    index = pd.date_range(f"{last - YEARS + 1}-01-01", f"{last}-12-31", name="date")
    ranks = (7 * np.arange(YEARS) % YEARS + 0.5) / YEARS  # no trend from year to year
    whole = np.hypot(normals.sd, YEAR_SD) * np.array([NormalDist().inv_cdf(r) for r in ranks])
    mean = (normals.tmin + normals.tmax) / 2
    day_sd = max(DAY_SD_PER_RANGE * float(mean.max() - mean.min()), LEAST_DAY_SD)
    moved, spells = whole[index.year - index.year[0]], day_sd * _weather(len(index))
    lowest = _daily(normals.tmin, index) + moved + NIGHTS * spells
    highest = _daily(normals.tmax, index) + moved + AFTERNOONS * spells
    days = {"tmin_c": np.minimum(lowest, highest), "tmax_c": highest}
    return pd.DataFrame(days, index=index)


def season_normals(season: Season) -> RoughNormals | None:
    """The normals of the garden, or None where its latitude and longitude are not known.

    An altitude of nought counts as not given: it is what a season file without one has.
    """
    latitude, longitude = season.weather.latitude, season.weather.longitude
    if latitude is None or longitude is None:
        return None
    return rough_normals(latitude, longitude, season.household.altitude or None)


def rough_climate(
    season: Season, known: Temperatures | None, begin: dt.date, *, end: dt.date
) -> Climate | None:
    """A climate from `begin` to `end` of rough years, all before `begin`, with the days that are
    known; None where the garden's latitude and longitude are not."""
    normals = season_normals(season)
    if normals is None:
        return None
    years = rough_years(normals, begin.year - 1)
    if known is not None:
        years = known.combine_first(years)
    climate = Climate.from_frame(years, begin, end)
    return None if climate is None else replace(climate, rough=True)


@cache
def _table() -> pd.DataFrame:
    with resources.files(__package__).joinpath(TABLE).open("r", encoding="utf-8") as file:
        return pd.read_csv(file)


def _distance(latitude: float, longitude: float, table: pd.DataFrame) -> Floats:
    """km along the great circle (haversine formula) to each place of the table."""
    here = np.radians(latitude)
    there = np.radians(table["latitude"].to_numpy(np.float64))
    east = np.radians(table["longitude"].to_numpy(np.float64) - longitude)
    chord = np.sin((there - here) / 2) ** 2
    chord += np.cos(here) * np.cos(there) * np.sin(east / 2) ** 2
    distance: Floats = 2 * EARTH * np.arcsin(np.sqrt(np.minimum(chord, 1.0)))
    return distance


def _daily(months: Floats, index: pd.DatetimeIndex) -> Floats:
    """Each day's normal, by straight lines between the middles of the months."""
    middles = 30.4375 * (np.arange(-1, 13) + 0.5)
    ring = np.concatenate([months[-1:], months, months[:1]])
    days: Floats = np.interp(index.dayofyear.to_numpy() - 0.5, middles, ring)
    return days


def _weather(days: int) -> Floats:
    """Warm and cold spells: a first-order autoregression of standard deviation one, always the same
    draws."""
    shocks = np.random.default_rng(20).standard_normal(days) * np.sqrt(1 - PERSISTENCE**2)
    spells = np.empty(days)
    spells[0] = shocks[0]
    for day in range(1, days):
        spells[day] = PERSISTENCE * spells[day - 1] + shocks[day]
    return spells
