"""The backtest's findings hold: see tests/benchmarks/forecast_backtest.py."""

import importlib.util
import sys
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from places import TESTS

BENCHMARK = TESTS / "benchmarks" / "forecast_backtest.py"


@pytest.fixture(scope="module")
def backtest() -> ModuleType:
    spec = importlib.util.spec_from_file_location("forecast_backtest", BENCHMARK)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def scores(backtest: ModuleType) -> list[Any]:
    found: list[Any] = backtest.scores()
    return found


def test_the_backtest_covers_six_crops_and_all_years(scores: list[Any]) -> None:
    champion = [s for s in scores if "champion" in s.site]
    assert len({s.crop for s in champion}) == 6
    assert {s.years for s in champion if s.lead in (28, 14)} == {37}
    assert {s.years for s in scores if "suffolk" in s.site} == {31}


def test_thermal_time_beats_calendar_days_four_and_two_weeks_ahead(scores: list[Any]) -> None:
    near = [s for s in scores if s.lead in (28, 14)]
    assert len(near) == 22
    assert not [s for s in near if s.thermal >= s.calendar]


def test_p10_to_p90_holds_four_fifths_of_the_true_dates(scores: list[Any]) -> None:
    assert not [s for s in scores if not 0.74 <= s.coverage <= 0.86]
    assert np.mean([s.coverage for s in scores]) == pytest.approx(0.8, abs=0.03)


def test_blueberry_flowering_beats_the_calendar(backtest: ModuleType) -> None:
    """Harvard Forest 1990-2001 (pyPhenology 0.7.1): the calendar mean misses by 6.4 days."""
    thermal, calendar = backtest.flowering_rmse(backtest.read_flowering())
    assert calendar == pytest.approx(6.4, abs=0.05)
    assert thermal <= 3.5


@pytest.fixture(scope="module")
def fixed_truth() -> ModuleType:
    path = BENCHMARK.with_name("fixed_truth.py")
    spec = importlib.util.spec_from_file_location("fixed_truth", path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize(("number", "least"), [(0, 0.74), (8, 0.66)])
def test_the_range_holds_where_the_truth_is_drawn_once(
    fixed_truth: ModuleType, number: int, least: float
) -> None:
    """Brussels, of which no crop file was made: a plot's own error of 9 %, drawn at sowing; and
    another response to warmth, set elsewhere, after one own season. A range of 80 % that shrinks
    as if the plot were known holds 20 to 50 % of them in the last weeks."""
    found = fixed_truth.score(fixed_truth.TRUTHS[number], stations=("brussels",))
    assert [s.lead for s in found] == [None, 56, 28, 14, 7]
    assert all(least <= s.coverage <= 0.93 for s in found)
    near = {s.lead: s for s in found}
    assert near[14].thermal < near[14].calendar
