"""ECA&D series (European climate stations): a text of maxima (TX) and one of minima (TN).

After a page of explanation the heading "STAID, SOUID,    DATE,   TX, Q_TX" (STAID may lack); dates
yyyymmdd, tenths of °C, -9999 missing; quality 0 valid, 1 suspect, 9 missing (explanation on top of
each file).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from harvestplan.inputs.weather.columns import (
    days,
    heading,
    kept,
    numbers,
    rows,
    table,
    together,
)
from harvestplan.inputs.weather.unpacked_file import TextTable
from harvestplan.inputs.weather.weather_format import FLAGGED, Reading, WeatherFormat

if TYPE_CHECKING:
    import pandas as pd

ELEMENTS = {"TN": "tmin_c", "TX": "tmax_c"}
_STATION = re.compile(r"station\s+(.{1,80}?)\s*\(STAID:?\s*(\d{1,8})\)", re.DOTALL)


def _element(head: str) -> tuple[str, int, list[str]] | None:
    """The series' element, the number of lines above its heading, and the heading's fields."""
    for element in ELEMENTS:
        found = heading(head, ["SOUID", "DATE", element, f"Q_{element}"])
        if found is not None:
            return element, *found
    return None


def _recognises(head: str) -> bool:
    return _element(head) is not None


def _read(source: TextTable, reading: Reading) -> pd.DataFrame:
    found = _element(source.head)
    assert found is not None  # it was recognised
    element, above, names = found
    told = _STATION.search(source.head)
    parts = []
    for piece in rows(source, names, above=above + 1, sep=",", reading=reading):
        values = numbers(piece[element], reading, missing=[-9999]) / 10
        columns: dict[str, Any] = {
            "date": days(piece["DATE"], "%Y%m%d", reading),
            ELEMENTS[element]: kept(values, piece[f"Q_{element}"] != "0", reading, FLAGGED),
            "station": piece["STAID"] if "STAID" in names else (told[2] if told else ""),
            "name": " ".join(told[1].split()) if told else "",
        }
        parts.append(table(columns))
    return together(parts)


FORMAT = WeatherFormat("European climate stations (ECA&D)", _recognises, _read)
