"""GHCN-Daily as one row a value (CSV by station or by year), in tenths of °C.

Columns: station, date (yyyymmdd), element, value, measurement flag, quality flag, source flag, time
of observation (GHCN-Daily documentation, by-year files); with or without a line of headings.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from harvestplan.inputs.weather.columns import days, kept, numbers, paired, rows, together
from harvestplan.inputs.weather.unpacked_file import TextTable
from harvestplan.inputs.weather.weather_format import FLAGGED, Reading, WeatherFormat

if TYPE_CHECKING:
    import pandas as pd

NAMES = ("ID", "DATE", "ELEMENT", "DATA_VALUE", "M_FLAG", "Q_FLAG", "S_FLAG", "OBS_TIME")
ELEMENTS = {"TMIN": "tmin_c", "TMAX": "tmax_c"}
_ROW = re.compile(r'"?[A-Z]{2}[A-Z0-9_.-]{9}"?,"?\d{8}"?,"?[A-Z0-9]{4}"?,')
_HEADING = re.compile(r'"?(?:ID|STATION)"?,"?DATE"?,"?ELEMENT"?,')


FEWEST = 6
"""Columns, up to the quality flag."""


def _recognises(head: str) -> bool:
    told = bool(_HEADING.match(head) or _ROW.match(head))
    return told and _width(head) >= FEWEST


def _width(head: str) -> int:
    """Fields of the first row."""
    return head.split("\n", 2)[1 if _HEADING.match(head) else 0].count(",") + 1


def _read(source: TextTable, reading: Reading) -> pd.DataFrame:
    import pandas as pd

    above = 1 if _HEADING.match(source.head) else 0
    width = _width(source.head)
    parts = []
    for piece in rows(source, NAMES[:width], above=above, sep=",", reading=reading):
        wanted = piece[piece["ELEMENT"].isin(ELEMENTS)]
        values = numbers(wanted["DATA_VALUE"], reading, missing=[-9999]) / 10
        columns = {
            "station": wanted["ID"],
            "date": days(wanted["DATE"], "%Y%m%d", reading),
            "element": wanted["ELEMENT"].map(ELEMENTS),
            "value": kept(values, wanted["Q_FLAG"] != "", reading, FLAGGED),
        }
        parts.append(pd.DataFrame(columns).dropna())
    return together([paired(pd.concat(parts))] if parts else [])


FORMAT = WeatherFormat("GHCN-Daily, a row a value", _recognises, _read)
