"""The household's weather file: units, gaps, and every kind of slip with its line."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pandas as pd
import pytest
from inputs.season_folder import write
from places import DATA

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.weather.daily_record import WeatherRecord, read_weather

CELSIUS = "date,tmin_c,tmax_c\n"


def days(first: str, count: int, low: float = 5.0, high: float = 15.0) -> str:
    start = dt.date.fromisoformat(first)
    return "".join(f"{start + dt.timedelta(n)},{low},{high}\n" for n in range(count))


def record(folder: Path, text: str | bytes) -> WeatherRecord:
    return read_weather([write(folder, w_csv=text) / "w.csv"])


def read(folder: Path, text: str | bytes) -> pd.DataFrame:
    return record(folder, text).daily


def flaws_of(folder: Path, text: str | bytes) -> tuple[Flaw, ...]:
    with pytest.raises(FilesNeedMending) as caught:
        read(folder, text)
    return caught.value.flaws


def test_celsius(tmp_path: Path) -> None:
    found = record(tmp_path, CELSIUS + "2027-01-30,-3.5,2\n2027-01-31,-4,1.5\n\n")
    frame = found.daily
    assert list(frame.columns) == ["tmin_c", "tmax_c"]
    assert frame.index[0] == pd.Timestamp("2027-01-30") and frame.index.freq is not None
    assert frame.loc["2027-01-31", "tmin_c"] == -4
    assert found.filled == ()


def test_fahrenheit_spaces_byte_order_mark_and_windows_line_ends(tmp_path: Path) -> None:
    text = "\ufeffDate, Tmin_F, Tmax_F\r\n2027-07-01, 50, 86\r\n".encode()
    frame = read(tmp_path, text)
    assert frame.iloc[0].tolist() == pytest.approx([10, 30])


def test_short_gaps_are_filled_in_by_straight_lines(tmp_path: Path) -> None:
    text = CELSIUS + "2027-01-01,0,10\n2027-01-02,,\n2027-01-04,3,13\n"
    found = record(tmp_path, text)
    assert found.daily["tmin_c"].tolist() == pytest.approx([0, 1, 2, 3])
    assert found.filled == (dt.date(2027, 1, 2), dt.date(2027, 1, 3))


def test_five_days_are_filled_and_six_are_not(tmp_path: Path) -> None:
    assert len(read(tmp_path, CELSIUS + days("2027-01-01", 3) + days("2027-01-09", 3))) == 11
    (flaw,) = flaws_of(tmp_path, CELSIUS + days("2027-01-01", 3) + days("2027-01-10", 3))
    assert flaw.line == 5 and flaw.text.startswith("2027-01-10")
    assert "6 days are missing" in flaw.message


def test_a_gap_over_new_year_stays_a_gap(tmp_path: Path) -> None:
    text = CELSIUS + days("2025-04-01", 200) + days("2026-04-01", 100)
    found = record(tmp_path, text)
    assert len(found.daily) == 300 and found.filled == ()
    assert not found.daily.isna().any().any()


@pytest.mark.parametrize(
    ("rows", "line", "words"),
    [
        ("2027-01-01,0,10\n2027-01-01,1,11\n", 3, "twice"),
        ("2027-01-02,0,10\n2027-01-01,1,11\n", 3, "order"),
        ("2027-01-01,0,10\n\n2027-01-02,12,3\n", 4, "swapped"),
        ("2027-01-01,0,10\n02/01/2027,1,11\n", 3, "year-month-day"),
        ("2027-01-01,0,10\n2027-02-30,1,11\n", 3, "no date"),
        ("2027-01-01,0,ten\n", 2, "no temperature"),
        ("2027-01-01,0,1e999\n", 2, "no temperature"),
        ("2027-07-01,60,95\n", 2, "Fahrenheit"),
        ("2027-01-01,0,10\n2027-01-02,0,10,rain\n", 3, "three columns"),
        ("2027-01-01,0,10\n2027-01-02,0,10,rain,4,5\n", 3, "three columns"),
        ("2027-01-01;0;10\n", 2, "no date"),
        ('2027-01-01,"0,5",10\n', 2, "three columns"),
    ],
)
def test_a_slip_names_its_line(tmp_path: Path, rows: str, line: int, words: str) -> None:
    flaws = flaws_of(tmp_path, CELSIUS + rows)
    assert [flaw.line for flaw in flaws] == [line]
    assert flaws[0].file == "w.csv"
    assert flaws[0].text == (CELSIUS + rows).split("\n")[line - 1]
    assert words in str(flaws[0])


def test_several_slips_come_at_once(tmp_path: Path) -> None:
    flaws = flaws_of(tmp_path, CELSIUS + "2027-01-01,x,10\n2027-01-01,1,0\nno,1,2\n")
    assert [flaw.line for flaw in flaws] == [2, 3, 4]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("day,low,high\n2027-01-01,0,10\n", "columns"),
        ("2027-01-01,0,10\n", "columns"),
        ("", "columns"),
        (CELSIUS, "no days"),
        (CELSIUS + "2027-01-01,,\n", "no day with both"),
        (CELSIUS.encode("utf-16"), "UTF-8"),
    ],
)
def test_what_is_no_weather_file(tmp_path: Path, text: str | bytes, words: str) -> None:
    assert words in str(flaws_of(tmp_path, text)[0])


def test_a_missing_file(tmp_path: Path) -> None:
    with pytest.raises(FilesNeedMending, match="cannot be opened"):
        read_weather([tmp_path / "none.csv"])


def test_real_series_are_read_whole() -> None:
    """Two open weather series of 30 and more years, without a gap."""
    series = sorted((DATA / "weather").glob("*_????_????.csv"))
    assert len(series) == 2
    for path in series:
        found = read_weather([path])
        assert len(found.daily) == len(path.read_text().strip().split("\n")) - 1
        assert found.filled == ()
