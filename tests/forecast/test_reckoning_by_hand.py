"""Small pieces of the forecast against what is counted by hand."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from harvestplan.forecast.amounts import in_units, weekly_warmth
from harvestplan.forecast.climate import SMOOTHING, Climate, calendar_days, normals
from harvestplan.forecast.ensemble import (
    HORIZON,
    NO_WEATHER_SD,
    FirstPick,
    Z,
    _moment,
    first_pick,
    member_days,
)
from harvestplan.forecast.past_years import as_this_season, safe_from_frost
from harvestplan.forecast.reasons import _warmth_words
from harvestplan.forecast.stages import OVERDUE_SD, counted_from_emergence, not_before
from harvestplan.forecast.thermal import ThermalTime, show_degree_days
from harvestplan.inputs.growing import Growth
from harvestplan.inputs.season import Planting
from harvestplan.outputs.terminal.figure_words import shower
from harvestplan.schedule.statement.fresh import _mondays


def climate(first: str, last: str, known: np.ndarray | None = None) -> Climate:
    days = pd.date_range(first, last, name="date")
    frame = pd.DataFrame({"tmin_c": 10.0, "tmax_c": 20.0}, index=days)
    if known is not None:
        frame = frame[known]
    made = Climate.from_frame(frame, days[0].date(), days[-1].date())
    assert made is not None
    return made


def test_every_day_of_a_year_has_its_place_and_the_leap_day_its_own() -> None:
    leap = calendar_days(pd.date_range("2024-01-01", "2024-12-31"))
    assert list(leap) == list(range(366))
    plain = calendar_days(pd.date_range("2023-01-01", "2023-12-31"))
    assert list(plain) == [day for day in range(366) if day != 59]


def test_a_normal_is_the_mean_of_the_days_around_across_the_turn_of_the_year() -> None:
    """One warm day raises the days of its window alike, and no other."""
    days = np.arange(366)
    values = np.zeros(366)
    values[2] = float(SMOOTHING)
    found = normals(values, np.ones(366, dtype=bool), days)
    half = SMOOTHING // 2
    inside = sorted((2 + offset) % 366 for offset in range(-half, half + 1))
    assert list(np.flatnonzero(found)) == inside
    assert found[inside] == pytest.approx(SMOOTHING / (2 * half + 1))


def test_half_a_spread_that_is_left_stays_as_it_is_and_a_sliver_is_drawn_anew() -> None:
    first = FirstPick(np.arange(1.0, 41.0), 20, 0.0, observed=0)
    assert list(not_before(first, 21).days) == list(range(21, 41))
    assert list(not_before(first, 37).days) == [37, 38, 39, 40]  # a tenth of 40 is enough
    anew = not_before(first, 38).days
    assert anew == pytest.approx(38 + OVERDUE_SD * np.abs(Z))


def test_counted_from_emergence() -> None:
    """The spread shrinks with the root of what is left; nothing is said of warmth."""
    found = counted_from_emergence(10, 25, 100)
    assert np.median(found.days) == pytest.approx(35.5)
    assert found.days[-1] - 35.5 == pytest.approx(NO_WEATHER_SD * 0.5 * Z[-1])
    assert (found.normal, found.ahead, found.observed) == (100, 0.0, 0)
    assert counted_from_emergence(0, 1, 100).days.min() >= 1.0


def test_a_week_counts_as_warm_from_a_degree_day_a_day_on() -> None:
    daily = np.repeat([2.0, 2.0, 2.0], 7)
    normal = np.repeat([0.9, 1.1, 4.0], 7)
    assert weekly_warmth(daily, normal) == pytest.approx([1.0, 2 / 1.1, 0.5])


@pytest.mark.parametrize(
    ("ahead", "measures", "words"),
    [
        (0.4, "metric", "as warm as"),
        (0.8, "metric", "1 degree-days C ahead of"),
        (-0.8, "UK", "1 degree-days C behind"),
        (-50.0, "US", "90 degree-days F behind"),
    ],
)
def test_warmth_in_words(ahead: float, measures: str, words: str) -> None:
    assert words in _warmth_words(ahead, measures)


@pytest.mark.parametrize("measures", ["US", "UK", "metric"])
def test_degree_days_are_said_as_on_the_crop_s_card(measures: str) -> None:
    assert show_degree_days(550.0, measures) == shower(Growth, "thermal_time")(550.0, measures)


def test_past_years_count_where_nearly_all_of_what_matters_is_known() -> None:
    """Six whole years; from the fourth, one day in ten of its summer is missing."""
    start, observed = dt.date(2016, 5, 1), 30
    days = pd.date_range("2010-01-01", "2018-12-31")
    known = np.ones(len(days), dtype=bool)
    whole = climate("2010-01-01", "2018-12-31", known)
    rows = member_days(whole, start, observed, needs=100)
    begins = [whole.index(dt.date(year, 5, 1)) for year in (*range(2010, 2016), 2017)]
    assert rows.shape == (len(begins), HORIZON)
    assert list(rows[:, observed]) == [begin + observed for begin in begins]
    own = whole.index(start)
    assert (rows[:, :observed] == own + np.arange(observed)).all()
    summer = (days.year == 2013) & (days.month >= 6) & (days.month <= 9) & (days.day % 10 == 5)
    torn = climate("2010-01-01", "2018-12-31", known & ~summer)
    kept = member_days(torn, start, observed, needs=100)
    assert len(kept) == len(begins) - 1
    assert whole.index(dt.date(2013, 5, 1)) + observed not in kept[:, observed]
    before = (days.year == 2013) & (days.month == 5) & (days.day < 29)
    early = climate("2010-01-01", "2018-12-31", known & ~before)
    assert len(member_days(early, start, observed, needs=100)) == len(
        begins
    )  # days already observed


@pytest.mark.parametrize(("last", "counts"), [("2016-06-03", True), ("2016-06-02", False)])
def test_a_past_year_counts_up_to_the_last_day_there_is(last: str, counts: bool) -> None:
    """400 days from the first day on, or a day fewer; without it the season's own days stand."""
    short = climate("2015-05-01", last)
    rows = member_days(short, dt.date(2016, 5, 1), 0, needs=100)
    assert HORIZON == 400
    assert rows[:, 0].tolist() == [0 if counts else 366]
    late = climate("2015-05-31", last)  # what is observed of this year, no past year is asked for
    rows = member_days(late, dt.date(2016, 5, 1), 30, needs=100)
    assert rows[:, 30].tolist() == [0 if counts else 366]


@pytest.mark.parametrize("start", [dt.date(2015, 4, 30), dt.date(2016, 5, 1)])
def test_a_season_that_the_weather_does_not_span_is_refused(start: dt.date) -> None:
    """A day too early; or with too few days after it."""
    with pytest.raises(ValueError, match="does not cover the 400 days"):
        first_pick(
            climate("2015-05-01", "2016-06-03"),
            start,
            ThermalTime(9, "mw2", 10, upper=30),
            as_of=start,
        )


def test_a_planting_of_which_no_spacing_is_known_has_its_own_measure_only() -> None:
    area = Planting.model_construct(crop="kale", plants=None, row=None, area=2.0)
    assert in_units(area, None, None) == {"area": 2.0, "row": None, "plant": None}
    assert in_units(area, 0.25, 0.5) == {"area": 2.0, "row": 4.0, "plant": 16.0}


def test_a_sum_is_reached_at_an_hour_of_a_day() -> None:
    """20 on the first day, 30 on the second: 5 after a quarter of a day, 35 in the middle of the
    second; at a day's very end it is still that day, and what is not reached comes after all."""
    found = _moment(np.array([20.0, 50.0]), np.array([5.0, 20.0, 35.0, 50.0, 51.0]))
    assert found == pytest.approx([0.25, 0.999, 1.5, 1.999, 2.999])


def test_nothing_is_known_before_the_first_day() -> None:
    whole = climate("2015-05-01", "2016-06-03")
    known = [whole.last_known(dt.date(2015, 4, 30)), whole.last_known(dt.date(2015, 5, 1))]
    assert known == [None, 0]


def test_a_season_goes_on_as_a_past_year_did() -> None:
    """2017 up to the fifth of June, the day itself included, then as in 2016, which is then no year
    known beforehand; what the file has of the days to come is not looked at."""
    days = pd.date_range("2015-01-01", "2017-12-31")
    warm = days.year.to_numpy() - 2000.0  # a year's days are as warm as its number
    weather = pd.DataFrame({"tmin_c": warm, "tmax_c": warm + 10}, index=days)
    found = as_this_season(weather, 2016, 2017, as_of=dt.date(2017, 6, 5))
    there = ["2015-07-01", "2017-06-04", "2017-06-05", "2017-06-06", "2017-12-31", "2016-06-05"]
    assert [found["tmin_c"].get(pd.Timestamp(day)) for day in there] == [15, 17, 17, 16, 16, 15]
    assert found.index.is_monotonic_increasing and found.index.is_unique


def test_safe_from_frost_is_the_day_after_the_last_in_that_share_of_the_years() -> None:
    """Last frosts on 1, 3, 5, 7 and 9 May; one in October counts for autumn."""
    days = pd.DatetimeIndex(
        [
            f"{year}-{date}"
            for year, last in ((2001, 5), (2002, 1), (2003, 9), (2005, 3), (2006, 7))
            for date in ("04-02", f"05-0{last}", "05-20", "10-05")
        ]
    )
    nights = np.where(days.strftime("%m-%d") == "05-20", 5.0, -1.0)
    weather = pd.DataFrame({"tmin_c": nights, "tmax_c": 20.0}, index=days)
    assert safe_from_frost(weather, -0.5, 1.0) == (5, 10)
    assert safe_from_frost(weather, -0.5, 0.8) == (5, 8)
    assert safe_from_frost(weather, -0.5, 0.0) == (5, 2)
    assert safe_from_frost(weather, -3.0, 1.0) is None


def test_in_the_south_the_last_frosts_are_those_of_september() -> None:
    """Invented years, warmest in mid-January, with last frosts on 21, 23, 25, 27 and 29 September
    and one in April, which counts for autumn."""
    days = pd.date_range("2000-07-01", "2006-06-30")
    mean = 12 + 9 * np.cos((days.dayofyear.to_numpy() - 15) * 2 * np.pi / 365)
    nights = np.maximum(mean - 5, 2.0)
    last = {2000: 25, 2001: 21, 2002: 29, 2003: 23, 2005: 27}
    frosts = [f"{year}-{date}" for year in last for date in ("07-20", f"09-{last[year]}")]
    nights[days.isin(pd.DatetimeIndex([*frosts, "2003-04-28"]))] = -1.0
    weather = pd.DataFrame({"tmin_c": nights, "tmax_c": mean + 5}, index=days)
    assert safe_from_frost(weather, -0.5, 1.0) == (9, 30)
    assert safe_from_frost(weather, -0.5, 0.8) == (9, 28)
    assert safe_from_frost(weather, -3.0, 1.0) is None


def test_the_weeks_of_a_lot_begin_on_mondays() -> None:
    from harvestplan.plan.models import Lot

    def lot(ready: dt.date, keep: dt.date) -> Lot:
        return Lot(
            id="a",
            crop="a",
            planting="a",
            bought=None,
            ready=ready,
            keep_until=keep,
            grams=1,
            low_grams=1,
            high_grams=1,
        )

    lots = [
        lot(dt.date(2027, 7, 14), dt.date(2027, 7, 20)),
        lot(dt.date(2027, 7, 25), dt.date(2027, 7, 25)),
    ]
    assert _mondays(lots, [0, 1]) == [dt.date(2027, 7, 12), dt.date(2027, 7, 19)]
