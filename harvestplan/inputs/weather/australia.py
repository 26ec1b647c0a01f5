"""The Australian Bureau of Meteorology's daily tables (CSV): one of maxima, one of minima, in °C.

"... station number,Year,Month,Day,Maximum temperature (Degree C),Days of accumulation of maximum
temperature,Quality"; a value over more than one day is none of that day. Quality Y checked, N not
checked yet, W wrong, S suspect, I inconsistent (the Bureau's notes, from memory but for Y and N).
"""

from __future__ import annotations

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
from harvestplan.inputs.weather.weather_format import FLAGGED, GATHERED, Reading, WeatherFormat

if TYPE_CHECKING:
    import pandas as pd

STATION = "Bureau of Meteorology station number"
ELEMENTS = {"Minimum temperature (Degree C)": "tmin_c", "Maximum temperature (Degree C)": "tmax_c"}
NOT_SOUND = ("W", "S", "I")


def _recognises(head: str) -> bool:
    return _heading(head) is not None


def _heading(head: str) -> tuple[int, list[str]] | None:
    tried = (heading(head, ["Year", "Month", "Day", element]) for element in ELEMENTS)
    return next((found for found in tried if found is not None), None)


def _read(source: TextTable, reading: Reading) -> pd.DataFrame:
    found = _heading(source.head)
    assert found is not None  # it was recognised
    above, names = found
    parts = []
    for piece in rows(source, names, above=above + 1, sep=",", reading=reading):
        written = piece["Year"] + "-" + piece["Month"] + "-" + piece["Day"]
        columns: dict[str, Any] = {"date": days(written, "%Y-%m-%d", reading)}
        if STATION in names:
            columns["station"] = piece[STATION]
        for theirs, ours in ELEMENTS.items():
            if theirs in names:
                columns[ours] = _sound(piece, theirs, reading)
        parts.append(table(columns))
    return together(parts)


def _sound(piece: pd.DataFrame, element: str, reading: Reading) -> Any:
    values = numbers(piece[element], reading)
    spread = next((n for n in piece.columns if n.startswith("Days of accumulation")), None)
    if spread is not None:
        over = ~piece[spread].isin(["", "0", "1"])
        values = kept(values, over, reading, GATHERED)
    if "Quality" in piece:
        values = kept(values, piece["Quality"].isin(NOT_SOUND), reading, FLAGGED)
    return values


FORMAT = WeatherFormat("Australian climate stations, daily", _recognises, _read)
