"""How the diary moves the forecast: stages, picks, missed picks, and no picks at all."""

import datetime as dt
from typing import Any

import numpy as np
import pandas as pd
import pytest
from forecast.garden import champion, even_weather, figure, make_crop, make_library, make_season

from harvestplan.forecast.amounts import YieldSpread
from harvestplan.forecast.clock import Clock
from harvestplan.forecast.ensemble import HORIZON, FirstPick, days_without_weather
from harvestplan.forecast.news import alerts, describe_change
from harvestplan.forecast.picks import learn, rhythm_of
from harvestplan.forecast.season_forecast import Forecast, PlantingForecast, make_forecast
from harvestplan.forecast.stages import counted_from_flower, narrowed, not_before, restart
from harvestplan.forecast.thermal import ThermalTime
from harvestplan.inputs.crops import Crop
from harvestplan.inputs.figures import Figure
from harvestplan.inputs.quantities import Quantity
from harvestplan.records.diary import Diary
from harvestplan.records.events import Emerged, Event, Failed, Flowering, NoneYet, Picked

MAY = dt.date(2019, 5, 20)
FIRST = dt.date(2019, 7, 14)
"""First pick of a bean sown on 20 May, counted in days."""


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(f"2019-{text}")


def picked(on: str, grams: float, planting: str | None = None, kind: Any = "mass") -> Picked:
    return Picked(day(on), "code", 1, "", "snap bean", Quantity(grams, kind), planting)


def flowering(on: str, planting: str | None = None) -> Flowering:
    return Flowering(day(on), "code", 1, "", "snap bean", planting)


def emerged(on: str, planting: str | None = None) -> Emerged:
    return Emerged(day(on), "code", 1, "", "snap bean", planting)


def none_yet(on: str, planting: str | None = None) -> NoneYet:
    return NoneYet(day(on), "code", 1, "", "snap bean", planting)


def failed(on: str, planting: str | None = None) -> Failed:
    return Failed(day(on), "code", 1, "", "snap bean", planting)


def all_of(
    *events: Event,
    plantings: int = 1,
    crop: Crop | None = None,
    weather: pd.DataFrame | None = None,
    as_of: str = "07-01",
    sown: tuple[dt.date, ...] = (),
    begun: Any = None,
    watched: bool = False,
) -> Forecast:
    rows = [{"crop": "snap bean", "sown": day} for day in sown or (MAY,) * plantings]
    library = make_library(crop or bean())
    return make_forecast(
        make_season(*rows),
        library,
        weather,
        as_of=day(as_of),
        diary=Diary(events),
        begun=begun or {},
        watched=watched,
    )


def one(*events: Event, **more: Any) -> PlantingForecast:
    return all_of(*events, **more).plantings[0]


def bean(**changes: Any) -> Crop:
    after = figure("8 days", low="7 days", high="10 days")
    growth = {"days_after_flower": after} | changes.pop("growth", {})
    return make_crop(growth=growth, **changes)


def width(planting: PlantingForecast) -> int:
    return (planting.first_pick_p90 - planting.first_pick_p10).days


# --- stages -----------------------------------------------------------------------------------


def test_an_empty_diary_before_the_harvest_changes_nothing() -> None:
    for weather in (None, champion()):
        season, library = make_season({"crop": "snap bean", "sown": MAY}), make_library(bean())
        plain = make_forecast(season, library, weather, as_of=day("06-15"))
        assert make_forecast(season, library, weather, as_of=day("06-15"), diary=Diary()) == plain


@pytest.mark.parametrize("weather", [None, champion().loc[:"2018-12-31"]])
def test_late_seedlings_make_a_late_harvest_by_as_many_days(weather: Any) -> None:
    early, late = (one(emerged(f"{d}"), weather=weather) for d in ("05-30", "06-09"))
    moved = (late.first_pick_p50 - early.first_pick_p50).days
    assert 7 <= moved <= 10  # the later ones grow in warmer days
    assert "it came up on 9 June" in late.reason


def test_emergence_restarts_the_clock_with_its_own_warmth_taken_off() -> None:
    """At a steady 20 °C a bean needs 11 days to come up (Oregon State University Extension, after
    Harrington): 110 of its 550 °C·d, so 44 days are left."""
    steady = even_weather("2000-01-01", "2018-12-31", mean=20, swing=0)
    found = one(emerged("06-10"), weather=steady, as_of="06-10")
    # The 44th day after the 10th of June, counted as the first, is the 23rd of July.
    assert found.first_pick_p50 == day("07-23")
    unmoved = one(emerged("05-31"), weather=steady, as_of="05-31")
    assert abs((unmoved.first_pick_p50 - one(weather=steady).first_pick_p50).days) <= 1


@pytest.mark.parametrize(
    ("crop", "days"),
    [("snap bean", 11), ("beet", 6), ("cabbage", 6), ("carrot", 7), ("cauliflower", 6),
     ("sweet corn", 7), ("cucumber", 6)],
)  # fmt: skip
def test_seedlings_have_the_published_days_behind_them(crop: str, days: int) -> None:
    """Days to emerge in soil of 68 °F (20 °C): Oregon State University Extension 2013, after
    Harrington. Each has 10 °C·d above a base of 10 °C."""
    clock = Clock(MAY, 55, ThermalTime(550, "mw2", 10, upper=30), basis="")
    left = restart(clock, make_crop(crop), day("06-02")).needed
    assert left is not None and left.amount == pytest.approx(550 - 10 * days)


def test_a_bush_may_be_picked_up_to_a_month_before_its_clock_starts() -> None:
    """Its clock starts on the first of March; the 10th of February is near, that of January not."""
    growth = {"clock": "biofix", "biofix": "03-01", "days_to_maturity": figure("110 days")}
    rows = {"crop": "snap bean", "set_out": dt.date(2012, 4, 1)}
    for on, counts in (("02-10", True), ("01-10", False)):
        found = make_forecast(
            make_season(rows, start="2019-01-01"),
            make_library(bean(growth=growth)),
            None,
            as_of=day("02-20"),
            diary=Diary((picked(on, 500),)),
            begun={},
        )
        assert any(pick.made for pick in found.plantings[0].picks) == counts


def test_flowers_and_clock_are_combined_by_inverse_variance() -> None:
    """Clock: day 55.5, SD 8.5. Flower on day 36: 44.5, SD 1.5. Weights 1/72.25 and 1/2.25."""
    after = Figure[float].model_validate(
        {"value": 8 * 86400.0, "low": 7 * 86400.0, "high": 9 * 86400.0, "source": "T", "seen": True}
    )
    found = narrowed(days_without_weather(55), counted_from_flower(after, 36))
    middle = float(np.median(found.days))
    early, late = np.quantile(found.days, [0.1, 0.9], method="hazen")
    spread = float(late - early) / 2.5631
    sd = 8.5  # without weather
    weights = 1 / sd**2, 1 / 2.25
    by_hand = (weights[0] * 55.5 + weights[1] * 44.5) / sum(weights)
    assert middle == pytest.approx(by_hand, abs=0.1)
    assert spread == pytest.approx(sum(weights) ** -0.5, rel=0.02)
    assert (np.diff(found.days) > 0).all()  # what was early stays early


def test_a_flower_says_when_where_the_clock_says_never() -> None:
    """Too cool to ripen by the clock; flowered on day 36, 8 days before the pick. Without a range
    in the crop file the SD is a fifth of these; the last of 21 lies 1.981 SD out (normal table)."""
    never = FirstPick(np.full(21, float(HORIZON)), HORIZON, 0.0, observed=0)
    after = Figure[float].model_validate({"value": 8 * 86400.0, "source": "T", "seen": True})
    found = narrowed(never, counted_from_flower(after, 36))
    assert np.median(found.days) == pytest.approx(36 + 8 + 0.5)
    assert found.days[-1] - 44.5 == pytest.approx(1.6 * 1.981, rel=1e-3)


@pytest.mark.parametrize("weather", [None, champion()])
def test_flowers_narrow_the_date_and_pull_it(weather: Any) -> None:
    plain, found = one(weather=weather), one(flowering("06-25"), weather=weather)
    assert width(found) < width(plain)
    by_flower = day("07-03")
    assert by_flower <= found.first_pick_p50 < plain.first_pick_p50
    assert "it flowered on 25 June" in found.reason
    assert found.total_g_p50 == pytest.approx(plain.total_g_p50)


def test_what_lies_after_the_day_is_not_looked_at() -> None:
    later = [flowering("07-02"), picked("07-05", 900), emerged("07-03")]
    assert one(*later, as_of="07-01") == one(as_of="07-01")


def test_a_stage_without_a_planting_goes_where_it_was_due() -> None:
    sown = (MAY, day("06-20"))
    first, second = all_of(flowering("08-05"), sown=sown, as_of="08-05").plantings
    assert "flowered" in second.reason and "flowered" not in first.reason
    named, _ = all_of(flowering("08-05", "p1"), sown=sown, as_of="08-05").plantings
    assert "flowered" in named.reason
    both = all_of(flowering("07-04"), flowering("07-06"), sown=sown, as_of="07-07").plantings
    assert all("flowered" in planting.reason for planting in both)


# --- picks ------------------------------------------------------------------------------------


def test_flowers_of_a_crop_without_their_days_are_due_an_eighth_of_the_way_before() -> None:
    """0.12 of 55 days: 6 or 7 days before the first picks of 14 July and 3 August."""
    crop = bean(growth={"days_after_flower": None})
    for on, whose in (("07-17", 0), ("07-21", 1)):
        found = all_of(flowering(on), crop=crop, sown=(MAY, day("06-09")), as_of="07-22")
        flowered = ["it flowered" in planting.reason for planting in found.plantings]
        assert flowered == [whose == 0, whose == 1]


@pytest.mark.parametrize("weather", [None, champion()])
def test_a_pick_settles_the_first_date_and_takes_the_forecast_picks_place(weather: Any) -> None:
    found = one(picked("07-05", 1500), weather=weather, as_of="07-05")
    assert {found.first_pick_p10, found.first_pick_p50, found.first_pick_p90} == {day("07-05")}
    first, second = found.picks[:2]
    assert (first.date, first.low_g, first.likely_g, first.high_g) == (day("07-05"), *[1500] * 3)
    assert second.date == day("07-08")
    assert "first pick seen on 5 July" in found.reason
    assert found.total_g_p50 == pytest.approx(sum(p.likely_g for p in found.picks))
    assert found.total_g_p10 < found.total_g_p50 < found.total_g_p90


def test_a_pick_as_expected_changes_no_amount() -> None:
    """10 kg; the first week's 35 % in 7 days, so 1500 g in the first three."""
    found = one(picked("07-14", 1500), as_of="07-14")
    assert found.total_g_p50 == pytest.approx(10_000)
    assert "less" not in found.reason and "more" not in found.reason
    assert "3.31 lb picked so far where 3.31 lb was expected" in found.reason


def test_what_a_pick_says_of_the_rest_is_said_while_there_is_a_rest() -> None:
    """Twice the 1500 g (3.31 lb) expected, with 15 % of the season by then: a weight of 0.25, and
    2 ** 0.25 is 19 % more."""
    twice = picked("07-14", 3000)
    assert "so 19 % more is expected of the rest" in one(twice, as_of="07-14").reason
    over = one(twice, as_of="09-01").reason
    assert "6.61 lb picked so far where 3.31 lb was expected" in over
    assert "of the rest" not in over
    assert "picked so far" not in one(as_of="07-01").reason


def bean_rhythm(ends: int | None = None) -> Any:
    picking = make_crop().picking
    assert picking is not None
    return rhythm_of(picking, np.ones(4), ends)


TOTAL = YieldSpread(5_000, 10_000, 20_000)


def test_the_weight_of_what_was_picked_rises_with_the_season() -> None:
    """0.2 after the first picks, 0.6 at half of the curve, 0.9 near the end."""
    rhythm = bean_rhythm()
    weights = [
        learn(rhythm, dict.fromkeys(range(0, last, 3), 500.0), TOTAL).weight
        for last in range(1, 28, 3)
    ]
    assert weights == sorted(weights)
    assert 0.2 <= weights[0] <= 0.3
    at_half = learn(rhythm, dict.fromkeys((0, 3, 6), 500.0), TOTAL)  # 9 days: 46 %
    assert at_half.weight == pytest.approx(0.565, abs=0.01)
    assert weights[-1] == pytest.approx(0.9, abs=0.01)


def test_steady_low_picks_are_believed_step_by_step() -> None:
    """Every pick half of what was expected: the rest is 0.5 ** weight of it."""
    rhythm = bean_rhythm()
    picks = {day: 0.5 * share * 10_000 for day, share in rhythm.coming(0, 0) if day < 15}
    learnt = learn(rhythm, picks, TOTAL)
    assert learnt.factor == pytest.approx(0.5**learnt.weight)
    assert learnt.weight > 0.7
    rest = learnt.rest(TOTAL, 0.1)
    assert rest.p50 == pytest.approx(1000 * learnt.factor)
    assert rest.p90 / rest.p50 == pytest.approx(2 ** (1 - learnt.weight) ** 0.5)


@pytest.mark.parametrize("weekly", [[0.35, 0.4, 0.2, 0.05], [0.9, 0.1], [1.0]])
def test_one_poor_pick_never_halves_the_season(weekly: list[float]) -> None:
    crop = bean(picking={"weekly": figure(weekly)})
    plain = one(crop=crop)
    found = one(picked("07-14", 1), crop=crop, as_of="07-14")
    ahead = sum(p.likely_g for p in found.picks if p.date > FIRST)
    was = sum(p.likely_g for p in plain.picks if p.date > FIRST)
    assert 0.6 * was <= ahead + 1e-6 < was
    great = one(picked("07-14", 90_000), crop=crop, as_of="07-14")
    assert sum(p.likely_g for p in great.picks if p.date > FIRST) <= was / 0.6 + 1e-6


def test_two_lines_of_one_day_are_one_pick_and_a_volume_is_weighed() -> None:
    halves = one(picked("07-14", 700), picked("07-14", 800), as_of="07-14")
    assert halves == one(picked("07-14", 1500), as_of="07-14")
    assert halves == one(picked("07-14", 3000, kind="volume"), as_of="07-14")  # 0.5 kg per L


def test_missed_picks_carry_over_while_they_stand_then_are_lost() -> None:
    """Beans stand 3 days, and are picked every 3: a week's gap loses 4 days, 5 % of 10 kg each."""
    on_time = one(picked("07-14", 1500), as_of="07-17")
    assert [p.date for p in on_time.picks[1:3]] == [day("07-17"), day("07-20")]
    late = one(picked("07-14", 1500), as_of="07-19")
    assert late.picks[1].date == day("07-19")
    assert late.picks[1].likely_g == pytest.approx(500 * 2 + on_time.picks[1].likely_g, rel=0.2)
    assert late.total_g_p50 == pytest.approx(10_000)
    gone = one(picked("07-14", 1500), as_of="07-24")
    # Ripe from the 17th to the 20th (days 3 to 6, 500 g each) is past standing on the 24th.
    assert gone.total_g_p50 == pytest.approx(10_000 - 4 * 500)
    assert gone.picks[1].date == day("07-24")
    over = one(picked("07-14", 1500), as_of="09-01")
    assert over.total_g_p50 == 1500 and len(over.picks) == 1
    assert "not counted on" in over.reason


def test_a_late_pick_is_held_against_what_still_stood() -> None:
    rhythm = bean_rhythm()
    steady = learn(rhythm, {0: 1500.0, 10: 3 * 571.43 + 3 * 571.43}, TOTAL)
    assert steady.expected == pytest.approx(1500 + 6 * 0.4 / 7 * 10_000, rel=1e-3)
    assert steady.covered == 13


def test_a_pick_without_a_planting_is_shared_by_what_was_due() -> None:
    sown = (MAY, MAY, day("07-20"))
    first, second, third = all_of(picked("07-16", 3000), sown=sown, as_of="07-16").plantings
    assert first.picks[0].likely_g == pytest.approx(1500)
    assert second.picks[0].likely_g == pytest.approx(1500)
    assert third.first_pick_p50 > day("08-20")
    named = all_of(picked("07-16", 3000, "p2"), sown=sown, as_of="07-16").plantings
    assert named[1].picks[0].likely_g == 3000
    assert "seen" not in named[0].reason


def test_last_years_lines_and_other_crops_say_nothing() -> None:
    old = Picked(dt.date(2018, 7, 10), "code", 1, "", "snap bean", Quantity(900, "mass"), "p1")
    other = Picked(day("06-20"), "code", 1, "", "tomato", Quantity(900, "mass"), None)
    assert one(old, other, as_of="07-01") == one(as_of="07-01")


def test_frost_still_ends_a_season_that_is_being_picked() -> None:
    late = day("08-10")
    found = one(picked("10-01", 1000), sown=(late,), weather=champion(), as_of="10-01")
    assert max(p.date for p in found.picks) < day("10-20")
    assert found.total_g_p50 < 9_000


def test_south_of_the_equator() -> None:
    weather = even_weather("2000-01-01", "2019-12-01", south=True)
    season = make_season(
        {"crop": "snap bean", "sown": dt.date(2019, 11, 1)}, start="2019-09-01", end="2020-05-31"
    )
    pick = Picked(dt.date(2020, 1, 2), "code", 1, "", "snap bean", Quantity(1500, "mass"), None)
    found = make_forecast(
        season, make_library(bean()), weather, as_of=dt.date(2020, 1, 3), diary=Diary((pick,))
    )
    assert found.plantings[0].first_pick_p50 == dt.date(2020, 1, 2)
    assert found.plantings[0].picks[1].date == dt.date(2020, 1, 5)


# --- no pick ----------------------------------------------------------------------------------


@pytest.mark.parametrize("weather", [None, champion()])
@pytest.mark.parametrize("as_of", ["07-10", "07-16", "07-20", "07-28"])
def test_a_pick_that_was_not_made_is_not_forecast_in_the_past(weather: Any, as_of: str) -> None:
    found = one(none_yet(as_of), weather=weather, as_of=as_of)
    assert found.picks == one(weather=weather, as_of=as_of, watched=True).picks
    assert found.first_pick_p10 >= day(as_of)
    assert all(pick.date >= day(as_of) for pick in found.picks)
    assert found.first_pick_p10 <= found.first_pick_p50 <= found.first_pick_p90
    assert found.picks[0].date == found.first_pick_p50


def even_to_now() -> pd.DataFrame:
    """Every year alike, this one up to September."""
    return even_weather("2000-01-01", "2019-09-20")


@pytest.mark.parametrize("weather", [None, champion(), even_to_now()])
def test_silence_moves_nothing_whatever_day_it_is(weather: Any) -> None:
    """Nothing is written for ten weeks: the dates, and what each pick brings, are those of a
    forecast that asks no diary, and of the first of those days."""
    season, library = make_season({"crop": "snap bean", "sown": MAY}), make_library(bean())
    begin = one(weather=weather, as_of="07-01")
    for as_of in ("07-10", "07-16", "07-20", "08-04", "08-14", "09-20"):
        found = one(weather=weather, as_of=as_of)
        plain = make_forecast(season, library, weather, as_of=day(as_of)).plantings[0]
        assert found == plain
        for name in ("first_pick_p10", "first_pick_p50", "first_pick_p90"):
            assert abs((getattr(found, name) - getattr(begin, name)).days) <= 1
        assert [p.date for p in found.picks] == [p.date for p in begin.picks]
        assert found.total_g_p50 == pytest.approx(begin.total_g_p50, rel=0.01)


def test_what_silence_means_is_told() -> None:
    """Expected from 4 to 24 July, most likely on the 14th, and picked for four weeks."""
    reasons = {
        as_of: one(as_of=as_of).reason for as_of in ("07-14", "07-20", "08-04", "08-12", "09-20")
    }
    assert "written down" not in reasons["07-14"]
    assert "ready about now: no pick of it is written down yet" in reasons["07-20"]
    for as_of in ("08-04", "08-12"):
        assert "taken as picked from about 14 July on" in reasons[as_of]
    assert "its time is over" in reasons["09-20"]


@pytest.mark.parametrize("weather", [None, champion(), even_to_now()])
def test_only_what_was_said_cuts_off_the_days_before_it(weather: Any) -> None:
    """Three weeks after it was due. "None yet" of this week: all is still to come, any day now. Of
    four weeks ago: what is left of the spread from that day on, however long it has been silent
    since, and the same on each day."""
    silent = one(as_of="08-14", weather=weather)
    late = one(none_yet("08-12"), as_of="08-14", weather=weather)
    old, next_day = (
        one(none_yet("07-17"), as_of=as_of, weather=weather) for as_of in ("08-14", "08-15")
    )
    assert late.first_pick_p10 >= day("08-12")
    assert day("08-12") <= late.first_pick_p50 <= day("08-20")
    assert late.total_g_p50 == pytest.approx(10_000, rel=0.02)
    assert "none yet on 12 August" in late.reason and "ready about now" in late.reason
    assert old.first_pick_p10 >= day("07-17") > silent.first_pick_p50
    assert silent.first_pick_p50 < old.first_pick_p50 < late.first_pick_p50
    assert [p.date for p in old.picks] == [p.date for p in next_day.picks]


@pytest.mark.parametrize("said", [flowering, emerged])
@pytest.mark.parametrize("weather", [None, champion()])
def test_flowers_and_seedlings_say_that_nothing_was_picked_before(weather: Any, said: Any) -> None:
    found = one(said("07-30"), as_of="08-01", weather=weather)
    assert found.first_pick_p10 >= day("07-30")


def test_an_answer_for_a_planting_that_is_not_begun_is_no_answer_for_another() -> None:
    told = all_of(none_yet("07-18", "p2"), sown=(MAY, day("07-20")), as_of="07-19")
    silent = all_of(sown=(MAY, day("07-20")), as_of="07-19")
    assert told == silent


def test_a_plan_that_counted_on_later_picks_alone_makes_nothing_late() -> None:
    """A session drew on the pick of the 20th; the first was expected on the 14th, and eaten."""
    silent, drawn = one(as_of="07-25"), one(as_of="07-25", begun={"p1": day("07-20")})
    assert drawn == silent and drawn.first_pick_p50 == FIRST


def test_none_yet_is_believed_before_a_plan_that_counted_on_it() -> None:
    begun = {"p1": day("07-12")}
    denied = one(none_yet("07-15"), as_of="07-16", begun=begun)
    assert denied.first_pick_p50 >= day("07-16")
    before = one(none_yet("07-10"), as_of="07-16", begun=begun)
    assert before.first_pick_p50 == day("07-12")


def test_a_pick_is_believed_before_none_yet() -> None:
    found = one(picked("07-12", 900), none_yet("07-15"), as_of="07-16")
    assert found.first_pick_p50 == day("07-12")


def test_what_failed_is_out_of_the_forecast() -> None:
    whole = all_of(plantings=2, as_of="06-20")
    found = all_of(failed("06-18", "p1"), plantings=2, as_of="06-20")
    gone, lives = found.plantings
    assert gone.picks == () and gone.total_g_p90 == 0
    assert gone.reason == "it failed on 18 June"
    assert lives == whole.plantings[1]
    assert any("nothing more is to be expected" in line for line in alerts(whole, found))
    weeks = found.weekly()
    assert weeks["likely_g"].sum() == pytest.approx(lives.total_g_p50, rel=0.01)


def test_what_was_picked_before_it_failed_stays() -> None:
    found = one(picked("07-14", 1500), failed("07-20"), as_of="07-21")
    assert [pick.likely_g for pick in found.picks] == [1500]
    assert found.total_g_p10 == found.total_g_p90 == 1500
    both = all_of(failed("07-02"), plantings=2, as_of="07-03")
    assert all(not planting.picks for planting in both.plantings)


def test_what_is_left_of_a_spread() -> None:
    first = FirstPick(np.arange(50.0, 60.0), 55, 0.0, observed=0)
    assert list(not_before(first, 57).days) == [57, 58, 59]
    beyond = not_before(first, 70)
    assert beyond.quantiles()[0] == 70 and beyond.days.min() == 70


# --- alerts -----------------------------------------------------------------------------------


def test_an_alert_when_the_interval_moved_by_more_than_four_days() -> None:
    old = all_of(as_of="06-15")
    assert alerts(old, old) == ()
    early = all_of(picked("07-05", 1500), as_of="07-05")
    (line,) = alerts(old, early)
    assert line.startswith("snap bean (p1): first pick 5 July, planned for 4 July to 24 July")
    (change,) = describe_change(old, early, "US")
    assert "9 days earlier than forecast before" in change and "seen on 5 July" in change
    # The middle was 14 July; both of these are in the week it lay in.
    assert len(alerts(old, all_of(picked("07-09", 1500), as_of="07-09"))) == 1
    assert alerts(old, all_of(picked("07-10", 1500), as_of="07-10")) == ()


def test_an_alert_when_the_pick_left_its_planned_week() -> None:
    """Planned for the week of Monday 8 to Sunday 14 July."""
    old = all_of(as_of="06-15")
    assert old.plantings[0].first_pick_p50 == FIRST
    inside, outside = (all_of(picked(on, 1500), as_of=on) for on in ("07-14", "07-15"))
    assert alerts(old, inside) == ()
    assert len(alerts(old, outside)) == 1


def on_to_summer() -> pd.DataFrame:
    """The Champion series goes on to 1 July 2019 as in 2012, one of its warmest years."""
    weather = champion()
    more = weather.loc["2012-01-01":"2012-12-31"].set_axis(pd.date_range("2019-01-01", periods=366))
    return pd.concat([weather, more]).loc[:"2019-07-01"]


def froze(night: str, *events: Event, **begun: dt.date) -> bool:
    """Whether the forecast says so of beans after one night of -2 °C."""
    weather = on_to_summer()
    weather.loc[f"2019-{night}", "tmin_c"] = -2.0
    season = make_season({"crop": "snap bean", **(begun or {"sown": MAY})})
    library, as_of = make_library(bean()), day("06-30")
    (found,) = make_forecast(season, library, weather, as_of=as_of, diary=Diary(events)).plantings
    return "it froze" in found.reason


def test_a_seed_in_the_ground_does_not_freeze() -> None:
    """Sown on 20 May; in soil of 15 to 25 °C a bean takes 16 to 8 days to come up (Oregon State
    University Extension 2013, after J. F. Harrington). Plants set out may freeze at once."""
    assert not froze("05-22")
    assert froze("06-08")
    assert not froze("06-08", emerged("06-09"))
    assert froze("05-29", emerged("05-29"))
    assert froze("05-22", set_out=MAY)


def test_warm_weather_is_the_reason_in_degree_days() -> None:
    weather = on_to_summer()
    old = all_of(weather=weather, as_of="05-21")
    new = all_of(weather=weather, as_of="06-30")
    (line,) = describe_change(old, new)
    assert "days earlier" in line
    assert "days early" in line and "degree-days F ahead of a normal year" in line
    assert "it needs" not in line


def test_nothing_more_to_come_is_an_alert() -> None:
    old, new = all_of(as_of="06-15"), all_of(failed("07-18"), as_of="07-20")
    (line,) = alerts(old, new)
    assert "nothing more is to be expected" in line
    (change,) = describe_change(old, new)
    assert "nothing to pick instead of 10 kg" in change


def test_silence_is_no_news() -> None:
    old = all_of(as_of="06-15")
    for as_of in ("07-10", "07-20", "08-04", "09-20"):
        assert alerts(old, all_of(as_of=as_of)) == ()
        assert describe_change(old, all_of(as_of=as_of)) == ()
