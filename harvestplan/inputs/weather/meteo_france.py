"""Météo-France's daily base data (CSV): all stations of a department, in °C.

Separated by semicolons; AAAAMMJJ the day; TN and TX the lowest and highest, each with its quality
code: 0 protected, 1 validated, 2 doubtful, 9 filtered once (the data set's description of fields).
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
from harvestplan.inputs.weather.weather_format import FLAGGED, Reading, WeatherFormat

if TYPE_CHECKING:
    import pandas as pd

_COLUMNS = ("NUM_POSTE", "AAAAMMJJ", "TN", "TX")
DOUBTFUL = "2"


def _recognises(head: str) -> bool:
    return heading(head, _COLUMNS, ";") is not None


def _read(source: TextTable, reading: Reading) -> pd.DataFrame:
    found = heading(source.head, _COLUMNS, ";")
    assert found is not None  # it was recognised
    above, names = found
    parts = []
    for piece in rows(source, names, above=above + 1, sep=";", reading=reading):
        # Most stations of a department measure rain alone.
        piece = piece[(piece["TN"] != "") | (piece["TX"] != "")]
        columns: dict[str, Any] = {"date": days(piece["AAAAMMJJ"], "%Y%m%d", reading)}
        for ours, theirs in (("tmin_c", "TN"), ("tmax_c", "TX")):
            values = numbers(piece[theirs], reading)
            if (quality := f"Q{theirs}") in names:
                values = kept(values, piece[quality] == DOUBTFUL, reading, FLAGGED)
            columns[ours] = values
        columns["station"] = piece["NUM_POSTE"]
        if "NOM_USUEL" in names:
            columns["name"] = piece["NOM_USUEL"]
        parts.append(table(columns))
    return together(parts)


FORMAT = WeatherFormat("French climate stations, daily", _recognises, _read)
