"""Degree-days against worked examples; sources in tests/data/weather/SOURCE.md."""

import csv
import math
from typing import Any, get_args

import numpy as np
import pytest
from each_case import each
from forecast.garden import DATA
from hypothesis import given
from hypothesis import strategies as st

from harvestplan.forecast.thermal import Method, MixedThermalTimeError, ThermalTime, degree_days

METHODS = {"mw1": "mw1", "mw1 (mean given)": "mw1", "mw2": "mw2",
           "single_sine_horizontal": "sine", "double_sine_horizontal": "sine"}  # fmt: skip
# where the next minimum equals this one, the double sine is the single sine

UCIPM_MEAN = 64.0
"""Row G09 prints the day's mean alone."""


def examples() -> list[dict[str, str]]:
    with (DATA / "weather" / "degree_day_examples.csv").open(newline="") as file:
        return list(csv.DictReader(file))


def reckon(row: dict[str, str]) -> float:
    """The row's degree-days in its own temperature unit."""
    low, high = (float(row[key] or UCIPM_MEAN) for key in ("tmin", "tmax"))
    base, upper = float(row["base"]), float(row["upper"]) if row["upper"] else None
    per_degree = 1.0
    if row["temp_unit"] == "F":
        low, high, base = ((value - 32) / 1.8 for value in (low, high, base))
        upper = None if upper is None else (upper - 32) / 1.8
        per_degree = 1.8
    method: Any = METHODS[row["method"]]
    return float(degree_days(low, high, base, upper=upper, method=method)) * per_degree


@pytest.mark.parametrize("row", [r for r in examples() if r["id"] != "G23"], ids=lambda r: r["id"])
def test_worked_example(row: dict[str, str]) -> None:
    assert reckon(row) == pytest.approx(float(row["expected_gdd"]), abs=float(row["tolerance"]))


def test_the_source_bug_is_not_copied() -> None:
    """TrenchR's own test prints 5 for 35-40 °C with thresholds 12 and 33; a day wholly above the
    upper one gives 33 - 12 = 21, as that package's double sine says."""
    bug = next(row for row in examples() if row["id"] == "G23")
    assert float(bug["expected_gdd"]) == 5
    assert reckon(bug) == pytest.approx(21)


def test_three_days_of_a_printed_example_sum_to_43() -> None:
    """WAU: 25.5 + 11 + 6.5 °F·d, 86/50 method."""
    tmin, tmax = (np.array([65, 46, 42]) - 32) / 1.8, (np.array([90, 72, 63]) - 32) / 1.8
    total = degree_days(tmin, tmax, 10, upper=30, method="mw2").sum() * 1.8
    assert total == pytest.approx(43)


temperatures = st.floats(-40, 50)


@given(low=temperatures, swing=st.floats(0, 30), base=st.floats(0, 15), cap=st.floats(16, 40))
def test_the_sine_is_the_mean_over_a_fine_wave(
    low: float, swing: float, base: float, cap: float
) -> None:
    phase = (np.arange(20000) + 0.5) / 20000 * 2 * np.pi
    wave = low + swing / 2 + swing / 2 * np.sin(phase)
    expected = (np.clip(wave, base, cap) - base).mean()
    found = degree_days(low, low + swing, base, upper=cap, method="sine")
    assert float(found) == pytest.approx(float(expected), abs=2e-3)


@given(low=temperatures, swing=st.floats(0, 30))
def test_without_an_upper_limit_lifting_first_never_gives_less(low: float, swing: float) -> None:
    """McMaster & Wilhelm 1997: the two differ only where the minimum is below the base."""
    first = degree_days(low, low + swing, 10, upper=None, method="mw1")
    second = degree_days(low, low + swing, 10, upper=None, method="mw2")
    assert second >= first - 1e-9
    if low >= 10:
        assert second == pytest.approx(float(first))


def test_arrays_keep_their_shape_and_gaps() -> None:
    low = np.array([[1.0, math.nan], [12.0, 20.0]])
    for method in get_args(Method):
        days = degree_days(low, low + 10, 10, upper=30, method=method)
        assert days.shape == (2, 2)
        assert np.isnan(days[0, 1])
        assert days[1, 1] == pytest.approx(15)


def test_unknown_method_and_crossed_limits_are_errors() -> None:
    with pytest.raises(ValueError, match="mw1, mw2 and sine"):
        degree_days(1, 2, 10, upper=30, method="mean")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="above the base"):
        degree_days(1, 2, 10, upper=10, method="mw1")


def test_thermal_time_adds_and_compares_in_its_own_kind() -> None:
    a, b = ThermalTime(500, "mw2", 10, upper=30), ThermalTime(55, "mw2", 10, upper=30)
    assert a + b == ThermalTime(555, "mw2", 10, upper=30)
    assert a - b == ThermalTime(445, "mw2", 10, upper=30)
    assert a > b and b < a and a >= b and b <= a and a != b
    same = ThermalTime(500, "mw2", 10, upper=30)
    assert a == same and a >= same and a <= same and not a > same and not a < same
    assert hash(a) == hash(same)


@pytest.mark.parametrize(
    "other",
    [
        ThermalTime(1, "mw1", 10, upper=30),
        ThermalTime(1, "mw2", 4, upper=30),
        ThermalTime(1, "mw2", 10),
    ],
    ids=["method", "base", "upper"],
)
@each("sign", ["+", "-", "==", "<", "<=", ">", ">="])
def test_totals_reckoned_differently_are_not_put_together(other: ThermalTime, sign: str) -> None:
    with pytest.raises(MixedThermalTimeError, match="cannot be put together"):
        eval(f"a {sign} b", {"a": ThermalTime(855, "mw2", 10, upper=30), "b": other})
