"""The German weather service's daily climate table (KL), as a zip archive or its text.

Separated by semicolons and padded; MESS_DATUM yyyymmdd; TXK and TNK the highest and lowest at 2 m
in °C; -999 missing. TGK is the lowest at the ground and is never used. Quality levels (QN_4) tell
how values were checked; wrong ones are not published (data set description, "quality information").
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from harvestplan.inputs.weather.columns import days, heading, numbers, rows, table, together
from harvestplan.inputs.weather.unpacked_file import TextTable
from harvestplan.inputs.weather.weather_format import Reading, WeatherFormat

if TYPE_CHECKING:
    import pandas as pd

_COLUMNS = ("STATIONS_ID", "MESS_DATUM", "TXK", "TNK")


def _recognises(head: str) -> bool:
    return heading(head, _COLUMNS, ";") is not None


def _read(source: TextTable, reading: Reading) -> pd.DataFrame:
    found = heading(source.head, _COLUMNS, ";")
    assert found is not None  # it was recognised
    above, names = found
    return together(
        table(
            {
                "station": piece["STATIONS_ID"],
                "date": days(piece["MESS_DATUM"].str[:8], "%Y%m%d", reading),
                "tmin_c": numbers(piece["TNK"], reading, missing=[-999]),
                "tmax_c": numbers(piece["TXK"], reading, missing=[-999]),
            }
        )
        for piece in rows(source, names, above=above + 1, sep=";", reading=reading)
    )


FORMAT = WeatherFormat("German climate stations, daily", _recognises, _read)
