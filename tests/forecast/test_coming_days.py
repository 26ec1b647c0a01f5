"""The next days as a weather forecast has them take the place of what is usual."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from forecast.garden import champion, even_weather, make_crop, make_library, make_season

from harvestplan.forecast.coming_days import BELIEVED, FURTHEST, coming_days
from harvestplan.forecast.planting import PlantingForecast
from harvestplan.forecast.season_forecast import make_forecast

AS_OF = dt.date(2018, 6, 20)


@pytest.mark.parametrize(
    ("days", "believed"), [(0, None), (1, 1), (10, 10), (11, BELIEVED), (16, BELIEVED), (17, None)]
)
def test_ten_days_at_most_and_no_real_weather_of_later(days: int, believed: int | None) -> None:
    """A record that goes on for longer than forecasts do is looked back on."""
    assert FURTHEST == 16
    weather = even_weather("2000-01-01", f"{AS_OF + dt.timedelta(days=days)}")
    found = coming_days(weather, AS_OF)
    assert (None if found is None else len(found)) == believed
    if found is not None:
        assert found.index[0].date() == AS_OF + dt.timedelta(days=1)


def forecast(
    weather: pd.DataFrame, ahead: pd.DataFrame | None, sown: dt.date, as_of: dt.date
) -> PlantingForecast:
    season = make_season(
        {"crop": "snap bean", "sown": sown}, start=f"{sown.year}-03-01", end=f"{sown.year}-11-30"
    )
    crops = make_library(make_crop())
    return make_forecast(season, crops, weather, as_of=as_of, ahead=ahead).plantings[0]


def test_a_warm_spell_ahead_brings_the_first_pick_forward() -> None:
    weather = even_weather("2000-01-01", f"{AS_OF}")
    days = pd.date_range(AS_OF + dt.timedelta(days=1), periods=10)
    firsts = []
    for shift in (-6.0, 0.0, 6.0):
        ahead = even_weather(f"{days[0].date()}", f"{days[-1].date()}") + shift
        found = forecast(weather, ahead, dt.date(2018, 5, 10), AS_OF)
        firsts.append(found.first_pick_p50)
    assert firsts[0] > firsts[1] > firsts[2]
    # Eight days 6 °C colder are 48 degree-days less, at some 13 a day then four days; the warm
    # ones count up to 30 °C only.
    assert 3 <= (firsts[0] - firsts[1]).days <= 5


def test_what_is_forecast_is_not_yet_certain() -> None:
    """Ripe within the forecast, the date keeps what weather does not explain of it."""
    weather = champion()
    known = weather[weather.index <= pd.Timestamp(AS_OF)]
    ahead = weather.loc["2018-06-21":"2018-06-30"]  # type: ignore[misc]
    found = forecast(known, ahead, dt.date(2018, 5, 3), AS_OF)
    assert found.first_pick_p50 <= dt.date(2018, 7, 2)
    assert (found.first_pick_p90 - found.first_pick_p10).days >= 1


def test_true_forecasts_make_dates_truer() -> None:
    """36 real years: given the real next ten days two weeks ahead, the middle is nearer the day on
    which the need is really met."""
    weather, off = champion(), {True: [], False: []}
    crops = make_library(make_crop())
    for year in range(1983, 2019):
        sown = dt.date(year, 5, 10)
        season = make_season(
            {"crop": "snap bean", "sown": sown}, start=f"{year}-03-01", end=f"{year}-11-30"
        )
        others = weather[weather.index.year < year + 1]
        truth = make_forecast(season, crops, others, as_of=dt.date(year, 9, 1)).plantings[0]
        as_of = truth.first_pick_p50 - dt.timedelta(days=14)
        known = others[others.index <= pd.Timestamp(as_of)]
        next_days = others[others.index > pd.Timestamp(as_of)].iloc[:BELIEVED]
        for ahead in (True, False):
            found = make_forecast(
                season, crops, known, as_of=as_of, ahead=next_days if ahead else None
            ).plantings[0]
            off[ahead].append((found.first_pick_p50 - truth.first_pick_p50).days)
    with_it, without = (float(np.sqrt(np.square(off[each]).mean())) for each in (True, False))
    assert with_it < 0.7 * without


def test_a_frost_that_is_forecast_is_told_as_one() -> None:
    weather = even_weather("2000-01-01", f"{AS_OF}")
    ahead = even_weather("2018-06-21", "2018-06-25")
    ahead.iloc[2:4] = (-2.0, 8.0)
    found = forecast(weather, ahead, dt.date(2018, 5, 20), AS_OF)
    assert "the weather forecast has frost on 23 June" in found.reason
    seen = pd.concat([weather, ahead])
    later = forecast(seen, None, dt.date(2018, 5, 20), dt.date(2018, 6, 25))
    assert "it froze on 24 June" in later.reason
