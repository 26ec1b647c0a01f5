"""Past years played through with fruit on trays: whenever it ripens somebody looks in the next day.

Weather: Champion, Nebraska 1982-2018 (tests/data/weather).
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from places import CHAMPION
from planning.berry_season import SPRING, berry_folder

from harvestplan.foresight.answers import Replay
from harvestplan.foresight.replay import replay
from harvestplan.foresight.risk import stated
from harvestplan.foresight.truth import true_year, weather_of

WEATHER = ("# more", '[weather]\ndaily = "weather.csv"')


def replayed(folder: Path, year: int) -> Replay:
    household, base = stated(folder, SPRING)
    truth = true_year(household, weather_of(household), year, seed=1, as_of=SPRING)
    return replay(household, base, truth)


@pytest.mark.parametrize("year", [1988, 1993])
def test_a_warm_year_and_a_cold_one_put_by_their_strawberries(tmp_path: Path, year: int) -> None:
    """A week lies between their first picks, on 5 and 12 June. A visit is no evening."""
    folder = berry_folder(tmp_path, WEATHER)
    shutil.copyfile(CHAMPION, folder / "weather.csv")
    found = replayed(folder, year)
    assert found.made[0] >= 10
    assert {start.strftime("%a %H:%M") for start in found.used} == {"Thu 18:00"}
    assert found.evenings == len(found.used)


def test_without_visits_no_year_puts_any_by(tmp_path: Path) -> None:
    folder = berry_folder(tmp_path, ("# more", 'visits = "none"\n[weather]\ndaily = "weather.csv"'))
    shutil.copyfile(CHAMPION, folder / "weather.csv")
    found = replayed(folder, 1993)
    assert found.made == (0, 0)
    assert found.evenings == 0
