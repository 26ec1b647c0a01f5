"""Small files of every weather format, written from the document that is named beside each.

Each holds one place and the same six days of May 2026: the first three as EXPECTED has them, the
fourth without a maximum, on the fifth a minimum that the file marks as wrong (where the format has
such marks; else it is missing), the sixth sound.
"""

from __future__ import annotations

import json
from dataclasses import dataclass

EXPECTED = {
    "2026-05-01": (-1.2, 9.4),
    "2026-05-02": (0.0, 12.5),
    "2026-05-03": (3.3, 17.0),
    "2026-05-06": (5.1, 20.6),
}
"""Lowest and highest (°C) of the days that have both; the fourth and fifth are a gap of two days,
filled in by straight lines."""
DAYS = ("2026-05-01", "2026-05-02", "2026-05-03", "2026-05-04", "2026-05-05", "2026-05-06")
LOW = (-1.2, 0.0, 3.3, 4.0, 44.0, 5.1)
HIGH = (9.4, 12.5, 17.0, None, 19.0, 20.6)
WRONG = 4
"""Position of the day whose minimum is marked as wrong."""


@dataclass(frozen=True)
class Sample:
    """A file (or two that belong together), the document it follows, and the name of its format.

    `flagged` says that the format marks values; `cut` how much of the last line may be lost
    without a false value: a format whose last field is a temperature cannot show that it is cut.
    """

    format: str
    document: str
    texts: tuple[str, ...]
    flagged: bool = True
    last_is_temperature: bool = False


def _tenths(value: float | None) -> str:
    return "-9999" if value is None else f"{value * 10:.0f}"


def _plain(day: str) -> str:
    return day.replace("-", "")


def _lines(*lines: str) -> str:
    return "\n".join(lines) + "\n"


def ghcn_wide() -> str:
    """Quoted, padded, tenths of °C, attributes "measurement,quality,source"."""
    head = '"STATION","DATE","LATITUDE","NAME","TMAX","TMAX_ATTRIBUTES","TMIN","TMIN_ATTRIBUTES"'
    rows = []
    for n, day in enumerate(DAYS):
        high = "" if HIGH[n] is None else f"{_tenths(HIGH[n]):>5}"
        flag = ",G,7" if n == WRONG else ",,7"
        rows.append(
            f'"XX000012345","{day}","40.1","WILLOW BEND","{high}",",,7",'
            f'"{_tenths(LOW[n]):>5}","{flag}"'
        )
    return _lines(head, *rows)


def ghcn_long() -> str:
    """ID, date, element, value in tenths, three flags, time; other elements between."""
    rows = ["ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME"]
    for n, day in enumerate(DAYS):
        flag = "G" if n == WRONG else ""
        rows.append(f"XX000012345,{_plain(day)},PRCP,13,,,7,")
        if HIGH[n] is not None:
            rows.append(f"XX000012345,{_plain(day)},TMAX,{_tenths(HIGH[n])},,,7,0800")
        rows.append(f"XX000012345,{_plain(day)},TMIN,{_tenths(LOW[n])},,{flag},7,0800")
    return _lines(*rows)


def ghcn_fixed() -> str:
    """A line a month and element: 31 times five places of value and three flags."""

    def line(element: str, values: tuple[float | None, ...], wrong: int | None) -> str:
        told = [
            f"{_tenths(value):>5} {'G' if n == wrong else ' '}7" for n, value in enumerate(values)
        ]
        return f"XX000012345202605{element}" + "".join(told + ["-9999   "] * (31 - len(told)))

    return _lines(line("PRCP", LOW, None), line("TMAX", HIGH, None), line("TMIN", LOW, WRONG))


def open_meteo_csv(unit: str = "°C") -> str:
    """Two lines on the place, an empty one, the days; null is empty."""

    def shown(value: float | None) -> str:
        if value is None:
            return ""
        return f"{value * 9 / 5 + 32:.2f}" if unit == "°F" else f"{value}"

    rows = [
        f"{day},{shown(HIGH[n])},{'' if n == WRONG else shown(LOW[n])}"
        for n, day in enumerate(DAYS)
    ]
    return _lines(
        "latitude,longitude,elevation,utc_offset_seconds,timezone,timezone_abbreviation",
        "40.1,-95.2,310.0,-18000,America/Chicago,GMT-5",
        "",
        f"time,temperature_2m_max ({unit}),temperature_2m_min ({unit})",
        *rows,
    )


def open_meteo_json() -> str:
    """Lists of days and values, null where missing."""
    lows = [None if n == WRONG else low for n, low in enumerate(LOW)]
    units = {"time": "iso8601", "temperature_2m_max": "°C", "temperature_2m_min": "°C"}
    daily = {"time": DAYS, "temperature_2m_max": HIGH, "temperature_2m_min": lows}
    place = {"latitude": 40.1, "longitude": -95.2, "utc_offset_seconds": -18000}
    return json.dumps({**place, "daily_units": units, "daily": daily}, ensure_ascii=False)


def dwd() -> str:
    """Semicolons, padded; TGK (at the ground) much colder than TNK; -999 missing."""
    rows = []
    for n, day in enumerate(DAYS):
        high = -999 if HIGH[n] is None else HIGH[n]
        low = -999 if n == WRONG else LOW[n]
        rows.append(f"       1234;{_plain(day)};   10;   {high};   {low};  -9.9;eor")
    return _lines("STATIONS_ID;MESS_DATUM;QN_4; TXK; TNK; TGK;eor", *rows)


def environment_canada() -> str:
    """Quoted, flags beside each value, M where missing; days of a year not yet over are empty."""
    names = (
        '"Longitude (x)","Latitude (y)","Station Name","Climate ID","Date/Time","Year","Month",'
        '"Day","Data Quality","Max Temp (°C)","Max Temp Flag","Min Temp (°C)","Min Temp Flag",'
        '"Mean Temp (°C)","Mean Temp Flag"'
    )
    rows = []
    for n, day in enumerate(DAYS):
        high, mark = ("", "M") if HIGH[n] is None else (HIGH[n], "E" if n == 1 else "")
        low, lacks = ("", "N") if n == WRONG else (LOW[n], "")
        year, month, date = day.split("-")
        rows.append(
            f'"-95.2","40.1","WILLOW BEND","0123456","{day}","{year}","{month}","{date}","",'
            f'"{high}","{mark}","{low}","{lacks}","",""'
        )
    rows.append(
        '"-95.2","40.1","WILLOW BEND","0123456","2026-05-07","2026","05","07","","","","","","",""'
    )
    return _lines(names, *rows)


def ecad(element: str, values: tuple[float | None, ...], wrong: int | None) -> str:
    """A page of explanation, tenths of °C, quality 0 valid, 1 suspect, 9 missing."""
    rows = [
        f"   162,  1234,{_plain(day)},{_tenths(values[n]):>5},"
        f"    {9 if values[n] is None else int(n == wrong)}"
        for n, day in enumerate(DAYS)
    ]
    return _lines(
        "EUROPEAN CLIMATE ASSESSMENT & DATASET (ECA&D), file created on 01-06-2026",
        "THESE DATA CAN BE USED FREELY PROVIDED THAT THE SOURCE IS ACKNOWLEDGED",
        "",
        "FILE FORMAT (MISSING VALUE CODE = -9999):",
        "",
        "01-06 STAID: Station identifier",
        "This is the blended series of station NETHERLANDS, WILLOW BEND (STAID: 162)",
        "",
        f"STAID, SOUID,    DATE,   {element}, Q_{element}",
        *rows,
    )


def nasa_power() -> str:
    """A header between two marks, -999 missing."""
    rows = []
    for n, day in enumerate(DAYS):
        high = -999 if HIGH[n] is None else HIGH[n]
        low = -999 if n == WRONG else LOW[n]
        rows.append(f"2026,{int(day[5:7])},{int(day[8:])},{high},{low}")
    return _lines(
        "-BEGIN HEADER-",
        "NASA/POWER Source Native Resolution Daily Data",
        "Location: latitude  40.1   longitude -95.2",
        "The value for missing source data that cannot be computed: -999",
        "-END HEADER-",
        "YEAR,MO,DY,T2M_MAX,T2M_MIN",
        *rows,
    )


def meteo_france() -> str:
    """Semicolons, quality code 2 doubtful, empty where missing; a station that measures rain."""
    rows = ["12345002;RAIN ALONE;40.2;-95.1;300;20260501;1.2;1;;;;"]
    for n, day in enumerate(DAYS):
        high = "" if HIGH[n] is None else HIGH[n]
        rows.append(
            f"12345001;WILLOW BEND;40.1;-95.2;310;{_plain(day)};0.0;1;{LOW[n]};"
            f"{2 if n == WRONG else 1};{high};{'' if HIGH[n] is None else 9}"
        )
    return _lines("NUM_POSTE;NOM_USUEL;LAT;LON;ALTI;AAAAMMJJ;RR;QRR;TN;QTN;TX;QTX", *rows)


def australia(element: str, values: tuple[float | None, ...], wrong: int | None) -> str:
    """Year, month, day in columns; a value gathered over two days is none of that day."""
    word = "Maximum" if element == "TX" else "Minimum"
    rows = []
    for n, day in enumerate(DAYS):
        year, month, date = day.split("-")
        value = "" if values[n] is None else values[n]
        spread = 2 if n == wrong else 1
        rows.append(f"IDCJAC0010,012345,{year},{month},{date},{value},{spread},Y")
    return _lines(
        "Product code,Bureau of Meteorology station number,Year,Month,Day,"
        f"{word} temperature (Degree C),Days of accumulation of {word.lower()} temperature,Quality",
        *rows,
    )


SAMPLES = {
    "ghcn_wide": Sample(
        "GHCN-Daily, a row a day",
        "GHCN-Daily documentation, CSV of the archive; readme, table of quality flags",
        (ghcn_wide(),),
    ),
    "ghcn_long": Sample(
        "GHCN-Daily, a row a value", "GHCN-Daily, readme of the by-year files", (ghcn_long(),)
    ),
    "ghcn_fixed": Sample(
        "GHCN-Daily, a line a month", "GHCN-Daily readme, section III", (ghcn_fixed(),)
    ),
    "open_meteo_csv": Sample(
        "Open-Meteo, table",
        "Open-Meteo documentation, format=csv",
        (open_meteo_csv(),),
        flagged=False,
        last_is_temperature=True,
    ),
    "open_meteo_json": Sample(
        "Open-Meteo, JSON",
        "Open-Meteo documentation, JSON return object",
        (open_meteo_json(),),
        flagged=False,
    ),
    "dwd": Sample(
        "German climate stations, daily",
        "DWD, description of the data set of daily station observations (KL)",
        (dwd(),),
        flagged=False,
    ),
    "environment_canada": Sample(
        "Canadian climate stations, daily",
        "Environment Canada, legend of the daily data files",
        (environment_canada(),),
        flagged=False,
    ),
    "ecad": Sample(
        "European climate stations (ECA&D)",
        "ECA&D, explanation on top of each file",
        (ecad("TX", HIGH, None), ecad("TN", LOW, WRONG)),
    ),
    "nasa_power": Sample(
        "NASA POWER, daily",
        "POWER documentation, daily API, CSV",
        (nasa_power(),),
        flagged=False,
        last_is_temperature=True,
    ),
    "meteo_france": Sample(
        "French climate stations, daily",
        "Météo-France, description of the fields of the daily base data",
        (meteo_france(),),
    ),
    "australia": Sample(
        "Australian climate stations, daily",
        "Bureau of Meteorology, notes on the daily temperature data (partly from memory)",
        (australia("TX", HIGH, None), australia("TN", LOW, WRONG)),
        flagged=True,
    ),
}
