"""What is odd of single formats: other units, old layouts, several places, made-up years."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from inputs.weather.files import days_of, read, written, zipped
from inputs.weather.samples import (
    DAYS,
    EXPECTED,
    HIGH,
    LOW,
    SAMPLES,
    dwd,
    environment_canada,
    ghcn_wide,
    meteo_france,
    nasa_power,
    open_meteo_csv,
    open_meteo_json,
)

from harvestplan.errors import FilesNeedMending
from harvestplan.inputs.weather import unpacked_file
from harvestplan.inputs.weather.daily_record import read_weather


def is_as_expected(folder: Path, *texts: str) -> bool:
    days = days_of(read(folder, *(text.encode() for text in texts)).daily)
    return all(days[day] == pytest.approx(both, abs=0.01) for day, both in EXPECTED.items())


def refusal(folder: Path, *data: bytes, **how: str) -> str:
    with pytest.raises(FilesNeedMending) as caught:
        read_weather(written(folder, *data), **how)  # type: ignore[arg-type]
    return str(caught.value)


def export(*, days: int, fahrenheit: bool = False, decimal: bool = False) -> bytes:
    """An ordered export: no unit, no attributes; a mean July of 24 °C and January of -4 °C."""
    import numpy as np
    import pandas as pd

    index = pd.date_range("2025-01-01", periods=days)
    mean = 10 - 14 * np.cos(2 * np.pi * (index.dayofyear - 15) / 365)
    high, low = mean + 6, mean - 6
    if fahrenheit:
        high, low = high * 9 / 5 + 32, low * 9 / 5 + 32
    form = "{:.1f}" if decimal else "{:.0f}"
    rows = [
        f'"{day:%Y-%m-%d}","{form.format(x)}","{form.format(n)}"'
        for day, x, n in zip(index, high, low, strict=True)
    ]
    return ("\n".join(['"DATE","TMAX","TMIN"', *rows]) + "\n").encode()


@pytest.mark.parametrize("how", [{}, {"fahrenheit": True}, {"decimal": True}])
def test_an_ordered_export_of_a_year_tells_its_unit(how: dict[str, bool], tmp_path: Path) -> None:
    frame = read(tmp_path, export(days=365, **how)).daily
    assert frame["tmax_c"].max() == pytest.approx(30, abs=0.6)
    assert frame["tmin_c"].min() == pytest.approx(-10, abs=0.6)


def test_an_ordered_export_of_some_days_is_asked_for_its_unit(tmp_path: Path) -> None:
    """The highest of a January day of 2 °C is 36 °F: whole degrees alone do not tell."""
    data = export(days=20, fahrenheit=True)
    assert 'unit = "F"' in refusal(tmp_path, data)
    frame = read_weather(written(tmp_path, data), unit="F").daily
    assert frame["tmin_c"].min() == pytest.approx(-10, abs=0.6)
    frame = read_weather(written(tmp_path, export(days=20)), unit="C").daily
    assert frame["tmin_c"].min() == pytest.approx(-10, abs=0.6)


def test_open_meteo_in_fahrenheit(tmp_path: Path) -> None:
    assert is_as_expected(tmp_path, open_meteo_csv("°F"))


def test_open_meteo_with_hours_above_the_days(tmp_path: Path) -> None:
    place, days = open_meteo_csv().split("\n\n")
    hours = "time,temperature_2m (°C)\n" + "2026-05-01T00:00,7.0\n" * 5000
    assert len(hours) > unpacked_file.HEAD
    assert is_as_expected(tmp_path, "\n\n".join([place, hours.strip(), days]))
    assert "daily lowest" in refusal(tmp_path, "\n\n".join([place, hours]).encode())


def test_open_meteo_of_several_places(tmp_path: Path) -> None:
    head = "location_id,latitude,longitude,elevation,utc_offset_seconds,timezone,t"
    places = "0,40.1,-95.2,310.0,-18000,America/Chicago,x\n1,52.5,13.4,38.0,7200,Europe/Berlin,x"
    days = "location_id,time,temperature_2m_min (°C),temperature_2m_max (°C)"
    rows = [f"{at},2026-05-0{n},{at + n},{at + n + 9}" for at in (0, 1) for n in (1, 2)]
    data = "\n".join([head, places, "", days, *rows, ""]).encode()
    told = refusal(tmp_path, data)
    assert "several stations" in told and "1 52.5 13.4 (2 days)" in told
    for station in ("1", "52.5 13.4"):
        frame = read_weather(written(tmp_path, data), station=station).daily
        assert frame["tmin_c"].tolist() == [2.0, 3.0]


def test_open_meteo_json_in_seconds_and_fahrenheit(tmp_path: Path) -> None:
    """05:00 UTC on 1 May 2026 is midnight where the offset is -5 hours."""
    answer = json.loads(open_meteo_json())
    answer["daily"]["time"] = [1777611600 + 86400 * n for n in range(6)]
    for name in ("temperature_2m_max", "temperature_2m_min"):
        answer["daily_units"][name] = "°F"
        values = answer["daily"][name]
        answer["daily"][name] = [None if v is None else v * 1.8 + 32 for v in values]
    assert is_as_expected(tmp_path, json.dumps(answer))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"daily": {"time": ["2026-05-01"], "temperature_2m_max": [1.0, 2.0]}}, "2 values"),
        ({"daily": None}, "no days"),
        ({"daily": {"time": "2026-05-01"}}, "no day with both"),
        ({"daily": {"time": [{}], "temperature_2m_max": [[]]}}, "no day with both"),
    ],
)
def test_open_meteo_json_of_another_shape(
    change: dict[str, object], words: str, tmp_path: Path
) -> None:
    answer = json.dumps({**json.loads(open_meteo_json()), **change})
    assert words in refusal(tmp_path, answer.encode())


def test_json_nested_without_end(tmp_path: Path) -> None:
    data = b'{"latitude": 1, "longitude": 2, "daily": ' + b"[" * 100_000
    assert "damaged" in refusal(tmp_path, data)


def test_the_ground_is_never_used(tmp_path: Path) -> None:
    assert read(tmp_path, dwd().encode()).daily["tmin_c"].min() > -9


def test_a_german_archive_with_its_metadata(tmp_path: Path) -> None:
    members = {
        "Metadaten_Geographie_01234.txt": b"Stations_id;Stationshoehe;Geogr.Breite\n1234;310;50\n",
        "produkt_klima_tag_20260501_20260506_01234.txt": dwd().encode(),
    }
    found = read(tmp_path, zipped(members))
    assert found.sources[0].name.endswith("produkt_klima_tag_20260501_20260506_01234.txt")
    assert found.sources[0].station == "1234" and not found.left_out


def test_canadian_files_of_old_in_their_encoding(tmp_path: Path) -> None:
    """A legend of many lines on top, no columns for the station, ISO-8859-1."""
    lines = environment_canada().splitlines()
    bare = [",".join(line.split(",")[4:]) for line in lines]
    legend = ['"Station Name","WILLOW BEND CDA"', '"Climate Identifier","6105976"', ""]
    legend += ['"Legend"', '"E","Estimated"', '"M","Missing"', '""']
    data = "\n".join([*legend, *bare, ""]).encode("iso-8859-1")
    assert b"\xb0C" in data
    found = read(tmp_path, data)
    assert days_of(found.daily)["2026-05-01"] == (-1.2, 9.4)
    assert found.sources[0].station == "6105976 WILLOW BEND CDA"
    assert "1 value that the file marks as estimated" in found.sources[0].oddities[0]


def test_canadian_files_whose_degree_sign_was_lost(tmp_path: Path) -> None:
    assert is_as_expected(
        tmp_path, environment_canada().replace("°C", "\N{REPLACEMENT CHARACTER}C")
    )


def test_nasa_power_by_the_day_of_the_year(tmp_path: Path) -> None:
    """1 May is the 121st day of a common year."""
    text = nasa_power().replace("YEAR,MO,DY,", "YEAR,DOY,")
    for n in range(6):
        text = text.replace(f"2026,5,{n + 1},", f"2026,{121 + n},")
    assert is_as_expected(tmp_path, text)
    assert not read(tmp_path, text.encode()).sources[0].measured


def test_french_files_have_many_stations(tmp_path: Path) -> None:
    other = meteo_france().replace("12345001;WILLOW BEND", "12345003;OTHER PLACE")
    data = (meteo_france() + "\n".join(other.splitlines()[1:]) + "\n").encode()
    told = refusal(tmp_path, data)
    assert "12345001 WILLOW BEND (6 days)" in told and "12345003 OTHER PLACE" in told
    assert "RAIN" not in told
    for station in ("12345001", "willow bend", "Willow"):
        found = read_weather(written(tmp_path, data), station=station)
        assert days_of(found.daily)["2026-05-01"] == (-1.2, 9.4)
    assert "No station is called" in refusal(tmp_path, data, station="Elsewhere")
    assert "Several stations are called" in refusal(tmp_path, data, station="e")


def test_australian_values_over_two_days_and_wrong_ones(tmp_path: Path) -> None:
    high, low = SAMPLES["australia"].texts
    found = read(tmp_path, high.encode(), low.replace("-1.2,1,Y", "-1.2,1,W").encode())
    assert found.daily.index[0].day == 2
    told = " ".join(line for source in found.sources for line in source.oddities)
    assert "1 value gathered over several days" in told and "1 value that the file" in told


def test_a_file_of_maxima_alone_is_told(tmp_path: Path) -> None:
    assert "two files" in refusal(tmp_path, SAMPLES["ecad"].texts[0].encode())


EPW = "LOCATION,Willow Bend,NE,USA,TMY3,725510,40.85,-96.75,-6.0,362.0\nDESIGN CONDITIONS,1\n"
TMY3 = '725510,"WILLOW BEND",NE,-6.0,40.85,-96.75,362\nDate (MM/DD/YYYY),Time (HH:MM),ETR\n'


@pytest.mark.parametrize("text", [EPW, TMY3])
def test_typical_years_are_refused_with_the_reason(text: str, tmp_path: Path) -> None:
    told = refusal(tmp_path, text.encode())
    assert "no year was so" in told and "measured days" in told
    assert "no year was so" in refusal(tmp_path, zipped({"a.epw": text.encode(), "a.ddy": b"x"}))


@pytest.mark.parametrize("kelvin", [273.0, 100.0])
def test_another_unit_shows_in_absurd_figures(kelvin: float, tmp_path: Path) -> None:
    text = open_meteo_csv()
    for value in {str(v) for v in (*LOW, *HIGH) if v is not None}:
        text = text.replace(f",{value}", f",{float(value) + kelvin:.1f}")
    assert "unit must be another" in refusal(tmp_path, text.encode())


def test_days_far_off_and_crossed_are_left_out_and_told(tmp_path: Path) -> None:
    extra = "1750-05-01,9,1\n2026-05-07,3,9\n2026-05-08,3,9.5\n"
    found = read(tmp_path, (open_meteo_csv() + extra).encode())
    told = " ".join(found.sources[0].oddities)
    assert "1 value of years before 1850" in told and "4 values of days on which" in told
    assert found.daily.index[-1].day == 6


def test_what_unpacks_without_end_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import gzip

    monkeypatch.setattr(unpacked_file, "LARGEST_UNPACKED", 200_000)
    monkeypatch.setattr(unpacked_file, "LARGEST_WHOLE", 200_000)
    for text in (ghcn_wide(), "date,tmin_c,tmax_c\n", open_meteo_json()):
        data = text.encode() + b"\n" * 300_000
        for packed in (gzip.compress(data), zipped({"a.csv": data})):
            assert "too large" in refusal(tmp_path, packed)


def test_a_large_file_is_refused_unread(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(unpacked_file, "LARGEST_FILE", 100)
    assert "too large" in refusal(tmp_path, ghcn_wide().encode())


def test_too_many_rows_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from harvestplan.inputs.weather import columns

    monkeypatch.setattr(columns, "MOST_ROWS", 4)
    assert "more than 4 rows" in refusal(tmp_path, ghcn_wide().encode())


def test_an_archive_of_a_whole_country_is_refused(tmp_path: Path) -> None:
    members = {f"{n}.csv": b"x" for n in range(100)}
    assert "100 files" in refusal(tmp_path, zipped(members))


def test_a_quote_without_end_costs_its_line_alone(tmp_path: Path) -> None:
    text = ghcn_wide().replace('"2026-05-02"', '"2026-05-02')
    found = read(tmp_path, text.encode())
    assert f"{DAYS[0]}" in days_of(found.daily) and "2026-05-06" in days_of(found.daily)
    assert "1 value that cannot be read" in found.sources[0].oddities
