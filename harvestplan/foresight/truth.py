"""What a season might really bring: a past year's weather, and yields drawn from their spread.

Assumptions. The season has the temperatures of one past year from `as_of` on. A planting ripens by
its thermal time; what weather does not explain moves its need by a log-normal draw with the spread
of the forecast (`Clock.spread`). All its picks are one log-normal draw between the forecast's low
and high, so that they share a good or poor year; plantings are independent of one another and of
the weather, but that frost ends the picking when that year had it. Purchases come as written.
"""

from __future__ import annotations

import datetime as dt
import math
import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.forecast.case import Case
from harvestplan.forecast.ensemble import NO_WEATHER_SD
from harvestplan.forecast.lots import lots_from
from harvestplan.forecast.past_years import Temperatures, as_this_season
from harvestplan.forecast.planting import ForecastPick, PlantingForecast, forecast_planting
from harvestplan.forecast.season_forecast import Forecast, cases_of, seen_plantings
from harvestplan.forecast.seen import Seen
from harvestplan.household import Household
from harvestplan.inputs.crops import Library
from harvestplan.inputs.quantities import Quantity
from harvestplan.plan.models import Lot
from harvestplan.records.events import Picked

P90 = 1.2816
"""The standard normal's ninth decile."""
Draws = Callable[[str], tuple[float, float]]
LEAST_NEED = 0.5
"""No draw makes a planting ripen on less than this share of its need."""
LONG_AFTER = dt.timedelta(days=400)


@dataclass(frozen=True)
class Year:
    """One possible season. `weather` is the file's as the gardener would have it in that season:
    the years before it without the one replayed, and the season's own days; read it only up to
    the day on which she looks. `lots` is the food as it comes."""

    year: int
    weather: Temperatures
    lots: tuple[Lot, ...]


def weather_of(household: Household) -> Temperatures:
    """The household's daily temperatures. Raises FilesNeedMending where it has none."""
    if household.weather is None:
        hint = 'Write daily = "weather.csv" under [weather], with as many past years as you have.'
        message = "There are no past years of weather to try the season in."
        raise FilesNeedMending([Flaw("[weather]", None, "", message=message, hint=hint)])
    return household.weather


def true_year(
    household: Household, weather: Temperatures, year: int, *, seed: int, as_of: dt.date
) -> Year:
    """The season as it would be with that year's weather; what is already seen stands."""
    return imagined(
        household, weather, year, as_of=as_of, draws=lambda planting: drawn(seed, year, planting)
    )


def imagined(
    household: Household, weather: Temperatures, year: int, *, as_of: dt.date, draws: Draws
) -> Year:
    """The season with that year's weather, and with dates and yields as `draws` says of each
    planting (by its id): two numbers of standard normal size."""
    season, library = household.season, household.library
    frame = as_this_season(weather, year, season.season.start.year, as_of=as_of)
    end = season.season.end + LONG_AFTER
    seen = {}
    if household.diary.events:
        seen = seen_plantings(season, library, frame, as_of=as_of, diary=household.diary)
    plantings = []
    for case in cases_of(season, library, frame, as_of=end):
        known = seen.get(case.id, Seen())
        late, good = draws(case.id)
        # A planting that is being picked is looked at from today; what it still brings is drawn.
        case = replace(case, as_of=as_of) if known.picks else _later(case, late)
        plantings.append(_better(forecast_planting(case, known), good))
    lots = lots_from(Forecast(as_of, tuple(plantings)), season, library)
    return Year(year, frame, lots)


def drawn(seed: int, year: int, planting: str) -> tuple[float, float]:
    """Two standard normal draws, of a planting's date and of its yield: the same for the same
    seed, year and planting, whatever else is grown."""
    generator = np.random.default_rng([seed, year, zlib.crc32(planting.encode())])
    late, good = generator.standard_normal(2)
    return float(late), float(good)


def _later(case: Case, late: float) -> Case:
    """The planting with what the weather does not explain of its way to ripeness."""
    clock = case.clock
    if clock.needed is None:
        days = max(1, clock.days + round(NO_WEATHER_SD * late))
        return replace(case, clock=replace(clock, days=days))
    share = max(LEAST_NEED, math.exp(clock.spread * late))
    return replace(case, clock=replace(clock, needed=clock.needed.scaled(share)))


def _better(planting: PlantingForecast, good: float) -> PlantingForecast:
    """The planting with its picks still to come as in a year so good (a standard normal)."""
    picks = tuple(pick if pick.made else _drawn(pick, good) for pick in planting.picks)
    return replace(planting, picks=picks)


def _drawn(pick: ForecastPick, good: float) -> ForecastPick:
    if pick.likely_g <= 0:
        return pick
    edge = pick.high_g if good >= 0 else pick.low_g
    grams = pick.likely_g * (edge / pick.likely_g) ** (abs(good) / P90)
    return ForecastPick(pick.date, grams, grams, high_g=grams)


def picked_so_far(
    lots: Sequence[Lot], library: Library, after: dt.date, *, before: dt.date
) -> list[Picked]:
    """Diary lines of the picks from `after` on and before a day, as a careful gardener writes."""
    return [
        Picked(lot.ready, "", 0, "", lot.crop, Quantity(float(lot.grams), "mass"), lot.planting)
        for lot in lots
        if lot.planting is not None and after <= lot.ready < before and lot.crop in library.crops
    ]
