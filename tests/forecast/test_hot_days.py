"""Running to seed in long warm days, and flowers that drop in hot nights."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from forecast.garden import even_weather, figure, make_crop, make_library, make_season

from harvestplan.forecast.climate import Climate
from harvestplan.forecast.hot_days import DROPPED, bolting_day, day_length, setting
from harvestplan.forecast.planting import PlantingForecast
from harvestplan.forecast.season_forecast import make_forecast


def test_hours_of_light() -> None:
    """Twelve at the equinoxes everywhere; at 51.5° N 16.4 and 7.6 at the solstices without
    refraction (almanacs, from memory: 16 h 38 min and 7 h 50 min with it)."""
    days = np.array([79, 172, 264, 355])
    assert day_length(51.5, days) == pytest.approx([12, 16.4, 12, 7.6], abs=0.2)
    assert day_length(-51.5, days) == pytest.approx([12, 7.6, 12, 16.4], abs=0.2)
    assert day_length(0.0, days) == pytest.approx(12)
    assert day_length(80.0, days)[1] == 24


def climate() -> Climate:
    frame = even_weather("2000-01-01", "2004-12-31")  # 24 °C in mid-July, nights 6 K cooler
    found = Climate.from_frame(frame, dt.date(2000, 1, 1), dt.date(2004, 12, 31))
    assert found is not None
    return found


def test_bolting_needs_warmth_and_long_days() -> None:
    """The sine is at 19 °C on day 196 - 55, 21 May; ten days' mean a few days later. Days are
    longer than 14 h from late April to mid-August at 45°."""
    here = climate()
    begin = np.array([here.index(dt.date(2001, 3, 1)), here.index(dt.date(2001, 8, 20))])
    found = bolting_day(here, 19.0, None, begin, days=200)
    first = dt.date(2001, 3, 1) + dt.timedelta(int(found[0]))
    assert dt.date(2001, 5, 20) <= first <= dt.date(2001, 5, 30)
    assert found[1] == 200
    assert bolting_day(here, 19.0, 5.0, begin, days=200).tolist() == [200, 200]  # the tropics
    assert bolting_day(here, 30.0, None, begin, days=200).tolist() == [200, 200]


def test_flowers_of_hot_nights_drop() -> None:
    here = climate()
    july, may = (here.index(dt.date(2001, month, 10)) for month in (7, 5))
    assert setting(here, 17.0, np.array([july, may])) == pytest.approx([1 - DROPPED, 1.0])


def bears(weather: pd.DataFrame, sown: dt.date, **growth: object) -> PlantingForecast:
    library = make_library(make_crop(growth=growth))
    season = make_season({"crop": "snap bean", "sown": sown})
    return make_forecast(season, library, weather, as_of=dt.date(2019, 3, 1)).plantings[0]


def test_a_crop_that_runs_to_seed_is_not_picked_after() -> None:
    weather, sown = even_weather("2000-01-01", "2018-12-31"), dt.date(2019, 4, 10)
    cool = {"base": figure("2 C"), "thermal_time": figure(420), "frost": figure("hardy")}
    plain, bolts = (
        bears(weather, sown, **cool, **more) for more in ({}, {"bolts_above": figure("19 C")})
    )
    assert plain.summers is not None and bolts.summers is not None
    assert 0 < bolts.summers.totals().sum() < 0.75 * plain.summers.totals().sum()
    assert bolts.total_g_p50 < plain.total_g_p50
    assert "runs to seed" in bolts.reason and "runs to seed" not in plain.reason
    ripe = bolts.summers.days[bolts.summers.grams > 0]
    assert ripe.max() <= (dt.date(2019, 5, 31) - sown).days


def test_hot_nights_cost_the_picks_of_their_flowers() -> None:
    weather, sown = even_weather("2000-01-01", "2018-12-31", mean=20, swing=10), dt.date(2019, 6, 1)
    flower = {"days_after_flower": figure("18 days")}
    plain, hot = (
        bears(weather, sown, **flower, **more) for more in ({}, {"hot_night": figure("22 C")})
    )
    assert hot.total_g_p90 < 0.7 * plain.total_g_p90
    assert hot.total_g_p50 < 0.7 * plain.total_g_p50
