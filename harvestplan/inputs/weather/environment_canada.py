"""Environment Canada's daily climate data (CSV), a file a year, in °C.

Newer files begin with the headings, older ones with a legend of about twenty lines; either may be
saved in ISO-8859-1. Flags: M missing, E estimated; N and Y say only that a missing value lies above
or below 0 °C (legend of the files).
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
from harvestplan.inputs.weather.weather_format import ESTIMATED, FLAGGED, Reading, WeatherFormat

if TYPE_CHECKING:
    import pandas as pd

_COLUMNS = ("Date/Time", "Max Temp Flag", "Min Temp Flag")
NO_VALUE = ("M", "N", "Y")
_STATION = re.compile(r'"?(Station Name|Climate Identifier|Climate ID)"?,"?([^"\n]{1,80})')


def _recognises(head: str) -> bool:
    return _heading(head) is not None


def _heading(head: str) -> tuple[int, list[str], dict[str, str]] | None:
    """Number of lines above the headings, these, and the columns of the temperatures, whose degree
    sign is lost where the file's encoding was."""
    found = heading(head, _COLUMNS)
    if found is None:
        return None
    columns = {
        ours: name
        for ours, begin in (("tmin_c", "Min Temp ("), ("tmax_c", "Max Temp ("))
        for name in found[1]
        if name.startswith(begin)
    }
    return (*found, columns) if len(columns) == 2 else None


def _read(source: TextTable, reading: Reading) -> pd.DataFrame:
    found = _heading(source.head)
    assert found is not None  # it was recognised
    above, names, temperatures = found
    legend = dict(_STATION.findall("\n".join(source.head.split("\n")[:above])))
    parts = []
    for piece in rows(source, names, above=above + 1, sep=",", reading=reading):
        columns: dict[str, Any] = {"date": _dates(piece, reading)}
        for ours, theirs in (("station", "Climate ID"), ("name", "Station Name")):
            told = legend.get(theirs, legend.get("Climate Identifier", ""))
            columns[ours] = piece[theirs] if theirs in names else told
        for ours, name in temperatures.items():
            flags = piece[f"{name[:8]} Flag"]  # "Max Temp Flag" or "Min Temp Flag"
            columns[ours] = _sound(piece[name], flags, reading)
        parts.append(table(columns))
    return together(parts)


def _dates(piece: pd.DataFrame, reading: Reading) -> pd.Series[pd.Timestamp]:
    """From year, month and day: a spreadsheet may have written Date/Time its own way."""
    if not {"Year", "Month", "Day"} <= set(piece.columns):
        return days(piece["Date/Time"], "%Y-%m-%d", reading)
    written = piece["Year"] + "-" + piece["Month"] + "-" + piece["Day"]
    return days(written, "%Y-%m-%d", reading)


def _sound(texts: pd.Series[str], flags: pd.Series[str], reading: Reading) -> Any:
    values = kept(numbers(texts, reading), flags.isin(NO_VALUE), reading, FLAGGED)
    reading.odd[ESTIMATED] += int(((flags == "E") & values.notna()).sum())
    return values


FORMAT = WeatherFormat("Canadian climate stations, daily", _recognises, _read)
