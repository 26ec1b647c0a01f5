"""When a planting's clock starts, what it needs, and the frost that ends it."""

import datetime as dt
from typing import Any

import pytest
from forecast.garden import champion, even_weather, figure, make_crop, make_season

from harvestplan.errors import FilesNeedMending
from harvestplan.forecast.climate import Climate
from harvestplan.forecast.clock import Clock, next_month_day, set_clock
from harvestplan.forecast.frost import _warmest, early_frost, picking_ends

TOMATO: dict[str, Any] = {"clock": "set out", "raise_days": figure("42 days"), "method": "mw1",
                          "base": figure("7 C"), "upper": figure("28 C"),
                          "thermal_time": figure(950)}  # fmt: skip
BLUEBERRY: dict[str, Any] = {"clock": "biofix", "biofix": "03-01", "thermal_time": None,
                             "days_to_maturity": figure("110 days"),
                             "frost": figure("hardy")}  # fmt: skip


def climate_of(weather: Any) -> Climate:
    climate = Climate.from_frame(weather, dt.date(1981, 1, 1), dt.date(2023, 12, 31))
    assert climate is not None
    return climate


def clock_for(
    planting: dict[str, Any], growth: dict[str, Any], weather: Any, **season: Any
) -> Clock:
    written = make_season(planting | {"crop": "snap bean"}, **season)
    climate = None if weather is None else climate_of(weather)
    return set_clock(written.planting[0], make_crop(growth=growth), written, climate=climate)


MAY = dt.date(2019, 5, 20)


def test_the_crop_files_thermal_time_is_used_as_it_is() -> None:
    clock = clock_for({"sown": MAY}, {}, champion())
    assert clock.start == MAY
    assert clock.needed is not None and clock.needed.amount == 550


def test_packet_days_become_what_the_normals_give_in_those_days() -> None:
    """At a steady 20 °C a day gives 10 °C·d above base 10."""
    steady = even_weather("2000-01-01", "2018-12-31", mean=20, swing=0)
    clock = clock_for({"sown": MAY, "days_to_maturity": 50}, {}, steady)
    assert clock.needed is not None and clock.needed.amount == pytest.approx(500)
    assert clock.basis.startswith("900 degree-days F from ")  # US measures
    assert "packet's 50 days" in clock.basis


def test_without_thermal_time_the_crop_files_days_are_used_the_same_way() -> None:
    steady = even_weather("2000-01-01", "2018-12-31", mean=20, swing=0)
    clock = clock_for({"sown": MAY}, {"thermal_time": None}, steady)
    assert clock.needed is not None and clock.needed.amount == pytest.approx(550)
    assert "crop file's 55 days" in clock.basis


def test_sown_under_cover_is_set_out_after_its_raising() -> None:
    clock = clock_for({"sown": dt.date(2019, 4, 1)}, TOMATO, champion())
    assert clock.start == dt.date(2019, 5, 13)
    assert clock.needed is not None and clock.needed.amount == 950


def test_a_plant_in_place_of_seed_has_part_of_its_way_behind_it() -> None:
    """10 days in the pot at 18 °C: 80 °C·d above base 10; never more than 30 %."""
    ten = clock_for({"set_out": MAY, "sown": None}, {"raise_days": figure("10 days")}, champion())
    assert ten.start == MAY and ten.needed is not None
    assert ten.needed.amount == pytest.approx(470)
    long = clock_for({"set_out": MAY}, {"raise_days": figure("60 days")}, champion())
    assert long.needed is not None and long.needed.amount == pytest.approx(550 * 0.7)


def test_biofix_starts_in_the_seasons_own_year() -> None:
    clock = clock_for({"set_out": dt.date(2012, 4, 1)}, BLUEBERRY, champion())
    assert clock.start == dt.date(2019, 3, 1)


def test_biofix_of_a_season_that_starts_in_autumn_lies_in_the_next_year() -> None:
    span = {"start": "2018-10-01", "end": "2019-09-30"}
    clock = clock_for({"set_out": dt.date(2012, 4, 1)}, BLUEBERRY, champion(), **span)
    assert clock.start == dt.date(2019, 3, 1)


@pytest.mark.parametrize("weather", [even_weather("2000-01-01", "2018-06-30", south=True), None])
def test_south_of_the_equator_biofix_lies_half_a_year_later(weather: Any) -> None:
    written = make_season(
        {"crop": "snap bean", "set_out": dt.date(2012, 10, 1)},
        start="2018-08-01",
        end="2019-05-31",
        weather={"last_frost": "09-20"},
    )
    climate = None if weather is None else climate_of(weather)
    clock = set_clock(written.planting[0], make_crop(growth=BLUEBERRY), written, climate=climate)
    assert clock.start == dt.date(2018, 9, 1)


def test_half_a_year_later_than_a_month_s_end_is_a_month_s_end() -> None:
    """30 August becomes 28 February, 31 January 30 July."""
    for biofix, start in (("08-30", dt.date(2019, 2, 28)), ("01-31", dt.date(2018, 7, 30))):
        written = make_season(
            {"crop": "snap bean", "set_out": dt.date(2012, 10, 1)},
            start="2018-08-01",
            end="2019-05-31",
            weather={"last_frost": "09-20"},
        )
        crop = make_crop(growth=BLUEBERRY | {"biofix": biofix})
        assert set_clock(written.planting[0], crop, written, climate=None).start == start


def test_without_weather_the_way_is_counted_in_days() -> None:
    clock = clock_for({"sown": MAY}, {}, None)
    assert (clock.needed, clock.days) == (None, 55)
    pots = clock_for({"set_out": MAY}, {"raise_days": figure("10 days")}, None)
    assert pots.days == 45


def test_month_days() -> None:
    assert next_month_day("10-05", dt.date(2019, 5, 1)) == dt.date(2019, 10, 5)
    assert next_month_day("03-05", dt.date(2019, 5, 1)) == dt.date(2020, 3, 5)
    assert next_month_day("02-29", dt.date(2019, 1, 1)) == dt.date(2019, 2, 28)
    with pytest.raises(FilesNeedMending, match="no day of the year"):
        next_month_day("02-30", dt.date(2019, 1, 1))


def ends(hardiness: str, weather: Any, start: dt.date, first: int, as_of: dt.date) -> int | None:
    climate = None if weather is None else climate_of(weather)
    written = make_season({"crop": "x", "sown": start}, weather={"first_frost": "10-05"})
    return picking_ends(hardiness, start, first, as_of=as_of, climate=climate, season=written)


@pytest.mark.parametrize(("hardiness", "kills"), [("tender", -0.5), ("half-hardy", -3.0)])
def test_the_median_first_frost_ends_the_picking(hardiness: str, kills: float) -> None:
    """Independent count: first day from August on colder than -0.5 °C, or than -3 °C for what
    withstands light frost, median of the years. 28 to 32 °F (-2 to 0 °C) damage tender crops
    (OLNEY of crops/sources.toml); the two lines are own judgement."""
    weather = champion()
    firsts = []
    for year in range(1982, 2018):
        autumn = weather.loc[f"{year}-08-01" : f"{year}-12-31", "tmin_c"]
        firsts.append(autumn.index[autumn < kills][0].dayofyear)
    middle = sorted(firsts)[len(firsts) // 2]
    start = dt.date(2018, 5, 20)
    day = ends(hardiness, weather, start, first=56, as_of=dt.date(2018, 5, 20))
    assert day is not None
    assert (start + dt.timedelta(days=day)).timetuple().tm_yday == pytest.approx(middle, abs=1)


def test_half_hardy_crops_stand_longer_and_hardy_ones_are_not_cut() -> None:
    start = dt.date(2018, 5, 20)
    tender, half, hardy = (
        ends(kind, champion(), start, first=56, as_of=start)
        for kind in ("tender", "half-hardy", "hardy")
    )
    assert tender is not None and half is not None
    assert tender < half
    assert hardy is None


def test_a_real_frost_in_july_ends_the_picking_there_and_then() -> None:
    weather = champion()
    weather.loc["2018-07-28", "tmin_c"] = -1.5
    start, as_of = dt.date(2018, 5, 20), dt.date(2018, 8, 1)
    for first in (50, 69):  # the very day of the first pick too
        assert (
            ends("tender", weather, start, first=first, as_of=as_of)
            == (dt.date(2018, 7, 28) - start).days
        )
    assert ends("tender", weather, start, first=50, as_of=dt.date(2018, 7, 27)) != 69


def test_a_frost_in_july_before_the_first_pick_is_told_but_does_not_end_it() -> None:
    weather = champion()
    weather.loc["2018-07-01", "tmin_c"] = -1.5
    start, as_of = dt.date(2018, 5, 20), dt.date(2018, 7, 5)
    day = ends("tender", weather, start, first=56, as_of=as_of)
    assert day is not None and day > 100
    climate = climate_of(weather)
    assert early_frost("tender", start, 0, first_pick=56, as_of=as_of, climate=climate) == dt.date(
        2018, 7, 1
    )
    assert early_frost("hardy", start, 0, first_pick=56, as_of=as_of, climate=climate) is None


def test_one_freak_july_in_the_past_does_not_move_the_median() -> None:
    weather = champion()
    start = dt.date(2018, 5, 20)
    before = ends("tender", weather, start, first=56, as_of=start)
    weather.loc["1995-07-28", "tmin_c"] = -3.0
    after = ends("tender", weather, start, first=56, as_of=start)
    assert before is not None and after is not None and abs(after - before) <= 1


def test_what_is_sown_up_to_240_days_before_the_warmest_day_ripens_by_it() -> None:
    """Later than that, garlic of last autumn, say, it has that day behind it."""
    climate = climate_of(even_weather("2000-01-01", "2018-12-31"))
    warm = dt.date(2019, 1, 1) + dt.timedelta(days=climate.warmest_day() - 1)  # no 29 February
    assert abs(warm - dt.date(2019, 7, 15)).days <= 1
    assert _warmest(climate, warm - dt.timedelta(days=100)) == 100
    ahead = [_warmest(climate, warm + dt.timedelta(days=366 - days)) for days in (240, 241)]
    assert ahead == [240, 0]


def test_tonight_is_not_known_yet() -> None:
    """That it froze on 1 June in every year before does not end this year's picking on 31 May."""
    weather = champion()
    days = weather.index
    weather.loc[(days.month == 6) & (days.day == 1), "tmin_c"] = -2.0
    start = dt.date(2018, 5, 20)
    day = ends("tender", weather, start, first=0, as_of=dt.date(2018, 5, 31))
    assert day is not None and day > 60
    assert ends("tender", weather, start, first=0, as_of=dt.date(2018, 6, 1)) == 12


def test_without_weather_the_households_first_frost_counts() -> None:
    start = dt.date(2019, 5, 20)
    day = ends("tender", None, start, first=56, as_of=start)
    assert day == (dt.date(2019, 10, 5) - start).days
    assert ends("half-hardy", None, start, first=56, as_of=start) == day + 14
    assert ends("hardy", None, start, first=56, as_of=start) is None


def test_no_frost_where_it_never_freezes() -> None:
    mild = even_weather("2000-01-01", "2018-12-31", mean=20, swing=5)
    assert ends("tender", mild, dt.date(2019, 5, 20), first=56, as_of=dt.date(2019, 5, 20)) is None


@pytest.mark.parametrize("mean", [6.0, 10.0, 14.0])
def test_warm_enough_is_the_day_after_the_last_colder_one_of_spring(mean: float) -> None:
    """Champion, Nebraska: against the means of each calendar day over 15 days, reckoned here."""
    weather = champion()
    each = weather.mean(axis=1).groupby([weather.index.month, weather.index.day]).mean()
    smooth = each.rolling(15, center=True, min_periods=1).mean()
    days = [dt.date(2000, *when) for when in smooth.index]
    colder = (d for d, m in zip(days, smooth, strict=True) if d < dt.date(2000, 7, 1) and m < mean)
    found = dt.date(2000, 1, 1) + dt.timedelta(days=climate_of(weather).warm_from(mean))
    assert abs((found - max(colder)).days - 1) <= 1


def test_what_never_comes_is_the_warmest_day_and_what_always_holds_half_a_year_before() -> None:
    climate = climate_of(champion())
    assert climate.warm_from(50.0) == climate.warmest_day()
    assert (climate.warmest_day() - climate.warm_from(-40.0)) % 366 == 182
