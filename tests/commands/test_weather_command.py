"""`harvestplan weather`: what it says of files, folders, seasons, and where there is nothing."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from inputs.season_folder import HOUSEHOLD, write
from inputs.weather.samples import meteo_france, open_meteo_csv
from places import CHAMPION

from harvestplan.commands.cli import main
from harvestplan.planning.read import read_household

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Exit code, and what is said on one line each."""

    def run(*words: str | Path) -> tuple[int, str, str]:
        monkeypatch.setattr("sys.argv", ["harvestplan", "weather", *map(str, words)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as left:
            main()
        said = capsys.readouterr()
        return int(left.value.code or 0), " ".join(said.out.split()), " ".join(said.err.split())

    return run


def next_days(first: str) -> str:
    """A forecast of five days in the form of its service."""
    begin = dt.date.fromisoformat(first)
    head = open_meteo_csv().split("\n2026-")[0]
    rows = [f"{begin + dt.timedelta(days=n)},20.0,10.0" for n in range(5)]
    return "\n".join([head, *rows, ""])


def test_an_empty_folder_is_told_how_to_begin(tmp_path: Path, run: Run) -> None:
    code, out, err = run("--in", tmp_path)
    assert (code, err) == (0, "")
    assert "no weather file" in out and "latitude" in out and "national weather service" in out
    assert json.loads(run("--in", tmp_path, "--json")[1]) == {"rough": None}


def test_a_season_with_coordinates_alone_shows_its_rough_climate(tmp_path: Path, run: Run) -> None:
    write(tmp_path, season=HOUSEHOLD + "[weather]\nlatitude = 40.4\nlongitude = -101.7\n")
    code, out, _ = run("--in", tmp_path)
    assert code == 0 and "A rough climate counts" in out and "July" in out and "last frost" in out
    told = json.loads(run("--in", tmp_path, "--json")[1])["rough"]
    assert len(told["tmin_c"]) == 12 and told["sd_k"] >= 2


def test_real_weather_north(tmp_path: Path, run: Run) -> None:
    """Reckoned by hand from the file: its lowest and highest, and the last frost of 2018."""
    low, high, frost = 99.0, -99.0, ""
    for line in CHAMPION.read_text(encoding="utf-8").splitlines()[1:]:
        day, cold, hot = line.split(",")
        low, high = min(low, float(cold)), max(high, float(hot))
        if "2018-01-01" <= day < "2018-07-01" and float(cold) < 0:
            frost = day
    code, out, _ = run(CHAMPION, "--in", tmp_path)
    assert code == 0
    assert f"coldest {round(low)} °C" in out and f"hottest {round(high)} °C" in out
    day = dt.date.fromisoformat(frost)
    assert f"2018 353 {day.day} {day:%B} " in out
    told = json.loads(run(CHAMPION, "--json", "--in", tmp_path)[1])
    assert told["days"] == 13514 and told["gaps"] == [] and told["filled"] == []
    summer = {each["year"]: each for each in told["summers"]}[2018]
    assert summer["last_frost"] == frost and summer["whole"]


def test_a_household_with_us_measures_reads_its_own(tmp_path: Path, run: Run) -> None:
    write(tmp_path, season=HOUSEHOLD + '[weather]\ndaily = ["weather.csv", "next.csv"]\n')
    shutil.copyfile(CHAMPION, tmp_path / "weather.csv")
    (tmp_path / "next.csv").write_text(next_days("2027-05-02"), encoding="utf-8")
    code, out, _ = run("--in", tmp_path, "--as-of", "2027-05-01")
    assert code == 0 and "32 °F" in out and "degree-days F" in out
    assert "The 5 days up to Thu 6 May count as a weather forecast." in out
    assert "A model's values" in out
    assert "3043 days between 2018-12-31 and 2027-05-02" in out


def test_several_stations_are_asked_for(tmp_path: Path, run: Run) -> None:
    other = meteo_france().replace("12345001;WILLOW BEND", "12345003;OTHER PLACE").splitlines()[1:]
    path = tmp_path / "Q_12.csv"
    path.write_text(meteo_france() + "\n".join(other) + "\n", encoding="utf-8")
    code, _, err = run(path, "--in", tmp_path)
    assert code == 3 and "12345003 OTHER PLACE (6 days)" in err
    code, out, _ = run(path, "--station", "other", "--in", tmp_path)
    assert code == 0 and "12345003 OTHER PLACE; 6 days" in out
    assert "2 values that the file itself marks as doubtful (in the whole file)" in out


def test_a_file_that_is_none(tmp_path: Path, run: Run) -> None:
    code, _, err = run(tmp_path / "none.csv", "--in", tmp_path)
    assert code == 3 and "none.csv" in err and "cannot be opened" in err


def test_the_forecast_uses_the_next_days_and_says_so(tmp_path: Path) -> None:
    """With the coming days cold or warm the plan's dates move; a plan says what they rest on."""
    firsts = []
    for warm in (5.0, 22.0):
        folder = tmp_path / str(warm)
        folder.mkdir()
        garden = '[[planting]]\ncrop = "snap bean"\nrow = "20 ft"\nsown = 2027-05-10\n'
        daily = '[weather]\ndaily = ["weather.csv", "next.csv"]\n'
        write(folder, season=HOUSEHOLD + daily + garden)
        shutil.copyfile(CHAMPION, folder / "weather.csv")
        ahead = next_days("2027-06-11").replace("20.0,10.0", f"{warm + 6},{warm - 6}")
        (folder / "next.csv").write_text(ahead, encoding="utf-8")
        household = read_household(folder, dt.date(2027, 6, 10))
        assert any("The next 5 days are as the weather forecast" in n for n in household.notes)
        firsts.append(household.forecast.plantings[0].first_pick_p50)
    assert firsts[1] < firsts[0]
