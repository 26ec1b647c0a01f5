"""What toil is worth, in portions: the words of the season file."""

from __future__ import annotations

from pathlib import Path

import pytest
from season_tables import house, kitchen, write_season

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.load import load_season
from harvestplan.inputs.quantities import QuantityError
from harvestplan.inputs.season import SeasonSpan
from harvestplan.inputs.toil_words import MOST, portions_worth
from harvestplan.kitchen.crop_library import load_library

LIBRARY = load_library()
KEYS = ("evening_is_worth", "visit_is_worth", "food_is_worth", "late_hour_is_worth")


@pytest.mark.parametrize(
    ("written", "portions"),
    [
        ("2 portions", 2), ("1 portion", 1), ("2", 2), ("0 portions", 0), ("2.5 portions", 2.5),
        ("1/2 portion", 0.5), ("1 1/2 portions", 1.5), ("½ portion", 0.5), ("1½ portions", 1.5),
        ("  3   PORTIONS ", 3), ("100 portions", 100), (2, 2), (0.5, 0.5), (1 / 3, 1 / 3), (0, 0),
    ],
)  # fmt: skip
def test_what_people_write(written: object, portions: float) -> None:
    assert portions_worth(written) == portions


@pytest.mark.parametrize(
    "written",
    [
        "", "portions", "two portions", "2 lb", "2 h", "1,5 portions", "-1 portion", "1/2/3",
        "2 portions a week", "1e3 portions", "nan", "inf", True, None, ["2 portions"],
        "2 portions" + " " * 99, "9" * 10_000,
    ],
)  # fmt: skip
def test_what_is_no_number_of_portions_is_told_with_the_way_to_write_it(written: object) -> None:
    with pytest.raises(QuantityError, match="not a number of portions") as raised:
        portions_worth(written)
    assert '"2 portions"' in raised.value.hint


@pytest.mark.parametrize(
    "written", ["101 portions", "100.5", 1000, -1, -0.001, float("inf"), float("nan")]
)
def test_what_nobody_means_is_out_of_range(written: object) -> None:
    with pytest.raises(QuantityError, match="out of range") as raised:
        portions_worth(written)
    assert f"{MOST:g} portions" in raised.value.hint


def test_nothing_is_divided_by_zero() -> None:
    with pytest.raises(QuantityError, match="divides by zero"):
        portions_worth("1/0 portion")


def span(tmp_path: Path, season: str) -> SeasonSpan:
    text = house("2027-07-05", "2027-07-11", season=season) + kitchen()
    return load_season(write_season(tmp_path, text), LIBRARY).season.season


@pytest.mark.parametrize("key", KEYS)
def test_each_key_is_read_and_only_that(tmp_path: Path, key: str) -> None:
    usual, told = span(tmp_path, ""), span(tmp_path, f'{key} = "7 1/2 portions"')
    for each in KEYS:
        assert getattr(told, each) == (7.5 if each == key else getattr(usual, each))


def test_toil_counts_where_nothing_is_said_of_it(tmp_path: Path) -> None:
    """Own judgement, as the README tells it: an evening is worth two portions, a food started 0.7,
    an hour of an extra window one, a visit half a portion."""
    usual = span(tmp_path, "")
    assert [getattr(usual, key) for key in KEYS] == [2, 0.5, 0.7, 1]


@pytest.mark.parametrize("value", ["true", '"two portions"', '"400 portions"', "-2", '"2 lb"'])
def test_a_flaw_in_the_season_file_names_its_line(tmp_path: Path, value: str) -> None:
    with pytest.raises(FilesNeedMending) as raised:
        span(tmp_path, f"evening_is_worth = {value}")
    (flaw,) = raised.value.flaws
    assert flaw.line == 8
    assert "evening_is_worth" in flaw.message and "portions" in flaw.hint


def test_an_unknown_key_of_toil_is_told_the_nearest(tmp_path: Path) -> None:
    with pytest.raises(FilesNeedMending) as raised:
        span(tmp_path, 'evenings_is_worth = "2 portions"')
    (flaw,) = raised.value.flaws
    assert "evening_is_worth" in flaw.message + flaw.hint
