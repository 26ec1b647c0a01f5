"""The whole forecast: dates, quantities, picks, words."""

import datetime as dt
import math
from typing import Any

import numpy as np
import pandas as pd
import pytest
from forecast.garden import champion, even_weather, figure, make_crop, make_library, make_season

from harvestplan.errors import FilesNeedMending
from harvestplan.forecast.amounts import season_yield, weekly_warmth
from harvestplan.forecast.news import describe_change
from harvestplan.forecast.picks import rhythm_of
from harvestplan.forecast.season_forecast import Forecast, PlantingForecast, make_forecast
from harvestplan.inputs.crops import Crop
from harvestplan.inputs.growing import Picking

MAY = dt.date(2019, 5, 20)


def one(
    planting: dict[str, Any],
    crop: Crop | None = None,
    weather: pd.DataFrame | None = None,
    as_of: dt.date = dt.date(2019, 4, 1),
    **season: Any,
) -> PlantingForecast:
    crop = crop or make_crop()
    written = make_season({"crop": crop.name, **planting}, **season)
    return make_forecast(written, make_library(crop), weather, as_of=as_of).plantings[0]


def test_days_and_a_spread_without_weather() -> None:
    found = one({"sown": MAY})
    assert found.first_pick_p50 == dt.date(2019, 7, 14)
    width = (found.first_pick_p90 - found.first_pick_p10).days
    assert width == pytest.approx(2 * 1.2816 * 8.5, abs=2)
    assert "no weather" in found.reason


def test_too_little_weather_counts_as_none() -> None:
    few = champion().loc["2018-01-01":"2018-06-30"]
    assert one({"sown": MAY}, weather=few) == one({"sown": MAY})
    assert one({"sown": MAY}, weather=few.iloc[:0]) == one({"sown": MAY})


def test_a_seen_first_pick_is_exact() -> None:
    seen = dt.date(2019, 7, 3)
    for weather in (None, champion()):
        found = one({"sown": MAY, "first_pick": seen}, weather=weather)
        assert {found.first_pick_p10, found.first_pick_p50, found.first_pick_p90} == {seen}
        assert found.picks[0].date == seen
        assert "seen on 3 July" in found.reason


def test_a_first_pick_seen_far_from_the_clocks_start_still_counts() -> None:
    """Leeks left in the ground a second winter, or a crop picked before its usual clock."""
    for seen in (dt.date(2020, 8, 1), dt.date(2019, 5, 1)):
        found = one(
            {"sown": MAY, "first_pick": seen},
            make_crop(growth={"frost": figure("hardy")}),
            champion(),
        )
        assert found.picks[0].date == seen
        assert found.total_g_p50 == pytest.approx(10_000)


def test_early_and_late_are_said_in_degree_days() -> None:
    """2012 was among the warmest, 1993 among the coolest summers of the Champion series."""
    corn = make_crop("sweet corn", growth={"thermal_time": figure(855)})
    warm, cool = (
        one(
            {"sown": dt.date(year, 5, 10)},
            corn,
            champion(),
            as_of=dt.date(year, 7, 10),
            start=f"{year}-04-01",
            end=f"{year}-11-30",
        )
        for year in (2012, 2018)
    )
    assert "days early" in warm.reason and "degree-days F ahead of a normal year" in warm.reason
    late = champion()
    late.loc["2018-05-10":"2018-07-10"] -= 4.0
    found = one(
        {"sown": dt.date(2018, 5, 10)},
        corn,
        late,
        as_of=dt.date(2018, 7, 10),
        start="2018-04-01",
        end="2018-11-30",
    )
    assert "days late" in found.reason and "behind a normal year" in found.reason
    assert found.first_pick_p50 > cool.first_pick_p50


def test_the_future_is_not_looked_at() -> None:
    span: Any = {"start": "2012-04-01", "end": "2012-11-30"}
    whole, cut = champion(), champion().loc[:"2012-06-15"]
    planting, as_of = {"sown": dt.date(2012, 5, 10)}, dt.date(2012, 6, 15)
    assert one(planting, weather=whole, as_of=as_of, **span) == one(
        planting, weather=cut, as_of=as_of, **span
    )


def test_garlic_planted_the_autumn_before() -> None:
    """Thermal time 1140 °C·d, base 4, upper 30 (PAREDES): early summer in Nebraska."""
    growth = {
        "method": "mw1",
        "base": figure("4 C"),
        "thermal_time": figure(1140),
        "days_to_maturity": figure("250 days"),
        "frost": figure("hardy"),
    }
    garlic = make_crop("garlic", growth=growth)
    found = one(
        {"sown": dt.date(2017, 10, 10)},
        garlic,
        champion(),
        as_of=dt.date(2018, 4, 1),
        start="2018-03-01",
        end="2018-11-30",
    )
    assert dt.date(2018, 5, 15) < found.first_pick_p50 < dt.date(2018, 7, 15)
    counted = one({"sown": dt.date(2017, 10, 10)}, garlic, None, as_of=dt.date(2018, 4, 1))
    assert counted.first_pick_p50 == dt.date(2018, 6, 17)


def test_a_bush_set_out_years_ago_bears_this_year() -> None:
    """110 days from the first of March, as warm as in Nebraska's past years."""
    growth = {
        "clock": "biofix",
        "biofix": "03-01",
        "thermal_time": None,
        "days_to_maturity": figure("110 days"),
        "frost": figure("hardy"),
    }
    bush = make_crop("blueberry", growth=growth)
    found = one({"set_out": dt.date(2012, 4, 1)}, bush, champion(), as_of=dt.date(2019, 2, 1))
    assert abs((found.first_pick_p50 - dt.date(2019, 6, 19)).days) <= 7


def test_a_weather_file_begun_after_the_planting_is_filled_with_what_is_normal() -> None:
    growth = {
        "method": "mw1",
        "base": figure("4 C"),
        "thermal_time": figure(1140),
        "days_to_maturity": figure("250 days"),
        "frost": figure("hardy"),
    }
    garlic, planted = make_crop("garlic", growth=growth), {"sown": dt.date(2018, 10, 10)}
    found = [
        one(planted, garlic, even_weather(begun, "2019-10-31"), as_of=dt.date(2019, 10, 31))
        for begun in ("2017-10-10", "2018-11-01")
    ]
    whole, late = (each.first_pick_p50 for each in found)
    assert abs((late - whole).days) <= 3
    assert dt.date(2019, 5, 1) < late < dt.date(2019, 9, 1)


def test_southern_season_across_new_year_mirrors_the_northern_one() -> None:
    north = even_weather("2000-01-01", "2019-04-01")
    south = even_weather("2000-01-01", "2019-10-01", south=True)
    up = one({"sown": MAY}, weather=north, end="2019-11-30")
    down = one(
        {"sown": dt.date(2019, 11, 20)},
        weather=south,
        as_of=dt.date(2019, 10, 1),
        start="2019-09-01",
        end="2020-05-31",
    )
    taken = (up.first_pick_p50 - MAY).days
    assert (down.first_pick_p50 - dt.date(2019, 11, 20)).days == pytest.approx(taken, abs=3)
    assert down.first_pick_p50.year == 2020
    assert down.total_g_p50 == pytest.approx(up.total_g_p50, rel=0.01)


def test_an_extra_leap_day_hardly_matters() -> None:
    found = [
        one(
            {"sown": dt.date(year, 2, 28)},
            weather=even_weather("2000-01-01", "2014-12-31"),
            as_of=dt.date(2015, 1, 1),
            start=f"{year}-01-01",
            end=f"{year}-11-30",
        )
        for year in (2015, 2016)
    ]
    taken = [(p.first_pick_p50 - dt.date(p.first_pick_p50.year, 2, 28)).days for p in found]
    assert abs(taken[0] - taken[1]) <= 1


def test_frost_cuts_the_picks_short() -> None:
    """Sown late: half of the bean's four weeks lie after a first frost on 5 October."""
    whole = one({"sown": MAY}, weather=None)
    found = one({"sown": dt.date(2019, 7, 28)}, start="2019-03-01")
    late = make_season(
        {"crop": "snap bean", "sown": dt.date(2019, 7, 28)}, weather={"first_frost": "10-05"}
    )
    cut = make_forecast(late, make_library(make_crop()), None, as_of=MAY).plantings[0]
    assert found.total_g_p50 == pytest.approx(whole.total_g_p50)
    assert cut.total_g_p50 == pytest.approx(0.75 * whole.total_g_p50)  # weeks 1 and 2
    assert max(pick.date for pick in cut.picks) < dt.date(2019, 10, 5)


def test_nothing_is_promised_after_frost() -> None:
    found = one({"sown": dt.date(2019, 9, 20)}, weather=champion(), as_of=dt.date(2018, 12, 31))
    assert found.picks == () and found.total_g_p90 == 0
    assert "frost" in found.reason and "before it is ripe" in found.reason


def test_a_crop_that_never_ripens_says_so() -> None:
    cold = even_weather("2000-01-01", "2018-12-31", mean=2, swing=5)
    found = one({"sown": MAY}, weather=cold)
    assert found.picks == () and "too cool" in found.reason


def test_the_likely_total_is_the_sum_of_the_picks_and_its_range_has_failures() -> None:
    """10 m at 1 kg per m, half or twice of it one year in ten each; one planting in twenty brings
    nothing. Then P10 lies at Φ⁻¹(0.05/0.95) = -1.62 SD and P90 at Φ⁻¹(0.85/0.95) = 1.25 SD of the
    other nineteen, where 1.2816 SD are a factor of 2."""
    found = one({"sown": MAY}, weather=champion())
    assert found.total_g_p50 == pytest.approx(sum(pick.likely_g for pick in found.picks))
    assert found.total_g_p50 == pytest.approx(10_000)
    assert found.total_g_p10 == pytest.approx(10_000 / 2 ** (1.62 / 1.2816), rel=0.03)
    assert found.total_g_p90 == pytest.approx(10_000 * 2 ** (1.25 / 1.2816), rel=0.03)
    assert all(pick.low_g <= pick.likely_g <= pick.high_g for pick in found.picks)
    gaps = {(b.date - a.date).days for a, b in zip(found.picks, found.picks[1:], strict=False)}
    assert gaps == {3}


def test_frames() -> None:
    written = make_season({"crop": "snap bean", "sown": MAY}, {"crop": "snap bean", "sown": MAY})
    forecast = make_forecast(written, make_library(make_crop()), champion(), as_of=MAY)
    frame, weekly = forecast.frame(), forecast.weekly()
    assert list(frame) == ["planting", "crop", "date", "low_g", "likely_g", "high_g"]
    assert frame["likely_g"].sum() == pytest.approx(20_000)
    assert set(weekly["week"].dt.weekday) == {0}
    assert weekly["likely_g"].sum() == pytest.approx(20_000)
    assert weekly["week"].is_unique
    # Two like plantings, each by itself: neither one's bad luck is the other's.
    single = make_forecast(
        make_season({"crop": "snap bean", "sown": MAY}),
        make_library(make_crop()),
        champion(),
        as_of=MAY,
    ).weekly()
    assert (weekly["low_g"] <= weekly["likely_g"]).all()
    assert (weekly["likely_g"] <= weekly["high_g"]).all()
    most = weekly.loc[weekly["likely_g"].idxmax()], single.loc[single["likely_g"].idxmax()]
    assert most[0]["week"] == most[1]["week"]
    assert most[0]["high_g"] > 1.3 * most[1]["high_g"]
    totals = [p.summers.totals() for p in forecast.plantings if p.summers is not None]
    assert abs(np.corrcoef(totals)[0, 1]) < 0.15
    empty = Forecast(MAY, ())
    assert empty.frame().empty and empty.weekly().empty


def test_the_same_question_has_the_same_answer() -> None:
    written = make_season({"crop": "snap bean", "sown": MAY})
    first, second = (
        make_forecast(written, make_library(make_crop()), champion(), as_of=MAY) for _ in range(2)
    )
    assert first == second


def test_a_planting_without_an_id_goes_by_its_crop_and_number() -> None:
    rows = {"crop": "snap bean", "sown": MAY, "id": None}
    found = make_forecast(make_season(rows, rows), make_library(make_crop()), None, as_of=MAY)
    assert [each.planting_id for each in found.plantings] == ["snap bean-1", "snap bean-2"]


def test_an_unknown_crop_is_named() -> None:
    written = make_season({"crop": "moon bean", "sown": MAY})
    with pytest.raises(FilesNeedMending, match="moon bean"):
        make_forecast(written, make_library(make_crop()), None, as_of=MAY)


# --- quantities -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("measure", "yields", "grams"),
    [
        ({"row": "10 m"}, {}, 10_000),
        ({"row": None, "area": "5 m2"}, {}, 10_000),  # 10 m of row at 50 cm
        ({"row": None, "plants": 30}, {}, 3_000),  # 3 m of row at 10 cm
        ({"row": "10 m"}, {"per_row": None, "per_plant": figure("80 g")}, 8_000),
        ({"row": None, "area": "5 m2"}, {"per_row": None, "per_plant": figure("80 g")}, 8_000),
        ({"row": None, "plants": 30}, {"per_row": None, "per_area": figure("2 kg per m2")}, 3_000),
        ({"row": "10 m"}, {"per_row": None, "per_area": figure("2 kg per m2")}, 10_000),
    ],
)
def test_yield_from_any_measure(
    measure: dict[str, Any], yields: dict[str, Any], grams: float
) -> None:
    planting = make_season({"crop": "snap bean", "sown": MAY, **measure}).planting[0]
    found = season_yield(planting, make_crop(yields=yields))
    assert found.p50 == pytest.approx(grams)
    assert (found.p10, found.p90) == pytest.approx((grams / 2, grams * 2))


def test_the_households_own_yield_comes_first_and_is_surer() -> None:
    planting = make_season({"crop": "snap bean", "sown": MAY, "yield": "6 kg"}).planting[0]
    found = season_yield(planting, make_crop())
    assert found.p50 == 6_000
    assert found.p90 / found.p50 == pytest.approx(found.p50 / found.p10)
    assert math.log(found.p90 / found.p50) / 1.2816 == pytest.approx(0.3, abs=1e-3)


def test_a_yield_without_a_way_to_it_asks_for_one() -> None:
    planting = make_season({"crop": "snap bean", "sown": MAY, "row": None, "plants": 3}).planting[0]
    with pytest.raises(FilesNeedMending, match=r'Add yield = "\.\.\."'):
        season_yield(planting, make_crop(yields={"spacing": None}))


def shares(picking: Picking, warmth: Any, ends: int | None = None) -> dict[int, float]:
    return dict(rhythm_of(picking, warmth, ends).coming(0, 0))


def test_warmth_moves_yield_between_weeks_and_keeps_the_total() -> None:
    picking = make_crop().picking
    assert picking is not None
    plain = shares(picking, np.ones(4))
    warm = shares(picking, np.array([1.3, 1.0, 1.0, 1.0]))
    assert sum(plain.values()) == pytest.approx(1)
    assert sum(warm.values()) == pytest.approx(1)
    assert warm[0] / plain[0] == pytest.approx(1.3 / (1 + 0.3 * 0.35))
    extreme = shares(picking, np.array([9.0, 1.0, 1.0, 1.0]))
    assert extreme[0] / plain[0] == pytest.approx(1.4 / (1 + 0.4 * 0.35))


def test_weekly_warmth() -> None:
    daily, normal = np.repeat([12.0, 5.0, 0.0], 7), np.repeat([10.0, 10.0, 0.1], 7)
    assert weekly_warmth(daily, normal) == pytest.approx([1.2, 0.5, 1.0])


def test_weekly_picks_carry_the_weekly_shares() -> None:
    picking = make_crop(picking={"every": figure("7 days")}).picking
    assert picking is not None
    found = shares(picking, np.ones(4))
    assert found == pytest.approx({0: 0.35, 7: 0.4, 14: 0.2, 21: 0.05})
    assert shares(picking, np.ones(4), 0) == {}


# --- words ------------------------------------------------------------------------------------


def test_changes_worth_saying() -> None:
    library, rows = make_library(make_crop()), {"crop": "snap bean", "sown": MAY}
    old = make_forecast(make_season(rows), library, None, as_of=MAY)
    assert describe_change(old, old) == ()
    moved = make_forecast(
        make_season(rows | {"first_pick": dt.date(2019, 7, 4)}), library, None, as_of=MAY
    )
    (line,) = describe_change(old, moved)
    assert "10 days earlier" in line and "4 July" in line and "seen" in line
    less = make_forecast(make_season(rows | {"row": "5 m"}), library, None, as_of=MAY)
    assert "5 kg in all instead of 10 kg" in describe_change(old, less)[0]
    both = make_forecast(make_season(rows, rows), library, None, as_of=MAY)
    assert "p2" in describe_change(old, both)[0] and "new" in describe_change(old, both)[0]
    assert "no longer" in describe_change(both, old)[0]
    for row, news in (("9.2 m", 0), ("10.8 m", 0), ("8.8 m", 1), ("11.2 m", 1)):  # a tenth is news
        other = make_forecast(make_season(rows | {"row": row}), library, None, as_of=MAY)
        assert len(describe_change(old, other)) == news
    near = make_forecast(
        make_season(rows | {"first_pick": dt.date(2019, 7, 13)}), library, None, as_of=MAY
    )
    assert describe_change(old, near) == ()
