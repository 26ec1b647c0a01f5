"""Next year's sowing of a small season: too little is sown, or far too much.

30 ft of beans at 120 lb per 100 ft (KY_AP, the highest of the tables, as the crop file says) are
nowhere near enough for 60 pouches of 12 oz; 150 ft are far too many for 8.
"""

from __future__ import annotations

import datetime as dt
import math
import tomllib
from pathlib import Path

import pytest
from foresight.risk_folder import AS_OF, write_risk_folder

from harvestplan.forecast.past_years import by_warmth, safe_from_frost
from harvestplan.foresight import sowing as searching
from harvestplan.foresight.sowing import SowingChange, sowing
from harvestplan.inputs.load import load_season
from harvestplan.inputs.weather.daily_record import read_weather
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.terminal.sowing_text import sowing_text

HUNGRY = 'portions = 8\nportion = "12 oz"', 'portions = 60\nportion = "12 oz"'
PLENTY = 'row = "30 ft"', 'row = "150 ft"'
AUTUMN = dt.date(2027, 11, 1)


@pytest.fixture(autouse=True)
def _as_long_as_it_takes(monkeypatch: pytest.MonkeyPatch) -> None:
    """A slow computer would end the search with fewer trials, and another answer."""
    monkeypatch.setattr(searching, "MOST_SECONDS", math.inf)


def silent(text: str) -> None:
    pass


def test_more_is_sown_of_what_is_short(tmp_path: Path) -> None:
    folder = write_risk_folder(tmp_path, HUNGRY)
    said: list[str] = []
    found = sowing(folder, AUTUMN, 1, tries=3, say=said.append)
    assert found.moved == ("beans-1",)
    assert found.after.short < found.before.short
    (beans,) = found.plantings
    assert beans.row == pytest.approx(1.5 * 30 * 0.3048)  # the most it may grow by
    assert beans.sown == dt.date(2028, 5, 25)
    assert said[-2].startswith("3 of 3 trials")


def test_less_is_sown_of_what_nobody_wants(tmp_path: Path) -> None:
    found = sowing(write_risk_folder(tmp_path, PLENTY), AS_OF, 1, tries=2, say=silent)
    (beans,) = found.plantings
    assert beans.row == pytest.approx(0.5 * 150 * 0.3048)
    assert found.after.short <= found.before.short + 0.3
    assert found.after.surplus_kg < found.before.surplus_kg
    assert beans.sown == dt.date(2027, 5, 25)  # before this season's sowing: for this season


def test_both_sowings_are_tried_in_years_not_searched_with(tmp_path: Path) -> None:
    folder = write_risk_folder(tmp_path, HUNGRY)
    found = sowing(folder, AUTUMN, 1, tries=3, say=silent)
    other = found.elsewhere
    assert other is not None
    assert set(other.years) == {2019, 2020, 2021, 2022, 2023} - set(found.years)
    _, base, _ = searching._ground(folder, 1)
    moves = {"beans-1": SowingChange(share=1.5)}
    lived = [searching._live(folder, 1, moves, year=year) for year in other.years]
    weights = [want.priority for want in base.season.want]
    short = [sum(w * n for w, n in zip(weights, each.short, strict=True)) for each in lived]
    assert other.after.short == pytest.approx(sum(short) / len(short), abs=0.01)
    assert other.after.short < other.before.short  # half as many beans again, of far too few
    assert (other.better, other.worse) == (2, 0)
    text = sowing_text(found, "US")
    assert "2 past years that were not searched with" in text
    assert "clearly better in 2, clearly worse in 0" in " ".join(text.split())


def test_a_sowing_left_alone_is_not_tried_again(tmp_path: Path) -> None:
    found = sowing(write_risk_folder(tmp_path), AS_OF, 1, tries=1, say=silent)
    assert found.moved == () and found.elsewhere is None


def test_tables_can_be_copied_into_a_season_file(tmp_path: Path) -> None:
    folder = write_risk_folder(tmp_path / "old", HUNGRY)
    found = sowing(folder, AUTUMN, 1, tries=2, say=silent)
    tables = sowing_text(found, "US").partition("[[planting]]")
    copied = tomllib.loads(tables[1] + tables[2])["planting"]
    assert copied == [
        {"id": "beans-1", "crop": "snap bean", "row": "45 ft", "sown": dt.date(2028, 5, 25)}
    ]


def test_the_same_seed_finds_the_same(tmp_path: Path) -> None:
    folder = write_risk_folder(tmp_path, HUNGRY)
    assert sowing(folder, AUTUMN, 1, tries=4, say=silent) == sowing(
        folder, AUTUMN, 1, tries=4, say=silent
    )


def test_a_planting_in_two_halves_keeps_its_amount(tmp_path: Path) -> None:
    folder = write_risk_folder(tmp_path)
    season = load_season(folder, load_library(folder)).season
    first, second = searching._changed(
        season, {"beans-1": SowingChange(days=-7, share=1.5, twice=True)}
    )
    (written,) = season.planting
    assert written.row is not None and first.row is not None and second.row is not None
    assert first.row + second.row == pytest.approx(1.5 * written.row)
    assert (first.sown, second.sown) == (dt.date(2027, 5, 18), dt.date(2027, 6, 1))
    assert (first.id, second.id) == ("beans-1", "beans-1-again")


def test_years_are_ordered_by_the_season_s_warmth(tmp_path: Path) -> None:
    folder = write_risk_folder(tmp_path)
    season = load_season(folder, load_library(folder)).season
    weather = read_weather([folder / "weather.csv"]).daily
    assert by_warmth(weather, season) == (2021, 2019, 2022, 2023, 2020)
    # March has nights of -6 °C and less in every year here, April of 7 °C at the lowest.
    assert safe_from_frost(weather, -0.5, 0.8) == (4, 1)
    assert safe_from_frost(weather, -40.0, 0.8) is None


def test_nothing_tender_is_sown_before_it_is_safe(tmp_path: Path) -> None:
    folder = write_risk_folder(tmp_path, ("sown = 2027-05-25", "sown = 2027-04-03"))
    household = searching._ground(folder, 1)[0]
    movable = searching._movable(household)
    assert set(movable) == {"beans-1"}
    assert searching._earliest(household, movable) == {"beans-1": dt.date(2027, 4, 1)}


def test_in_the_south_spring_is_that_before_new_year(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same weather half a year later: April's first day becomes October's."""
    household = searching._ground(write_risk_folder(tmp_path), 1)[0]
    (planting,) = household.season.planting
    south = searching.weather_of(household).shift(183, freq="D")
    monkeypatch.setattr(searching, "weather_of", lambda _: south)
    for sown, safe in (
        (dt.date(2027, 1, 10), dt.date(2026, 10, 1)),
        (dt.date(2026, 11, 10), dt.date(2026, 10, 1)),
        (dt.date(2026, 9, 20), dt.date(2026, 9, 20)),
    ):
        assert searching._earliest(household, {"b": (sown, planting)}) == {"b": safe}
