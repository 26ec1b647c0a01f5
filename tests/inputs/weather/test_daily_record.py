"""Several files as one record: whose value counts, folders, stations, and what a season names."""

from __future__ import annotations

from pathlib import Path

import pytest
from inputs.season_folder import SOUND, write
from inputs.weather.files import days_of
from inputs.weather.samples import ecad, ghcn_wide, open_meteo_csv

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.load import load_season
from harvestplan.inputs.season import Weather
from harvestplan.inputs.weather.daily_record import gaps, read_weather, season_weather
from harvestplan.kitchen.crop_library import load_library

CELSIUS = "date,tmin_c,tmax_c\n"


def put(folder: Path, **files: str) -> Path:
    folder.mkdir(exist_ok=True)
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def test_measured_days_count_before_a_models(tmp_path: Path) -> None:
    model = open_meteo_csv().replace("9.4,-1.2", "19.4,1.2") + "2026-05-07,22.0,9.0\n"
    put(tmp_path, a=model, b=CELSIUS + "2026-05-01,-1.2,9.4\n")
    for order in (["a", "b"], ["b", "a"]):
        found = read_weather([tmp_path / name for name in order])
        days = days_of(found.daily)
        assert days["2026-05-01"] == (-1.2, 9.4) and days["2026-05-07"] == (9.0, 22.0)
        assert [source.measured for source in found.sources] == [True, False]


def test_of_two_measured_files_the_first_counts(tmp_path: Path) -> None:
    put(tmp_path, a=CELSIUS + "2026-05-01,1,9\n", b=CELSIUS + "2026-05-01,2,8\n2026-05-02,2,8\n")
    found = read_weather([tmp_path / "a", tmp_path / "b"]).daily
    assert found["tmin_c"].tolist() == [1.0, 2.0]
    found = read_weather([tmp_path / "b", tmp_path / "a"]).daily
    assert found["tmin_c"].tolist() == [2.0, 2.0]


def test_a_folder_is_read_whole_and_what_is_no_weather_is_told(tmp_path: Path) -> None:
    low, high = ecad("TN", (1.0,) * 6, None), ecad("TX", (9.0,) * 6, None)
    folder = put(tmp_path / "w", tn=low, tx=high, readme="Fetched in May.\n", **{".hidden": "x"})
    found = read_weather([folder])
    assert len(found.daily) == 6 and len(found.sources) == 2
    assert found.left_out == ("readme is no weather that is known; it is left out.",)


def test_long_gaps_of_a_station_are_left_open_and_listed(tmp_path: Path) -> None:
    rows = [f'"X","2026-05-{n:02d}","100","50"\n' for n in (*range(1, 6), *range(20, 30))]
    text = '"STATION","DATE","TMAX","TMIN"\n' + "".join(rows)
    put(tmp_path, a=text.replace('"100"', '"150"'))
    found = read_weather([tmp_path / "a"])
    assert len(found.daily) == 15 and found.filled == ()
    assert [tuple(map(str, gap)) for gap in gaps(found.daily)] == [("2026-05-05", "2026-05-20")]


def test_a_season_names_one_file_or_several_or_a_folder(tmp_path: Path) -> None:
    table = '[weather]\ndaily = {}\nstation = "XX000012345"\n'
    library = load_library(tmp_path)
    put(tmp_path / "weather", one=ghcn_wide())
    put(tmp_path, next=open_meteo_csv())
    for daily in ('"weather"', '["weather"]', '["next", "weather/one"]'):
        write(tmp_path, season=f"{SOUND}\n{table.format(daily)}")
        weather = load_season(tmp_path, library).season.weather
        record = season_weather(tmp_path, weather)
        assert record is not None
        assert days_of(record.daily)["2026-05-01"] == pytest.approx((-1.2, 9.4))
    assert season_weather(tmp_path, Weather()) is None


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ('daily = ["a.csv", "none.csv"]', 'no file "none.csv"'),
        ("daily = 3", "list"),
        ('daily = ""', "empty"),
        ('unit = "K"', "not one of the allowed"),
        ("latitude = 40.1", "latitude and longitude"),
        ("latitude = 91\nlongitude = 0", "at most 90"),
        ('latitude = "40 N"\nlongitude = 0', "number"),
    ],
)
def test_slips_in_the_season_file(table: str, words: str, tmp_path: Path) -> None:
    put(tmp_path, **{"a.csv": CELSIUS + "2026-05-01,1,9\n"})
    write(tmp_path, season=f"{SOUND}\n[weather]\n{table}\n")
    with pytest.raises(FilesNeedMending) as caught:
        load_season(tmp_path, load_library(tmp_path))
    assert words in str(caught.value)
    assert caught.value.flaws[0].line is not None


def test_a_link_in_a_folder_does_not_lead_out(tmp_path: Path) -> None:
    put(tmp_path / "elsewhere", secret=CELSIUS + "2026-05-01,1,9\n")
    folder = put(tmp_path / "season")
    (folder / "weather").mkdir()
    (folder / "weather" / "link").symlink_to(tmp_path / "elsewhere" / "secret")
    with pytest.raises(FilesNeedMending, match="leads out"):
        season_weather(folder, Weather(daily=("weather",)))
