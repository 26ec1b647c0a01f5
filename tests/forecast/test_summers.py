"""Whole simulated summers: dates, yields, frost and failures together."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pytest
from benchmarks.weekly_amounts import Weeks, measure
from forecast.garden import champion, figure, make_crop, make_library, make_season

from harvestplan.forecast.amounts import YieldSpread
from harvestplan.forecast.ensemble import FirstPick
from harvestplan.forecast.planting import PlantingForecast
from harvestplan.forecast.season_forecast import make_forecast
from harvestplan.forecast.summers import (
    SUMMERS,
    Chances,
    Summers,
    eight_in_ten,
    factors,
    first_days,
    share_by,
)
from harvestplan.kitchen.crop_library import load_library


def test_low_and_high_hold_eight_summers_in_ten() -> None:
    """Of 0 to 100: 10 and 90. Where a fifth brings nothing, low is 0 and the eighth tenth high."""
    assert eight_in_ten(np.arange(101.0)) == pytest.approx((10, 90), abs=0.6)
    some = np.concatenate([np.zeros(20), np.arange(1.0, 81.0)])
    low, high = eight_in_ten(some)
    assert low == 0 and high == pytest.approx(60, abs=1)
    assert eight_in_ten(np.concatenate([np.zeros(95), np.ones(5)])) == (0, 0)


def test_yields_are_log_normal_with_failures_among_them() -> None:
    spread = YieldSpread(500, 1000, 3000)
    sure = factors(Chances(spread, left=1.0, fails=0.0), "p1")
    assert np.quantile(sure, [0.1, 0.5, 0.9]) == pytest.approx([0.5, 1, 3], rel=0.02)
    assert np.quantile(factors(Chances(spread, 0.5, 0.0), "p1"), 0.9) == pytest.approx(
        3**0.5, rel=0.02
    )
    failed = factors(Chances(spread, left=1.0, fails=0.1), "p1")
    assert (failed == 0).mean() == pytest.approx(0.1, abs=0.003)
    assert not factors(Chances(YieldSpread(0, 0, 0), 1.0, 0.0), "p1").any()


def test_the_summers_of_two_plantings_share_the_year_and_nothing_else() -> None:
    moved = np.repeat(np.array([-730, -365]), 21)
    first = FirstPick(np.tile(np.arange(40.0, 61.0), 2), 50, 0.0, observed=0, moved=moved)
    days, years = zip(*(first_days(first, name) for name in ("p1", "p2")), strict=True)
    assert (years[0] == years[1]).all() and (years[0] == -730).sum() == SUMMERS / 2
    for drawn in days:
        assert np.bincount(drawn)[40:].tolist() == [SUMMERS / 21] * 21
    luck = [factors(Chances(YieldSpread(500, 1000, 2000), 1.0, 0.0), n) for n in ("p1", "p2")]
    assert abs(np.corrcoef(luck)[0, 1]) < 0.15


def test_weeks_by_hand() -> None:
    """Picks on days 0 and 7 after Wednesday 1 May 2019; in half of the summers a week later."""
    late = np.arange(SUMMERS) % 2 * 7
    summers = Summers(late + np.array([[0], [7]]), np.full((2, SUMMERS), [[100.0], [50.0]]))
    weeks = summers.weekly(dt.date(2019, 5, 1).toordinal())
    mondays = [dt.date.fromordinal(7 * week + 1) for week in weeks]
    assert mondays == [dt.date(2019, 4, 29), dt.date(2019, 5, 6), dt.date(2019, 5, 13)]
    first, second, third = weeks.values()
    assert (first[::2] == 100).all() and (first[1::2] == 0).all()
    assert (second[::2] == 50).all() and (second[1::2] == 100).all()
    assert (third[::2] == 0).all() and (third[1::2] == 50).all()
    assert (summers.totals() == 150).all()


def test_what_is_ripe_grows_evenly_within_a_week() -> None:
    ripe = np.broadcast_to(np.array([[0.0], [0.4], [1.0]]), (3, SUMMERS))
    found = share_by(ripe, np.array([0, 7, 10, 14, 30]))[:, 0]
    assert found == pytest.approx([0, 0.4, 0.4 + 0.6 * 3 / 7, 1, 1])


def beans(sown: dt.date, **crop: Any) -> PlantingForecast:
    season = make_season({"crop": "snap bean", "sown": sown})
    library = make_library(make_crop(**crop))
    return make_forecast(season, library, champion(), as_of=dt.date(2019, 4, 1)).plantings[0]


def test_each_years_frost_cuts_its_own_picks() -> None:
    """Sown on 28 July: some years freeze in September in Nebraska, others hardly in October."""
    found = beans(dt.date(2019, 7, 25))
    assert found.summers is not None
    whole = beans(dt.date(2019, 7, 25), growth={"frost": figure("hardy")})
    assert whole.summers is not None
    kept = found.summers.totals() / np.maximum(whole.summers.totals(), 1)
    kept = kept[whole.summers.totals() > 0]
    assert 0 < (kept < 0.5).mean() < 1
    assert (kept > 0.99).any()
    assert found.picks[-1].low_g == 0 < found.picks[-1].high_g
    assert found.total_g_p10 < whole.total_g_p10


def test_a_failure_is_as_likely_as_the_household_says() -> None:
    def failed(**more: float) -> float:
        row = {"crop": "snap bean", "sown": dt.date(2019, 5, 20), **more}
        season, library = make_season(row), make_library(make_crop(yields={"fails": figure(0.2)}))
        found = make_forecast(season, library, champion(), as_of=dt.date(2019, 4, 1)).plantings[0]
        assert found.summers is not None
        return float((found.summers.totals() == 0).mean())

    assert failed() == pytest.approx(0.2, abs=0.005)
    assert failed(fails=0.0) == 0
    assert failed(fails=0.4) == pytest.approx(0.4, abs=0.005)


@pytest.mark.parametrize("crop", ["snap bean", "summer squash", "beet"])
def test_eight_weeks_in_ten_lie_within(crop: str) -> None:
    """Suffolk 1992-2020, each year forecast from the others; see the benchmark."""
    found = measure("suffolk_england_1991_2021", crop, load_library())
    assert isinstance(found, Weeks)
    assert found.weeks > 100
    assert found.inside == pytest.approx(0.8, abs=0.08)
