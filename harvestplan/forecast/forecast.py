"""The forecast of a season: picks of every planting by date, with their spread."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pandas as pd

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.forecast import ensemble, frost
from harvestplan.forecast.climate import Climate
from harvestplan.forecast.clock import Clock, set_clock
from harvestplan.forecast.ensemble import HORIZON, FirstPick
from harvestplan.forecast.quantities import (
    Spread,
    pick_shares,
    picking_days,
    season_yield,
    weekly_warmth,
)
from harvestplan.forecast.thermal import Floats
from harvestplan.inputs.crops import Crop, Library
from harvestplan.inputs.season import Planting, Season

COLUMNS = ["planting", "crop", "date", "low_g", "likely_g", "high_g"]
LONGEST_PICKING = 400


@dataclass(frozen=True)
class ForecastPick:
    """One harvest: grams at P10, P50 and P90."""

    date: dt.date
    low_g: float
    likely_g: float
    high_g: float


@dataclass(frozen=True)
class PlantingForecast:
    """When a planting is first picked and how much it gives; `reason` says why, in plain words."""

    planting_id: str
    crop: str
    first_pick_p10: dt.date
    first_pick_p50: dt.date
    first_pick_p90: dt.date
    total_g_p10: float
    total_g_p50: float
    total_g_p90: float
    picks: tuple[ForecastPick, ...]
    reason: str


@dataclass(frozen=True)
class Forecast:
    """All plantings of a season as seen on `as_of`."""

    as_of: dt.date
    plantings: tuple[PlantingForecast, ...]

    def frame(self) -> pd.DataFrame:
        """One row a pick: planting, crop, date (Timestamp), low_g, likely_g, high_g."""
        rows = [
            (p.planting_id, p.crop, pd.Timestamp(pick.date), pick.low_g, pick.likely_g, pick.high_g)
            for p in self.plantings
            for pick in p.picks
        ]
        frame = pd.DataFrame(rows, columns=COLUMNS)
        return frame.astype({"date": "datetime64[ns]"} | dict.fromkeys(COLUMNS[3:], "float64"))

    def weekly(self) -> pd.DataFrame:
        """One row a week and crop, for charts: week (its Monday), crop, low_g, likely_g, high_g."""
        frame = self.frame()
        monday = frame["date"] - pd.to_timedelta(frame["date"].dt.weekday, unit="D")
        grouped = frame.assign(week=monday).groupby(["week", "crop"], as_index=False)
        return grouped[COLUMNS[3:]].sum()


def make_forecast(
    season: Season, library: Library, weather: pd.DataFrame | None, as_of: dt.date
) -> Forecast:
    """Forecast every planting from what is known on `as_of` (that day included).

    `weather` has a DatetimeIndex and columns tmin_c, tmax_c (°C), past years and this year so
    far; what lies after `as_of` is not looked at. Without weather, or with less than a year of
    it, dates are counted in days. Raises FilesNeedMending for an unknown crop or one without a
    usable yield.
    """
    climate = None if weather is None else _climate(season, weather, as_of)
    return Forecast(
        as_of,
        tuple(
            _forecast_planting(planting, planting.id or f"{planting.crop}-{n}", season, library,
                               climate, as_of)
            for n, planting in enumerate(season.planting, start=1)
        ),
    )  # fmt: skip


def _climate(season: Season, weather: pd.DataFrame, as_of: dt.date) -> Climate | None:
    known = weather.loc[weather.index <= pd.Timestamp(as_of)]
    dates = [as_of, season.season.start, season.season.end]
    dates += [day for p in season.planting for day in (p.sown, p.set_out) if day is not None]
    begin = min(dates) - dt.timedelta(days=2 * HORIZON)
    end = max(dates) + dt.timedelta(days=HORIZON + LONGEST_PICKING + 366)
    return Climate.from_frame(known, begin, end)


def _forecast_planting(
    planting: Planting, planting_id: str, season: Season, library: Library,
    climate: Climate | None, as_of: dt.date,
) -> PlantingForecast:  # fmt: skip
    crop = library.find_crop(planting.crop)
    if crop is None:
        message = f'"{planting.crop}" is not in the crop library.'
        raise FilesNeedMending([Flaw("season folder", None, planting.crop, message)])
    clock = set_clock(planting, crop, season, climate)
    if climate is None or clock.needed is None:
        first = ensemble.days_without_weather(clock.days)
    else:
        first = ensemble.first_pick(climate, clock.start, clock.needed, as_of)
    early, likely, late = first.quantiles()
    if planting.first_pick is not None:
        early = likely = late = (planting.first_pick - clock.start).days
    ripens = likely < HORIZON or planting.first_pick is not None
    ends = _ends(crop, clock, likely, as_of, climate, season) if ripens else likely
    shares = _shares(crop, clock, likely, ends, climate)
    total = season_yield(planting, crop)
    dates = [clock.start + dt.timedelta(days=days) for days in (early, likely, late)]
    picked = total.scaled(sum(share for _, share in shares))
    return PlantingForecast(
        planting_id, crop.name, dates[0], dates[1], dates[2],
        picked.p10, picked.p50, picked.p90,
        tuple(_pick(dates[1], day, total.scaled(share)) for day, share in shares),
        _reason(planting, crop, clock, first, likely, ends, as_of, climate),
    )  # fmt: skip


def _pick(first: dt.date, day: int, grams: Spread) -> ForecastPick:
    return ForecastPick(first + dt.timedelta(days=day), grams.p10, grams.p50, grams.p90)


def _ends(
    crop: Crop, clock: Clock, likely: int, as_of: dt.date, climate: Climate | None, season: Season
) -> int | None:
    """Days after the clock's start at which picking is cut off, or None."""
    assert crop.growth is not None
    hardiness = crop.growth.frost.value
    return frost.picking_ends(hardiness, clock.start, likely, as_of, climate, season)


def _shares(
    crop: Crop, clock: Clock, likely: int, ends: int | None, climate: Climate | None
) -> list[tuple[int, float]]:
    assert crop.picking is not None
    warmth: Floats = np.ones(len(crop.picking.weekly.value))
    if climate is not None and clock.needed is not None:
        heat = climate.warmth(clock.needed)
        begin = climate.index(clock.start) + likely
        days = slice(begin, begin + picking_days(crop.picking))
        if begin >= 0 and days.stop <= len(heat.daily):
            warmth = weekly_warmth(heat.daily[days], heat.normal[days])
    return pick_shares(crop.picking, warmth, None if ends is None else ends - likely)


def _reason(
    planting: Planting, crop: Crop, clock: Clock, first: FirstPick, likely: int,
    ends: int | None, as_of: dt.date, climate: Climate | None,
) -> str:  # fmt: skip
    assert crop.growth is not None
    parts = [_date_reason(planting, clock, first, likely)]
    if ends is not None and ends < likely:
        killed = clock.start + dt.timedelta(days=ends)
        parts.append(f"frost, about {_say(killed)}, comes before it is ripe")
    if climate is not None:
        hardiness = crop.growth.frost.value
        cold = frost.early_frost(hardiness, clock.start, likely, as_of, climate)
        if cold is not None:
            parts.append(f"it froze on {_say(cold)}: see whether the plants live")
    return "; ".join(parts)


def _date_reason(planting: Planting, clock: Clock, first: FirstPick, likely: int) -> str:
    if planting.first_pick is not None:
        return f"first pick seen on {_say(planting.first_pick)}"
    if clock.needed is None:
        return f"counted in days, since there is no weather to go by: {clock.basis}"
    if likely >= HORIZON:
        return f"too cool here to ripen: it needs {clock.basis}"
    if first.observed == 0:
        return f"as in past years: it needs {clock.basis}"
    return f"{_lead(first.normal - likely)}: {_warmth_words(first.ahead)}; it needs {clock.basis}"


def _lead(days: int) -> str:
    if days == 0:
        return "about the usual date"
    plural = "day" if abs(days) == 1 else "days"
    return f"about {abs(days)} {plural} {'early' if days > 0 else 'late'}"


def _warmth_words(ahead: float) -> str:
    if abs(ahead) < 0.5:
        return "as warm as a normal year"
    side = "ahead of" if ahead > 0 else "behind"
    return f"{abs(ahead):.0f} degree-days {side} a normal year"


def _say(day: dt.date) -> str:
    return f"{day.day} {day:%B}"
