"""Frosts, warmth and extremes of a record, north and south of the equator."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from forecast.garden import even_weather

from harvestplan.forecast.weather_facts import usual_days, usual_frosts, weather_facts


def with_frosts(*days: str, south: bool = False) -> pd.DataFrame:
    """Mild weather with a night of -1 °C on each of the days."""
    weather = even_weather("2014-01-01", "2019-12-31", mean=16, swing=8, south=south)
    weather.loc[[pd.Timestamp(day) for day in days], "tmin_c"] = -1.0
    return weather


def test_frosts_of_each_growing_year() -> None:
    facts = weather_facts(with_frosts("2015-02-03", "2015-05-09", "2015-10-02", "2015-11-20"))
    (year,) = [each for each in facts.summers if each.year == 2015]
    assert (year.last_frost, year.first_frost) == (dt.date(2015, 5, 9), dt.date(2015, 10, 2))
    (other,) = [each for each in facts.summers if each.year == 2016]
    assert other.last_frost is None and other.first_frost is None
    assert usual_frosts(facts) is None


def test_in_the_south_a_growing_year_spans_new_year() -> None:
    facts = weather_facts(with_frosts("2015-09-20", "2016-04-28", south=True))
    (year,) = [each for each in facts.summers if each.year == 2016]
    assert (year.last_frost, year.first_frost) == (dt.date(2015, 9, 20), dt.date(2016, 4, 28))


def test_warmth_added_up_by_hand() -> None:
    """Even days of 15 °C are 5 degree-days each above 10 °C; colder ones are none, not less."""
    days = pd.date_range("2015-01-01", "2017-12-31")
    mean = np.where((days.month >= 4) & (days.month <= 9), 15.0, -5.0)
    frame = pd.DataFrame({"tmin_c": mean - 4, "tmax_c": mean + 4}, index=days)
    (year,) = [each for each in weather_facts(frame).summers if each.year == 2016]
    assert year.whole and year.warmth == pytest.approx(5 * 183)


def test_a_year_with_holes_is_not_compared() -> None:
    weather = with_frosts()
    torn = weather.drop(weather.loc["2016-03-01":"2016-04-30"].index)  # type: ignore[misc]
    facts = weather_facts(torn)
    assert 2016 not in {each.year for each in facts.whole}
    assert 2017 in {each.year for each in facts.whole}


def test_usual_days_around_new_year() -> None:
    days = [dt.date(2015, 12, 30), dt.date(2017, 1, 1), dt.date(2018, 1, 3)]
    assert usual_days(days)[1] == dt.date(2000, 1, 1)


def test_extremes() -> None:
    weather = with_frosts("2015-02-03")
    weather.loc[pd.Timestamp("2017-07-01"), "tmax_c"] = 41.5
    facts = weather_facts(weather)
    assert facts.coldest == (-1.0, dt.date(2015, 2, 3))
    assert facts.hottest == (41.5, dt.date(2017, 7, 1))
