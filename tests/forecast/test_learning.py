"""What own first picks, flowers and seedlings teach of the need of a crop."""

from __future__ import annotations

import datetime as dt
import math

import pandas as pd
import pytest
from forecast.garden import champion, even_weather, figure, make_crop, make_library, make_season

from harvestplan.forecast.learning import (
    FARTHEST_RATIO,
    LEAST_PLOT_SD,
    YEAR_SD,
    Lesson,
    PlotNeed,
    learned,
)
from harvestplan.forecast.season_forecast import (
    PlantingForecast,
    cases_of,
    make_forecast,
    warmth_taken,
)
from harvestplan.forecast.thermal import ThermalTime
from harvestplan.inputs.quantities import Quantity
from harvestplan.inputs.season import Season
from harvestplan.records.diary import Diary
from harvestplan.records.events import Event, Flowering, Picked

BOOK = PlotNeed(ThermalTime(1000, "mw2", 10), 0.10)
MAY = dt.date(2019, 5, 20)


def after(*ratios: float, book: PlotNeed = BOOK) -> PlotNeed:
    return learned(book, [Lesson(ratio) for ratio in ratios])


def test_nothing_seen_leaves_the_book() -> None:
    assert after() == BOOK
    assert learned(BOOK, [Lesson(1.2, weight=0.0)]) == BOOK


def test_one_season_by_hand() -> None:
    """Plots: 0.10² - 0.08² = 0.0036, pooled as three seasons' belief with ln(1.1)² = 0.00908 to
    0.00497; years: 0.0064. Weight 1/(1 + 0.0064/0.00497) = 0.437 of ln(1.1)."""
    found = after(1.1)
    assert found.amount.amount == pytest.approx(1000 * math.exp(0.437 * math.log(1.1)), abs=0.5)
    assert found.spread == pytest.approx(math.sqrt(0.00497 * (1 - 0.437) + 0.0064), abs=2e-4)


def test_more_seasons_count_more_and_a_plot_far_off_is_believed() -> None:
    moved = [math.log(after(*[1.1] * n).amount.amount / 1000) for n in (1, 2, 4, 30)]
    assert moved == sorted(moved)
    assert moved[-1] == pytest.approx(math.log(1.1), rel=0.05)
    near, far = after(1.05), after(1.4)
    shares = [
        math.log(need.amount.amount / 1000) / math.log(ratio)
        for need, ratio in ((near, 1.05), (far, 1.4))
    ]
    assert shares[0] < 0.5 < 0.7 < shares[1]


def test_seasons_that_agree_narrow_the_spread_and_others_widen_it() -> None:
    alike, apart = after(*[1.0] * 10), after(*[0.8, 1.25] * 5)
    assert alike.spread < YEAR_SD < BOOK.spread < apart.spread
    narrow = after(1.0, book=PlotNeed(BOOK.amount, LEAST_PLOT_SD))
    assert narrow.spread > YEAR_SD


def test_an_absurd_season_counts_no_further_than_the_bound() -> None:
    assert after(9.0) == after(FARTHEST_RATIO)


def test_a_stage_on_the_way_teaches_less_than_a_pick() -> None:
    whole = after(1.2)
    part = learned(BOOK, [Lesson(1.2, weight=0.3)])
    assert BOOK.amount < part.amount < whole.amount
    assert whole.spread < part.spread


# --- through the forecast ---------------------------------------------------------------------


def weather() -> pd.DataFrame:
    """The same every year: 10 °C·d a day at base 10, up to the autumn of 2019."""
    return even_weather("2000-01-01", "2019-10-31", mean=20, swing=0)


def picked(on: dt.date, planting: str) -> Picked:
    return Picked(on, "code", 1, "", "snap bean", Quantity(1500, "mass"), planting)


def two(*events: Event, as_of: dt.date = dt.date(2019, 8, 1)) -> PlantingForecast:
    """The second of two plantings of beans, sown on 20 May and 20 July."""
    rows = [{"crop": "snap bean", "sown": day} for day in (MAY, dt.date(2019, 7, 20))]
    library = make_library(make_crop())
    found = make_forecast(make_season(*rows), library, weather(), as_of=as_of, diary=Diary(events))
    return found.plantings[1]


def test_a_first_pick_moves_the_later_sowings_of_the_crop() -> None:
    """The first sowing took 65 days of 10 °C·d where the book has 550: 18 % more."""
    plain, late = two(), two(picked(MAY + dt.timedelta(64), "p1"))
    moved = (late.first_pick_p50 - plain.first_pick_p50).days
    assert 3 <= moved <= 9
    assert "by your own plants" in late.reason and "% more than the book's" in late.reason
    assert "by your own plants" not in plain.reason
    early = two(picked(MAY + dt.timedelta(44), "p1"))
    assert early.first_pick_p50 < plain.first_pick_p50
    assert "% less than the book's" in early.reason


def test_late_flowers_move_the_later_sowings_less() -> None:
    growth = {"days_after_flower": figure("18 days", low="16 days", high="21 days")}
    library = make_library(make_crop(growth=growth))
    rows = [{"crop": "snap bean", "sown": day} for day in (MAY, dt.date(2019, 7, 20))]

    def second(*events: Event) -> dt.date:
        found = make_forecast(
            make_season(*rows),
            library,
            weather(),
            as_of=dt.date(2019, 8, 1),
            diary=Diary(events),
        )
        return found.plantings[1].first_pick_p50

    flowers = Flowering(MAY + dt.timedelta(46), "code", 1, "", "snap bean", "p1")  # 9 days late
    assert second() < second(flowers) < second(picked(MAY + dt.timedelta(64), "p1"))


def test_earlier_seasons_count_and_are_told() -> None:
    def first(**more: object) -> PlantingForecast:
        season = make_season({"crop": "snap bean", "sown": MAY}, **more)
        return make_forecast(season, make_library(make_crop()), weather(), as_of=MAY).plantings[0]

    plain, taught = first(), first(ripened=[{"crop": "Snap bean", "took": [1.15, 1.2, 1.18]}])
    assert (taught.first_pick_p50 - plain.first_pick_p50).days == pytest.approx(0.17 * 55, abs=2.5)
    assert "by your own plants" in taught.reason
    width, was = ((p.first_pick_p90 - p.first_pick_p10).days for p in (taught, plain))
    assert width < was * 1.18


def test_what_a_season_took_is_told_for_the_next() -> None:
    season = make_season({"crop": "snap bean", "sown": MAY})
    diary = Diary((picked(MAY + dt.timedelta(64), "p1"),))
    library, as_of = make_library(make_crop()), dt.date(2019, 9, 1)
    took = warmth_taken(season, library, weather(), as_of=as_of, diary=diary)
    assert took == {"snap bean": [pytest.approx(650 / 550)]}
    gaps = weather().drop(pd.date_range("2019-06-01", "2019-06-20"))
    assert warmth_taken(season, library, gaps, as_of=as_of, diary=diary) == {}
    assert warmth_taken(season, library, None, as_of=as_of, diary=diary) == {}


# --- days of a packet -------------------------------------------------------------------------


def test_days_of_a_packet_are_those_of_the_usual_sowing() -> None:
    """Beets of 60 days, sown on 1 April and on 10 July in Nebraska: the forecast of one that has a
    thermal time took 82 and 41 days. The packet's hold for a sowing at the last frost."""
    growth = {
        "method": "mw1",
        "base": figure("5 C"),
        "thermal_time": None,
        "frost": figure("half-hardy"),
    }
    beet = make_crop("beet", growth=growth)

    def days(sown: dt.date) -> int:
        row = {"crop": "beet", "sown": sown, "days_to_maturity": 60}
        found = make_forecast(make_season(row), make_library(beet), champion(), as_of=MAY)
        return (found.plantings[0].first_pick_p50 - sown).days

    early, usual, late = (days(dt.date(2019, *day)) for day in ((4, 1), (5, 5), (7, 10)))
    assert early > usual > late
    assert usual == pytest.approx(60, abs=4)
    assert early - late >= 20


def test_where_it_never_freezes_the_packets_days_are_those_of_the_sowing() -> None:
    mild = even_weather("2000-01-01", "2018-12-31", mean=20, swing=5)
    crop = make_crop(growth={"thermal_time": None})
    season: Season = make_season({"crop": "snap bean", "sown": MAY, "days_to_maturity": 60})
    (case,) = cases_of(season, make_library(crop), mild, as_of=MAY)
    found = make_forecast(season, make_library(crop), mild, as_of=MAY).plantings[0]
    assert (found.first_pick_p50 - MAY).days == pytest.approx(60, abs=2)
    assert "the packet's 60 days in a normal year here" in case.clock.basis
