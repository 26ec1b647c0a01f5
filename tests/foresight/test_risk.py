"""The season replayed in past years: the food that comes, what becomes of it, what is said of it.

The weather is invented (see risk_folder), so that thermal time can be added up by hand. What is
checked against figures stands beside them; the spread of yields is read from the forecast's own
low and high, as `quantities` says where they come from.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
from pathlib import Path

import numpy as np
import pytest
from foresight.risk_folder import AS_OF, WARMER, timeless, write_risk_folder
from places import DEMO

from harvestplan.commands.cli import main
from harvestplan.errors import FilesNeedMending
from harvestplan.forecast.past_years import as_this_season, past_years
from harvestplan.foresight import replay as replaying
from harvestplan.foresight import truth
from harvestplan.foresight.answers import Replay, SpoiledFood
from harvestplan.foresight.replay import NO_EVENING, SESSIONS, replay
from harvestplan.foresight.risk import risk, stated, summed_up
from harvestplan.foresight.truth import true_year, weather_of
from harvestplan.outputs.terminal.risk_text import risk_text
from harvestplan.schedule.rules.freezing import REASON as FREEZING
from harvestplan.schedule.rules.space import REASON as SPACE
from harvestplan.schedule.rules.work import HANDS
from harvestplan.schedule.search.filled_up import FilledSessions
from harvestplan.schedule.search.weekly_plan import quick_choice

BEANS, DRY = 0, 1


def silent(text: str) -> None:
    pass


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_risk_folder(tmp_path_factory.mktemp("season"))


def replayed(folder: Path, year: int, seed: int = 1) -> Replay:
    household, base = stated(folder, AS_OF)
    return replay(
        household, base, true_year(household, weather_of(household), year, seed=seed, as_of=AS_OF)
    )


def test_years_that_cover_the_season_are_replayed(folder: Path) -> None:
    household, _ = stated(folder, AS_OF)
    weather = weather_of(household)
    assert past_years(weather, household.season) == tuple(WARMER)
    holed = weather.drop(weather.loc["2021-06-10":"2021-07-10"].index)  # type: ignore[misc]
    assert past_years(holed, household.season) == (2019, 2020, 2022, 2023)


def test_a_replayed_year_is_not_known_beforehand(folder: Path) -> None:
    weather = weather_of(stated(folder, AS_OF)[0])
    frame = as_this_season(weather, 2020, 2027, as_of=AS_OF)
    assert 2020 not in set(frame.index.year)  # type: ignore[attr-defined]
    assert frame.loc["2027-07-01", "tmax_c"] == 28.0
    assert frame.loc["2026-07-01", "tmax_c"] == 24.0  # the summer before: that of 2019
    assert frame.index.is_monotonic_increasing and frame.index.is_unique


def test_what_was_already_seen_of_the_season_stands(folder: Path) -> None:
    weather = weather_of(stated(folder, AS_OF)[0])
    own = weather.loc["2019-01-01":"2019-06-20"] + 7.0  # type: ignore[misc]
    own = own.set_axis(own.index + (dt.datetime(2027, 1, 1) - dt.datetime(2019, 1, 1)))
    import pandas as pd

    frame = as_this_season(pd.concat([weather, own]), 2021, 2027, as_of=dt.date(2027, 6, 20))
    assert frame.loc["2027-06-20", "tmax_c"] == 31.0
    assert frame.loc["2027-06-21", "tmax_c"] == 21.0


def test_beans_ripen_on_the_day_their_degree_days_are_reached(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(truth, "drawn", lambda seed, year, name: (0.0, 0.0))
    household, _ = stated(folder, AS_OF)
    growth = household.library.crops["snap bean"].growth
    assert growth is not None and growth.thermal_time is not None
    assert (growth.method, growth.base.value) == ("mw2", 10.0)
    need = growth.thermal_time.value
    # Lowest (lifted to the base of 10 °C) and highest of the day, their mean less the base.
    daily = {2019: 7.0, 2020: 11.0, 2021: 5.5, 2022: 7.0, 2023: 8.0}
    for year in WARMER:
        lots = true_year(household, weather_of(household), year, seed=1, as_of=AS_OF).lots
        first = min(lot.ready for lot in lots if lot.planting == "beans-1")
        days = (first - dt.date(2027, 5, 25)).days + 1
        assert (days - 1) * daily[year] < need <= days * daily[year]


def test_drawn_yields_have_the_spread_of_the_forecast(folder: Path) -> None:
    household, _ = stated(folder, AS_OF)
    planting = household.forecast.plantings[0]
    totals = []
    for seed in range(300):
        _, good = truth.drawn(seed, 2020, "beans-1")
        totals.append(sum(p.likely_g for p in truth._better(planting, good).picks))
    low, middle, high = np.quantile(totals, [0.1, 0.5, 0.9])
    assert low == pytest.approx(planting.total_g_p10, rel=0.12)
    assert middle == pytest.approx(planting.total_g_p50, rel=0.12)
    assert high == pytest.approx(planting.total_g_p90, rel=0.12)


def test_draws_hang_on_the_planting_alone() -> None:
    assert truth.drawn(1, 2020, "beans-1") == truth.drawn(1, 2020, "beans-1")
    assert truth.drawn(1, 2020, "beans-1") != truth.drawn(2, 2020, "beans-1")
    assert truth.drawn(1, 2020, "beans-1") != truth.drawn(1, 2021, "beans-1")
    assert truth.drawn(1, 2020, "beans-1") != truth.drawn(1, 2020, "beans-2")


def test_every_gram_is_put_by_eaten_or_given(folder: Path) -> None:
    household, base = stated(folder, AS_OF)
    for year in WARMER:
        lots = true_year(household, weather_of(household), year, seed=1, as_of=AS_OF).lots
        found = replayed(folder, year)
        raw = [demand.process.raw_per_portion for demand in base.demands]
        put_by = sum(n * grams for n, grams in zip(found.made, raw, strict=True))
        put_by -= found.made[DRY] * raw[DRY] - min(found.made[DRY] * raw[DRY], 3629)  # 8 lb
        eaten = sum(lot.grams for lot in lots) - put_by - found.given
        weeks = {lot.ready.isocalendar()[1] for lot in lots if lot.planting}
        assert 0 < eaten <= 454 * (len(weeks) + 2)  # a pound a week, as long as there are beans


def test_a_roomy_season_meets_its_wants(tmp_path: Path) -> None:
    folder = write_risk_folder(tmp_path, ('row = "30 ft"', 'row = "150 ft"'))
    for year in WARMER:
        assert replayed(folder, year).short == (0, 0)


def test_without_evenings_the_beans_are_lost_for_that_reason(tmp_path: Path) -> None:
    late = ('days = ["tue", "thu", "sat"]', 'days = ["tue"]'), ("[season]", EMPTY_SUMMER)
    folder = write_risk_folder(tmp_path, *late)
    found = replayed(folder, 2019)
    assert found.made[BEANS] == 0
    assert {lost.limit for lost in found.lost if lost.crop == "snap bean"} == {NO_EVENING}


EMPTY_SUMMER = "[[away]]\nstart = 2027-06-20\nend = 2027-09-20\n\n[season]"


def test_sessions_a_week_are_kept_and_named(tmp_path: Path) -> None:
    few = ("end = 2027-09-30", "end = 2027-09-30\nmax_sessions = 1")
    folder = write_risk_folder(tmp_path, few, ('row = "30 ft"', 'row = "90 ft"'))
    found = replayed(folder, 2022)
    assert found.evenings <= 1
    assert SESSIONS in {lost.limit for lost in found.lost}


def test_a_full_freezer_is_named(tmp_path: Path) -> None:
    full = ('used = "1 cu ft"', 'used = "4.95 cu ft"'), ('row = "30 ft"', 'row = "150 ft"')
    found = replayed(write_risk_folder(tmp_path, *full), 2019)
    assert 0 < found.made[BEANS] < 8
    assert SPACE in {lost.limit for lost in found.lost}
    assert found.fullest is not None and 0.99 < found.fullest.share <= 1


def test_the_fullest_day_is_reckoned_from_the_pouches(folder: Path) -> None:
    _, base = stated(folder, AS_OF)
    found = replayed(folder, 2020)
    space = base.demands[BEANS].process.packing.space
    freezer = base.kitchen.freezers[0]
    assert found.fullest is not None  # nothing is drawn: the fullest day has all pouches
    whole = freezer.used + space * found.made[BEANS]
    assert found.fullest.share == pytest.approx(whole / freezer.volume, abs=1e-4)


def test_the_week_before_is_only_a_hint(folder: Path) -> None:
    _, base = stated(folder, AS_OF)
    fresh = quick_choice(base, {})
    again = quick_choice(base, {("no such product", base.windows[0].start, None, None): 5})
    assert fresh == again
    assert sum(fresh.pouches.values()) > 8


def test_what_the_season_model_plans_fits_by_the_same_lines(folder: Path) -> None:
    _, base = stated(folder, AS_OF)
    choice = quick_choice(base, {})
    evenings = FilledSessions(base)
    for number, pouches in choice.pouches.items():
        assert evenings.limit(base.options[number], pouches) is None
        evenings.add(base.options[number], pouches)


def test_evenings_name_the_limit(folder: Path) -> None:
    _, base = stated(folder, AS_OF)
    option = next(o for o in base.options if base.demands[o.demand].process.frozen)
    assert FilledSessions(base).limit(option, 10_000) is not None
    process = base.demands[option.demand].process
    slow = base.season.freezer[0].model_copy(update={"freezing_per_day": 1.0})
    kitchen = dataclasses.replace(base.kitchen, freezers=(slow,))
    assert FilledSessions(dataclasses.replace(base, kitchen=kitchen)).limit(option, 1) == FREEZING
    short = dataclasses.replace(
        base,
        windows=tuple(
            dataclasses.replace(w, end=w.start + dt.timedelta(minutes=41)) for w in base.windows
        ),
    )
    assert FilledSessions(short).limit(option, 1) in (HANDS, "time")
    assert FilledSessions(base).most(option, option.most) == option.most
    assert process.name == "snap bean, cut"


def test_food_that_cannot_wait_is_put_by_though_it_came_unforeseen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = write_risk_folder(tmp_path)
    monkeypatch.setattr(replaying, "make_forecast", nothing_foreseen)
    assert replayed(folder, 2020).made[BEANS] > 0


def nothing_foreseen(*_: object, **__: object) -> object:
    from harvestplan.forecast.season_forecast import Forecast

    return Forecast(AS_OF, ())


def test_the_same_seed_says_the_same(folder: Path) -> None:
    said: list[str] = []
    [found] = risk([folder], AS_OF, 1, say=said.append)
    assert said[0] == "The season is replayed in 5 past years."
    assert "5 of 5 years are replayed." in said
    again = [replayed(folder, year) for year in WARMER]
    _, base = stated(folder, AS_OF)
    alone = summed_up(base, again, 5, as_of=AS_OF, seed=1)
    assert timeless(alone) == timeless(found)
    other = [replayed(folder, year, seed=2) for year in WARMER]
    assert [each.given for each in other] != [each.given for each in again]


def test_replays_are_summed_up(folder: Path) -> None:
    _, base = stated(folder, AS_OF)
    week = dt.date(2027, 7, 19)
    lost = SpoiledFood(week=week, crop="snap bean", grams=2000, limit=HANDS)
    more = lost.model_copy(update={"grams": 1000, "limit": SPACE})
    plain = replayed(folder, 2019).model_copy(update={"lost": (), "short": (0, 0)})
    bad = plain.model_copy(update={"year": 2020, "short": (4, 0), "lost": (lost, more)})
    found = summed_up(base, [bad, plain], 5, as_of=AS_OF, seed=1)
    assert found.years == (2019, 2020)
    assert (found.all_met, found.wants[BEANS].met, found.wants[DRY].met) == (0.5, 0.5, 1.0)
    assert found.wants[BEANS].short_mean == 2.0
    assert found.short.p50 == 2.0
    (risky,) = found.weeks
    assert (risky.week, risky.share, risky.kg) == (week, 0.5, 1.5)
    assert [(each.limit, each.kg) for each in risky.limits] == [(HANDS, 1.0), (SPACE, 0.5)]
    text = risk_text(found, "metric")
    assert "stopped after 2 of 5 years" in text
    assert "not timed to the minute" in text
    assert "hands and freezer space" in text


def test_ctrl_c_gives_the_years_that_are_done(folder: Path) -> None:
    said: list[str] = []

    def stop(text: str) -> None:
        said.append(text)
        if text.startswith("1 of"):
            raise KeyboardInterrupt

    [found] = risk([folder], AS_OF, 1, say=stop)
    assert found is not None
    assert 1 <= len(found.years) < found.asked == len(WARMER)
    assert "stopped after" in risk_text(found, "metric")
    assert said[-1] == "Stopped; what follows holds for what was done by then."


def test_several_seasons_are_asked_at_once(folder: Path, tmp_path: Path) -> None:
    """Each gets the answer that it gets alone."""
    other = write_risk_folder(tmp_path / "other", ("portions = 8", "portions = 4"))
    both = risk([folder, other], AS_OF, 1, say=silent)
    alone = [risk([each], AS_OF, 1, say=silent)[0] for each in (folder, other)]
    assert [timeless(each) for each in both] == [timeless(each) for each in alone]
    assert both[0] is not None and both[1] is not None
    assert both[0].wants[BEANS].wanted == 2 * both[1].wants[BEANS].wanted


def test_without_weather_there_is_nothing_to_replay(tmp_path: Path) -> None:
    folder = write_risk_folder(tmp_path, ('[weather]\ndaily = "weather.csv"\n', ""))
    with pytest.raises(FilesNeedMending, match="past years"):
        risk([folder], AS_OF, 1, say=silent)


def test_the_command_prints_json(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    words = ["risk", "--in", str(folder), "--as-of", str(AS_OF), "--json", "--quiet"]
    monkeypatch.setattr("sys.argv", ["harvestplan", *words])
    with pytest.raises(SystemExit) as left:
        main()
    assert left.value.code == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["years"] == list(WARMER)
    assert {want["product"] for want in answer["wants"]} == {"snap bean, cut", "dry bean, sealed"}


@pytest.mark.slow
def test_the_example_season_is_replayed_with_a_plan_a_week_at_most(tmp_path: Path) -> None:
    import shutil

    demo = DEMO
    folder = tmp_path / "willow-bend"
    shutil.copytree(demo, folder, ignore=shutil.ignore_patterns("out"))
    [found] = risk([folder], dt.date(2027, 3, 15), 1, say=silent)
    assert found is not None
    assert len(found.years) == 37
    assert 0 < found.replans <= 37 * 53  # so the work is bounded, on any machine
    assert found.evenings.p50 > 20
    assert all(0 <= want.met <= 1 for want in found.wants)
