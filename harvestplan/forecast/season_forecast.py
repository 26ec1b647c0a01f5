"""The forecast of a season: picks of every planting by date, with their spread."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from harvestplan.forecast.case import Case, set_case, taught_by
from harvestplan.forecast.climate import Climate
from harvestplan.forecast.ensemble import HORIZON
from harvestplan.forecast.lessons import lesson_of
from harvestplan.forecast.planting import (
    ForecastPick,
    PlantingForecast,
    expect,
    forecast_planting,
)
from harvestplan.forecast.rough_climate import rough_climate
from harvestplan.forecast.seen import Expected, Seen, seen_by_planting
from harvestplan.forecast.summers import eight_in_ten
from harvestplan.forecast.thermal import Floats
from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.records.diary import Diary
from harvestplan.records.events import InGarden

__all__ = ["Forecast", "ForecastPick", "PlantingForecast", "make_forecast"]

COLUMNS = ["planting", "crop", "date", "low_g", "likely_g", "high_g"]
LONGEST_PICKING = 400
NOTHING_BEGUN: Mapping[str, dt.date] = {}


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
        """One row a week and crop, for charts: week (its Monday), crop, low_g, likely_g, high_g.

        Low and high hold what the crop's plantings bring together in eight summers of ten;
        the likely grams are the picks as forecast.
        """
        likely: dict[tuple[int, str], float] = defaultdict(float)
        summers: dict[tuple[int, str], Floats] = {}
        for planting in self.plantings:
            for pick in planting.picks:
                likely[(pick.date.toordinal() - 1) // 7, planting.crop] += pick.likely_g
            for week, grams in planting.weekly().items():
                key = week, planting.crop
                summers[key] = summers.get(key, 0.0) + grams
        rows = []
        for key in sorted({*likely, *summers}):
            middle = likely.get(key, 0.0)
            low, high = eight_in_ten(summers.get(key, np.array([middle])))
            if middle > 0 or high > 0:
                monday = pd.Timestamp(dt.date.fromordinal(7 * key[0] + 1))
                edges = min(low, middle), middle, max(high, middle)
                rows.append((monday, key[1], *edges))
        found = pd.DataFrame(rows, columns=["week", "crop", *COLUMNS[3:]])
        return found.astype({"week": "datetime64[ns]"} | dict.fromkeys(COLUMNS[3:], "float64"))


def make_forecast(
    season: Season,
    library: Library,
    weather: pd.DataFrame | None,
    *,
    as_of: dt.date,
    diary: Diary | None = None,
    begun: Mapping[str, dt.date] = NOTHING_BEGUN,
    watched: bool = False,
    ahead: pd.DataFrame | None = None,
) -> Forecast:
    """Forecast every planting from what is known on `as_of` (that day included).

    `weather` has a DatetimeIndex and columns tmin_c, tmax_c (°C), past years and this year so
    far; what lies after `as_of` is not looked at. `ahead` are the next days as a weather forecast
    has them. Without weather, or with less than a year of it, a rough climate of the garden's
    latitude and longitude counts; where those are not known, dates are counted in days. Raises
    FilesNeedMending for an unknown crop or one without a usable yield.

    A `diary` moves and narrows the dates, puts the picks that were made in place of those
    expected, and tells how much the rest gives. Of plantings in `begun` (by id) it is known from
    elsewhere since when they are picked, though not how much. What the diary does not tell moves
    nothing, but where the garden is `watched`: then what is not written down is not picked yet.
    """
    cases = cases_of(season, library, weather, as_of=as_of, ahead=ahead)
    if diary is None:
        return Forecast(as_of, tuple(forecast_planting(case, Seen()) for case in cases))
    seen = _seen(cases, diary, as_of)
    cases = _taught(cases, seen)
    return Forecast(
        as_of,
        tuple(
            forecast_planting(case, seen.get(case.id, Seen()), begun.get(case.id), watched=watched)
            for case in cases
        ),
    )


def warmth_taken(
    season: Season, library: Library, weather: pd.DataFrame | None, *, as_of: dt.date, diary: Diary
) -> dict[str, list[float]]:
    """By crop, what each first pick written down took over the book's warmth, for the years to
    come; a planting each. Raises FilesNeedMending as `make_forecast` does."""
    cases = cases_of(season, library, weather, as_of=as_of)
    seen = _seen(cases, diary, as_of)
    found: dict[str, list[float]] = {}
    for case in cases:
        lesson = lesson_of(case, seen.get(case.id, Seen()))
        if lesson is not None and lesson.weight == 1:
            found.setdefault(case.crop.name, []).append(lesson.ratio)
    return found


def _taught(cases: list[Case], seen: Mapping[str, Seen]) -> list[Case]:
    """Every planting in the light of what was seen of the others of its crop."""
    lessons = {
        case.id: lesson
        for case in cases
        if case.id in seen and (lesson := lesson_of(case, seen[case.id])) is not None
    }
    return [
        taught_by(
            case,
            [
                lessons[other.id]
                for other in cases
                if other.id in lessons and other.id != case.id and other.crop == case.crop
            ],
        )
        for case in cases
    ]


def seen_plantings(
    season: Season, library: Library, weather: pd.DataFrame | None, *, as_of: dt.date, diary: Diary
) -> dict[str, Seen]:
    """What the diary says of each planting by its id, up to `as_of`: stages, and grams by date.

    Raises FilesNeedMending as `make_forecast` does.
    """
    return _seen(cases_of(season, library, weather, as_of=as_of), diary, as_of)


def cases_of(
    season: Season,
    library: Library,
    weather: pd.DataFrame | None,
    *,
    as_of: dt.date,
    ahead: pd.DataFrame | None = None,
) -> list[Case]:
    """Every planting with what is known of it beforehand, in the season file's order.

    Raises FilesNeedMending for an unknown crop.
    """
    climate = _climate(season, weather, as_of, ahead=ahead)
    return [
        set_case(
            planting,
            planting.id or f"{planting.crop}-{n}",
            library.crop(planting.crop).grown_as(planting.habit),
            season=season,
            climate=climate,
            as_of=as_of,
        )
        for n, planting in enumerate(season.planting, start=1)
    ]


def _seen(cases: Collection[Case], diary: Diary, as_of: dt.date) -> dict[str, Seen]:
    """What the diary says of each planting; only crops it speaks of are looked at."""
    told = {e.crop for e in diary.events if isinstance(e, InGarden)}
    wanted = [case for case in cases if case.crop.name in told]

    def expected(seen: Mapping[str, Seen]) -> list[Expected]:
        return [expect(case, seen.get(case.id, Seen())) for case in wanted]

    crops = {case.crop.name: case.crop for case in wanted}
    return seen_by_planting(diary.events, expected, crops, as_of=as_of)


def _climate(
    season: Season, weather: pd.DataFrame | None, as_of: dt.date, *, ahead: pd.DataFrame | None
) -> Climate | None:
    """The climate to reckon with: from the weather, else a rough one with what weather there is,
    else None."""
    dates = [as_of, season.season.start, season.season.end]
    dates += [day for p in season.planting for day in (p.sown, p.set_out) if day is not None]
    begin = min(dates) - dt.timedelta(days=2 * HORIZON)
    end = max(dates) + dt.timedelta(days=HORIZON + LONGEST_PICKING + 366)
    known = None if weather is None else weather.loc[weather.index <= pd.Timestamp(as_of)]
    told_to = None
    if known is not None and ahead is not None:
        known, told_to = pd.concat([known, ahead]), ahead.index[-1].date()
    found = None if known is None else Climate.from_frame(known, begin, end)
    if found is None:
        found = rough_climate(season, known, begin, end=end)
    return None if found is None else replace(found, told_to=told_to)
