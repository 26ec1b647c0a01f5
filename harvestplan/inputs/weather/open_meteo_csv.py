"""Open-Meteo's daily table (CSV): lines on the place, an empty line, then the days.

Heading "time,temperature_2m_max (°C),temperature_2m_min (°C)"; with several places a column
location_id comes first (Open-Meteo documentation, "format"). The same for past and coming days.
"""

from __future__ import annotations

import re
from itertools import takewhile
from typing import TYPE_CHECKING, Any, TextIO

from harvestplan.inputs.weather.columns import days, fields, numbers, pieces, table, together
from harvestplan.inputs.weather.unpacked_file import TextTable, lines_of, refuse
from harvestplan.inputs.weather.weather_format import Reading, WeatherFormat

if TYPE_CHECKING:
    import pandas as pd

ELEMENTS = {"temperature_2m_min": "tmin_c", "temperature_2m_max": "tmax_c"}
ASK_FOR_DAYS = "Ask for the daily lowest and highest temperature at 2 m."
_PLACE = re.compile(r"(?:location_id,)?latitude,longitude,elevation,utc_offset_seconds")
_DAILY = re.compile(r"(?:location_id,)?time,.*\btemperature_2m_(?:max|min)\b")


def _recognises(head: str) -> bool:
    return bool(_PLACE.match(head) or _DAILY.match(head))


def _read(source: TextTable, reading: Reading) -> pd.DataFrame:
    with source.text() as stream:
        places = _places(stream) if _PLACE.match(source.head) else {}
        line = next((line for line in lines_of(stream) if _DAILY.match(line)), "")
        if _DAILY.match(source.head):  # without the lines on the place
            line = source.head.split("\n", 1)[0]
        if not line:
            raise refuse(source.name, "There are no days in this file.", ASK_FOR_DAYS)
        block = list(takewhile(str.strip, lines_of(stream)))
    names = fields(line)
    parts = []
    for piece in pieces(iter(block), names, ",", reading=reading, name=source.name):
        columns: dict[str, Any] = {"date": days(piece["time"].str[:10], "%Y-%m-%d", reading)}
        if "location_id" in names:
            columns["station"] = piece["location_id"]
            columns["name"] = piece["location_id"].map(places).fillna("")
        for heading in names:
            ours = ELEMENTS.get(heading.split(" ")[0])
            if ours is not None:
                values = numbers(piece[heading].replace({"NaN": "", "nan": ""}), reading)
                columns[ours] = (values - 32) * 5 / 9 if "°F" in heading else values
        parts.append(table(columns))
    return together(parts)


def _places(stream: TextIO) -> dict[str, str]:
    """Latitude and longitude of each place by its location_id ("" for the only one)."""
    names = fields(next(lines_of(stream), ""))
    found = {}
    for line in takewhile(str.strip, lines_of(stream)):
        place = dict(zip(names, fields(line), strict=False))
        at = f"{place.get('latitude', '')} {place.get('longitude', '')}"
        found[place.get("location_id", "")] = at
    return found


FORMAT = WeatherFormat("Open-Meteo, table", _recognises, _read, measured=False)
