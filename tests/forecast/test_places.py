"""One crop in different places: warmth decides, and frost ends the season."""

from __future__ import annotations

import datetime as dt

import pandas as pd
import pytest
from forecast.garden import champion, figure, make_crop, make_library, make_season, read_weather

from harvestplan.forecast.planting import PlantingForecast
from harvestplan.forecast.season_forecast import make_forecast
from harvestplan.inputs.crops import Crop
from harvestplan.kitchen.crop_library import load_library

LIBRARY = load_library()
SUFFOLK = "suffolk_england_1991_2021"


def bears(crop: str, weather: pd.DataFrame) -> dt.date:
    season = make_season({"crop": crop, "set_out": dt.date(2015, 4, 1)})
    found = make_forecast(season, LIBRARY, weather, as_of=dt.date(2019, 1, 15))
    return found.plantings[0].first_pick_p50


@pytest.mark.parametrize(
    "crop",
    ["strawberry", "apple", "pear", "peach", "plum", "sour cherry", "raspberry", "red currant",
     "gooseberry", "apricot", "fig", "quince", "elderberry"],
)  # fmt: skip
def test_fruit_ripens_by_warmth(crop: str) -> None:
    """Days from a date were the same everywhere. Suffolk's summers are cooler than Nebraska's, and
    a place 5 K warmer is weeks earlier."""
    warm = champion() + 5.0
    assert bears(crop, read_weather(SUFFOLK)) > bears(crop, champion()) + dt.timedelta(5)
    assert bears(crop, warm) < bears(crop, champion()) - dt.timedelta(8)


def test_strawberries_of_nebraska_ripen_around_the_first_of_june() -> None:
    """Common practice, no source: late May to mid-June in eastern Nebraska."""
    assert dt.date(2019, 5, 22) <= bears("strawberry", champion()) <= dt.date(2019, 6, 15)


def first_pick(crop: str, place: str, **begun: dt.date) -> dt.date:
    weather = champion() if place == "Nebraska" else read_weather(SUFFOLK)
    season = make_season({"crop": crop, **begun})
    found = make_forecast(season, LIBRARY, weather, as_of=dt.date(2019, 1, 15))
    return found.plantings[0].first_pick_p50


@pytest.mark.parametrize(
    ("crop", "begun", "weeks", "source"),
    [
        ("broad bean", {"sown": dt.date(2019, 3, 15)}, (13, 16), "14 weeks: BROAD_WEB"),
        ("runner bean", {"sown": dt.date(2019, 5, 15)}, (11, 14), "handbooks, from memory"),
        ("kale", {"set_out": dt.date(2019, 5, 10)}, (6, 9), "common practice, no source"),
        ("chard", {"sown": dt.date(2019, 4, 20)}, (7, 11), "common practice, no source"),
        ("collard", {"set_out": dt.date(2019, 5, 10)}, (6, 10), "common practice, no source"),
    ],
)
def test_by_the_sea_crops_take_the_weeks_that_english_gardeners_tell(
    crop: str, begun: dict[str, dt.date], weeks: tuple[int, int], source: str
) -> None:
    """In Suffolk the last frost is in March on the median, when nothing grows: days to maturity
    that were counted from it gave kale in 23 days and runner beans in 39."""
    days = (first_pick(crop, "Suffolk", **begun) - next(iter(begun.values()))).days
    assert weeks[0] <= days / 7 <= weeks[1], source


def test_grapes_ripen_in_nebraska_and_not_outdoors_in_a_cool_english_garden() -> None:
    """Common practice, no source: late August to September on the plains, under glass in Suffolk;
    a frost in March does not stand in the way of a vine."""
    row = {"crop": "grape", "set_out": dt.date(2015, 4, 1), "row": None, "plants": 2}
    may = dt.date(2018, 5, 20)
    season = make_season(row, start="2018-03-01", end="2018-11-30")
    plains, sea = (
        make_forecast(season, LIBRARY, weather, as_of=may).plantings[0]
        for weather in (champion(), read_weather(SUFFOLK))
    )
    assert dt.date(2018, 8, 5) <= plains.first_pick_p50 <= dt.date(2018, 9, 20)
    assert "froze" not in plains.reason
    assert sea.total_g_p50 == 0


def peppers(set_out: dt.date, frost: str = "tender") -> PlantingForecast:
    growth = {"clock": "set out", "thermal_time": figure(900), "frost": figure(frost)}
    crop: Crop = make_crop("pepper", growth=growth)
    season = make_season({"crop": "pepper", "set_out": set_out})
    return make_forecast(
        season, make_library(crop), champion(), as_of=dt.date(2019, 4, 1)
    ).plantings[0]


def test_no_first_pick_is_promised_after_the_frost_of_its_year() -> None:
    """Set out so late that frost comes first in some years: the late date is one before frost, and
    the share of years is told."""
    found, hardy = peppers(dt.date(2019, 7, 5)), peppers(dt.date(2019, 7, 5), "hardy")
    assert hardy.first_pick_p90 > found.first_pick_p90
    assert found.first_pick_p90 < dt.date(2019, 10, 31)
    assert "of 10 years frost comes before it is ripe" in found.reason
    assert found.total_g_p10 == 0
    early = peppers(dt.date(2019, 5, 25))
    assert "frost" not in early.reason


def beans(sown: dt.date, under: str | None) -> PlantingForecast:
    season = make_season({"crop": "snap bean", "sown": sown, "under": under})
    return make_forecast(
        season, make_library(make_crop()), champion(), as_of=dt.date(2019, 4, 1)
    ).plantings[0]


def test_a_tunnel_is_warmer_than_fleece_and_both_put_off_the_frost() -> None:
    """Own judgement, no source: 2 K at night; by day 2 K under fleece, 5 K in a tunnel."""
    covers = (None, "fleece", "tunnel")
    spring, summer = (
        [beans(dt.date(2019, *day), cover) for cover in covers] for day in ((5, 1), (7, 20))
    )
    bare, fleece, tunnel = (found.first_pick_p50 for found in spring)
    assert tunnel < fleece < bare
    poor = [found.total_g_p10 for found in summer]
    assert poor[2] >= poor[1] > poor[0]


def test_staked_tomatoes_come_later_bear_to_the_frost_and_give_more() -> None:
    """Bush kinds bear for 3 to 5 weeks, staked ones for 8 to 13 (planning defaults, from memory);
    a plant gives 7 to 10 lb and 10 to 15 lb (FLW, a web page)."""
    row = {"crop": "tomato", "set_out": dt.date(2019, 5, 20), "row": None, "plants": 1}
    season = make_season(row, row | {"habit": "Staked"})
    found = make_forecast(season, LIBRARY, champion(), as_of=dt.date(2019, 4, 1))
    bush, staked = found.plantings
    assert staked.first_pick_p50 > bush.first_pick_p50
    weeks = [(each.picks[-1].date - each.picks[0].date).days / 7 for each in (bush, staked)]
    assert weeks[0] <= 5 < 8 <= weeks[1] + 1
    assert len(staked.picks) > 2 * len(bush.picks)
    assert staked.total_g_p50 / 453.6 == pytest.approx(12.5, rel=0.25)
    assert staked.total_g_p50 > 1.1 * bush.total_g_p50


def test_pole_beans_come_fifteen_days_later_at_most_and_give_more_of_a_row() -> None:
    """Michigan State University: bush 50 days, pole 65; Kentucky: 120 and 150 lb to 100 ft."""
    row = {"crop": "snap bean", "sown": dt.date(2019, 5, 25)}
    season = make_season(row, row | {"habit": "pole"})
    found = make_forecast(season, LIBRARY, champion(), as_of=dt.date(2019, 4, 1))
    bush, pole = found.plantings
    assert 3 <= (pole.first_pick_p50 - bush.first_pick_p50).days <= 15
    assert pole.total_g_p50 > bush.total_g_p50
