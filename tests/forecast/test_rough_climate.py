"""A rough climate from the table of normals: how far off it is, and that its spread says so.

Against real series that the table does not hold: Champion, Nebraska and Suffolk, England
(tests/data/weather), and those of the package aquacrop 3.1.0; coordinates of the places from
memory, to a tenth of a degree.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import aquacrop
import numpy as np
import pandas as pd
import pytest
from forecast.garden import make_crop, make_library, make_season, read_weather

from harvestplan.forecast import rough_climate as rough
from harvestplan.forecast.planting import PlantingForecast
from harvestplan.forecast.season_forecast import make_forecast
from harvestplan.forecast.weather_facts import usual_days, weather_facts

OPEN = Path(aquacrop.__file__).parent / "data"
PLACES = {
    "champion": (40.4, -101.7, 1029.0), "suffolk": (52.2, 1.0, 40.0),
    "brussels": (50.8, 4.35, 50.0), "tunis": (36.8, 10.2, 5.0), "cordoba": (-31.4, -64.2, 425.0),
    "hyderabad": (17.4, 78.5, 540.0), "north_yorks": (54.2, -1.5, 80.0),
}  # fmt: skip


def months_of(name: str) -> np.ndarray:
    """Mean lowest, then highest temperature of each month."""
    table = pd.read_csv(OPEN / f"{name}_climate.txt", sep=r"\s+")
    low, high = (next(c for c in table if word in c.lower()) for word in ("min", "max"))
    return table.groupby(table.columns[1])[[low, high]].mean().to_numpy().T.ravel()


@pytest.mark.parametrize("name", PLACES)
def test_real_places_are_met_within_what_is_said(name: str) -> None:
    """The root mean square error is within 1.5 times the standard deviation told."""
    found = rough.rough_normals(*PLACES[name])
    off = np.concatenate([found.tmin, found.tmax]) - months_of(name)
    assert np.sqrt((off**2).mean()) < 1.5 * found.sd


def test_each_place_of_the_table_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Between 0.7 and 1.1 times what is said, over all; the worst, Las Vegas in its hot basin, is
    four times off."""
    table = rough._table()
    ratios = []
    for number, row in table.iterrows():
        monkeypatch.setattr(rough, "_table", lambda number=number: table.drop(index=number))
        found = rough.rough_normals(row["latitude"], row["longitude"], row["altitude_m"])
        off = np.concatenate([found.tmin, found.tmax]) - row.filter(like="tm").astype(float)
        ratios.append(np.sqrt((off**2).mean()) / found.sd)
    assert 0.7 < np.sqrt(np.square(ratios).mean()) < 1.1
    assert max(ratios) < 4.2 and sorted(ratios)[-3] < 2.5


def test_an_altitude_that_is_not_known_makes_it_wider() -> None:
    latitude, longitude, altitude = PLACES["champion"]
    known = rough.rough_normals(latitude, longitude, altitude)
    unknown = rough.rough_normals(latitude, longitude, None)
    assert unknown.sd > 1.5 * known.sd
    off = np.concatenate([unknown.tmin, unknown.tmax]) - months_of("champion")
    assert np.sqrt((off**2).mean()) < 1.5 * unknown.sd


def test_the_table_is_sound() -> None:
    table = rough._table()
    low, high = table.filter(like="tmin_"), table.filter(like="tmax_")
    assert low.shape == high.shape == (len(table), 12) and table["place"].is_unique
    assert ((high.to_numpy() - low.to_numpy()) > 3).all()
    north = table["latitude"] > 25
    assert (high["tmax_7"] > high["tmax_1"])[north].all()
    south = table["latitude"] < -25
    assert (high["tmax_7"] < high["tmax_1"])[south].all()


def test_the_years_have_the_normals_and_the_spread_that_is_told() -> None:
    normals = rough.rough_normals(*PLACES["suffolk"])
    years = rough.rough_years(normals, 2020)
    means = years.groupby(years.index.month).mean()
    assert np.abs(means["tmin_c"].to_numpy() - normals.tmin).max() < 1.2
    yearly = years.mean(axis=1).groupby(years.index.year).mean()
    wanted = np.hypot(normals.sd, rough.YEAR_SD)
    assert 0.8 * wanted < yearly.std(ddof=0) < 1.2 * wanted
    pd.testing.assert_frame_equal(years, rough.rough_years(normals, 2020))


@pytest.mark.parametrize(
    ("name", "series"),
    [
        ("champion", "champion_nebraska_1982_2018"),
        ("suffolk", "suffolk_england_1991_2021"),
    ],
)
def test_the_usual_last_frost_lies_where_the_rough_years_have_it(name: str, series: str) -> None:
    """The median of the real years lies between one and nine tenths of the rough ones. Two degrees
    are a month of an English spring."""
    made = weather_facts(rough.rough_years(rough.rough_normals(*PLACES[name]), 2020))
    real = weather_facts(read_weather(series))
    dates = [[f.last_frost for f in facts.whole if f.last_frost] for facts in (made, real)]
    early, _, late = usual_days(dates[0])
    assert early <= usual_days(dates[1])[1] <= late


def forecast_with(weather: pd.DataFrame | None, **keys: object) -> PlantingForecast:
    """Beans sown in Nebraska."""
    home = {"name": "Test", "timezone": "UTC", "altitude": "1029 m"}
    row = {"crop": "snap bean", "sown": dt.date(2019, 5, 20)}
    season = make_season(row, household=home, weather=keys)
    as_of = dt.date(2019, 5, 20)
    return make_forecast(season, make_library(make_crop()), weather, as_of=as_of).plantings[0]


def test_without_weather_the_forecast_is_wide_and_holds_the_real_one() -> None:
    """Against 37 real years: their middle lies within the rough interval, which is wider."""
    real = forecast_with(read_weather("champion_nebraska_1982_2018"))
    made = forecast_with(None, latitude=40.4, longitude=-101.7)
    assert made.first_pick_p10 <= real.first_pick_p50 <= made.first_pick_p90
    narrow, wide = (f.first_pick_p90 - f.first_pick_p10 for f in (real, made))
    assert wide > 1.5 * narrow
    assert "by a rough climate of your place" in made.reason


def test_without_coordinates_dates_are_counted_in_days() -> None:
    assert "counted in days" in forecast_with(None).reason


def test_this_years_days_count_before_the_rough_climate() -> None:
    """A few weeks of weather are no climate, but they are this season's."""
    days = pd.date_range("2019-05-01", "2019-05-20")
    late = []
    for mean in (8.0, 22.0):
        frame = pd.DataFrame({"tmin_c": mean - 5, "tmax_c": mean + 5}, index=days)
        season = make_season(
            {"crop": "snap bean", "sown": dt.date(2019, 5, 1)},
            weather={"latitude": 40.4, "longitude": -101.7},
        )
        (found,) = make_forecast(
            season, make_library(make_crop()), frame, as_of=dt.date(2019, 5, 20)
        ).plantings
        late.append(found.first_pick_p50)
    assert (late[0] - late[1]).days > 5


def test_the_households_own_first_frost_counts_before_a_rough_one() -> None:
    ends = []
    for frost in ("08-05", "10-30"):
        keys = {"latitude": 40.4, "longitude": -101.7, "first_frost": frost}
        season = make_season({"crop": "snap bean", "sown": dt.date(2019, 6, 20)}, weather=keys)
        (found,) = make_forecast(
            season, make_library(make_crop()), None, as_of=dt.date(2019, 6, 20)
        ).plantings
        ends.append(len(found.picks))
    assert ends[0] == 0 < ends[1]
