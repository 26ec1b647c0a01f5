"""First-pick dates from past years."""

import csv
import datetime as dt
from statistics import NormalDist

import numpy as np
import pandas as pd
import pytest
from counted import counted
from forecast.garden import DATA, champion, even_weather

from harvestplan.forecast.climate import Climate
from harvestplan.forecast.ensemble import HORIZON, first_pick, observed_days
from harvestplan.forecast.thermal import ThermalTime
from harvestplan.inputs.dates import anniversary

CORN = ThermalTime(855, "mw2", 10, upper=30)
BEAN = ThermalTime(550, "mw2", 10, upper=30)


def climate_of(weather: pd.DataFrame, until: str = "2022-12-31") -> Climate:
    climate = Climate.from_frame(weather, dt.date(1980, 1, 1), dt.date.fromisoformat(until))
    assert climate is not None
    return climate


def checks() -> list[dict[str, str]]:
    with (DATA / "weather" / "champion_season_checks.csv").open(newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", checks(), ids=lambda r: f"{r['start']}-{r['end_or_target'][-3:]}")
def test_champion_dates(row: dict[str, str]) -> None:
    """Dates on which the total is reached in the Champion series (AQCW, separate script)."""
    amount = float(row["end_or_target"].split(">=")[1])
    needed = ThermalTime(amount, "mw2", float(row["base_C"]), upper=float(row["upper_C"]))
    assert row["method"] == "mw2"
    start, end = dt.date.fromisoformat(row["start"]), dt.date.fromisoformat(row["value"])
    climate = climate_of(champion())
    found = first_pick(climate, start, needed, as_of=end, spread=0).quantiles()
    assert [start + dt.timedelta(days=days) for days in found] == [end] * 3
    if "sum" in row["note"]:
        first = climate.index(start)
        total = climate.warmth(needed).daily[first : climate.index(end) + 1].sum()
        assert total == pytest.approx(float(row["note"].split("sum ")[1]), abs=0.01)


def test_the_spread_shrinks_as_the_season_goes_on() -> None:
    climate, start = climate_of(champion()), dt.date(2016, 5, 10)
    widths = []
    for as_of in (dt.date(2016, 5, 1), dt.date(2016, 6, 20), dt.date(2016, 7, 20)):
        low, middle, high = first_pick(climate, start, CORN, as_of=as_of).quantiles()
        assert low <= middle <= high
        widths.append(high - low)
    assert widths[0] > widths[1] > widths[2] > 0


def test_without_weather_spread_only_the_unexplained_share_is_left() -> None:
    """Every year alike: the logarithm of the need spreads by 10 % (SD), P90 at 1.28 SD."""
    flat = even_weather("2000-01-01", "2015-12-31", mean=20, swing=0)  # 10 °C·d a day, base 10
    climate = climate_of(flat)
    early = first_pick(climate, dt.date(2016, 4, 1), BEAN, as_of=dt.date(2015, 12, 31)).days
    low, middle, high = np.quantile(early, [0.1, 0.5, 0.9])
    assert middle == pytest.approx(55, abs=0.1)
    assert high / middle == pytest.approx(np.exp(0.10 * 1.2816), rel=0.015)
    assert middle / low == pytest.approx(np.exp(0.10 * 1.2816), rel=0.015)


def test_the_need_of_a_plot_stays_unknown_until_it_is_picked() -> None:
    """A flat climate of 10 °C·d a day; nothing picked by day 50 of 55: needs below 500 are gone. Of
    a normal distribution cut off there, a median and P90 are left (by the normal table). On
    whatever day it is looked at: later days of which nothing is known cut nothing off."""
    flat = even_weather("2000-01-01", "2016-12-31", mean=20, swing=0)
    start = dt.date(2016, 4, 1)
    told = start + dt.timedelta(50)
    later = told + dt.timedelta(8)
    days = first_pick(climate_of(flat), start, BEAN, as_of=told, unpicked=told).days
    looked = first_pick(climate_of(flat), start, BEAN, as_of=later, unpicked=told).days
    assert np.quantile(looked, [0.1, 0.5, 0.9]) == pytest.approx(np.quantile(days, [0.1, 0.5, 0.9]))
    silent = first_pick(climate_of(flat), start, BEAN, as_of=later).days
    assert np.quantile(silent, 0.5) == pytest.approx(55, abs=0.1)
    gone = NormalDist(np.log(550), 0.10).cdf(np.log(500))
    for quantile in (0.1, 0.5, 0.9):
        need = np.exp(NormalDist(np.log(550), 0.10).inv_cdf(gone + (1 - gone) * quantile))
        assert np.quantile(days, quantile) == pytest.approx(need / 10, abs=0.7)
    assert days.min() >= 50


def test_a_warm_spring_brings_the_pick_forward() -> None:
    """A flat climate of 10 °C·d a day, this year 20 days at 14: 80 °C·d ahead, 8 days."""
    weather = even_weather("2000-01-01", "2016-04-20", mean=20, swing=0)
    weather.loc["2016-04-01":] += 4.0
    start, as_of = dt.date(2016, 4, 1), dt.date(2016, 4, 20)
    found = first_pick(climate_of(weather), start, BEAN, as_of=as_of)
    assert found.observed == 20
    # the warm days themselves lift the normal a little: one year in 17
    assert found.ahead == pytest.approx(80, abs=5)
    assert found.normal - found.quantiles()[1] == pytest.approx(8, abs=1)


def test_the_season_itself_is_no_past_year() -> None:
    """What came after `as_of` this year must not be used."""
    weather = champion()
    start, as_of = dt.date(2012, 5, 10), dt.date(2012, 6, 1)
    spoiled = weather.copy()
    spoiled.loc["2012-06-02":"2012-09-30", :] = 0.0
    plain = first_pick(climate_of(weather), start, CORN, as_of=as_of).days
    assert (first_pick(climate_of(spoiled), start, CORN, as_of=as_of).days == plain).all()


def test_a_crop_that_never_ripens_stays_beyond_the_horizon() -> None:
    cold = even_weather("2000-01-01", "2015-12-31", mean=2, swing=5)
    found = first_pick(climate_of(cold), dt.date(2016, 4, 1), CORN, as_of=dt.date(2016, 4, 1))
    assert found.quantiles()[1] >= HORIZON


def test_leap_days() -> None:
    assert anniversary(dt.date(2016, 2, 29), 2015) == dt.date(2015, 2, 28)
    climate = climate_of(champion())
    leap = first_pick(climate, dt.date(2016, 2, 29), CORN, as_of=dt.date(2016, 2, 29)).quantiles()
    next_day = first_pick(climate, dt.date(2016, 3, 1), CORN, as_of=dt.date(2016, 3, 1)).quantiles()
    for before, after in zip(leap, next_day, strict=True):
        assert before - after in (0, 1, 2)


def test_gaps_in_the_file_are_filled_with_normals() -> None:
    weather = champion()
    start, as_of = dt.date(2018, 5, 10), dt.date(2018, 6, 30)
    whole = first_pick(climate_of(weather), start, CORN, as_of=as_of).quantiles()
    holes = first_pick(climate_of(weather.drop(weather.index[::10])), start, CORN, as_of=as_of)
    assert all(abs(a - b) <= 1 for a, b in zip(whole, holes.quantiles(), strict=True))


def test_a_past_season_with_a_hole_is_left_out() -> None:
    """Old years, a gap of five years, then this year: observed days are this year's alone."""
    weather = champion()
    weather = weather[(weather.index < "2010-01-01") | (weather.index >= "2015-01-01")]
    weather = weather[weather.index <= "2015-06-01"]
    climate = climate_of(weather)
    assert observed_days(climate, dt.date(2015, 5, 10), dt.date(2015, 8, 1)) == 23
    found = first_pick(climate, dt.date(2015, 5, 10), CORN, as_of=dt.date(2015, 8, 1))
    assert len(found.days) == 21 * 28  # 1982-2009


def test_before_the_file_begins_nothing_is_observed() -> None:
    climate = climate_of(champion())
    assert observed_days(climate, dt.date(1981, 11, 1), dt.date(1981, 12, 1)) == 0
    assert observed_days(climate, dt.date(1981, 11, 1), dt.date(1982, 1, 1)) == 62


def test_few_past_years_widen_the_spread() -> None:
    weather = champion()
    start = dt.date(2018, 5, 10)
    many = first_pick(climate_of(weather), start, CORN, as_of=dt.date(2018, 5, 1)).days
    few = climate_of(weather.loc["2015-01-01":"2016-12-31"])
    assert first_pick(few, start, CORN, as_of=dt.date(2018, 5, 1)).days.std() > 0.8 * many.std()


def test_forty_plantings_over_forty_years_are_reckoned_by_the_table() -> None:
    """Years and days in one go each, not one by one: forty plantings of forty years with
    twenty-one neighbours each are 33,600 seasons of some hundred days."""
    weather = even_weather("1979-01-01", "2019-12-31")
    climate = climate_of(weather, until="2023-01-01")

    def reckon() -> None:
        for n in range(40):
            start = dt.date(2020, 4, 1) + dt.timedelta(days=n)
            needed = ThermalTime(
                500 + n, "mw2", 5 + n / 10, upper=30
            )  # no two share their degree-days
            found = first_pick(climate, start, needed, as_of=dt.date(2020, 4, 1))
            assert len(found.days) >= 40 * 21

    _, calls = counted(reckon)
    assert calls < 200_000  # 41,000 were counted
