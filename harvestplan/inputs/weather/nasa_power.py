"""NASA POWER's daily table (CSV): a header between two marks, then a row a day, in °C.

"YEAR,MO,DY,T2M_MAX,T2M_MIN" or "YEAR,DOY,..."; -999 missing. The values are a model's mean over a
cell of about half a degree (POWER documentation, daily API).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from harvestplan.inputs.weather.columns import days, heading, numbers, rows, table, together
from harvestplan.inputs.weather.unpacked_file import TextTable
from harvestplan.inputs.weather.weather_format import Reading, WeatherFormat

if TYPE_CHECKING:
    import pandas as pd

_PLACE = re.compile(r"Location:\s*latitude\s+(-?[\d.]{1,9})\s+longitude\s+(-?[\d.]{1,9})", re.I)


def _recognises(head: str) -> bool:
    return _heading(head) is not None


def _heading(head: str) -> tuple[int, list[str]] | None:
    values = ("T2M_MAX", "T2M_MIN")
    return heading(head, ["YEAR", "DOY", *values]) or heading(head, ["YEAR", "MO", "DY", *values])


def _read(source: TextTable, reading: Reading) -> pd.DataFrame:
    found = _heading(source.head)
    assert found is not None  # it was recognised
    above, names = found
    place = _PLACE.search(source.head)
    return together(
        table(
            {
                "name": f"{place[1]} {place[2]}" if place else "",
                "date": _dates(piece, reading),
                "tmin_c": numbers(piece["T2M_MIN"], reading, missing=[-999]),
                "tmax_c": numbers(piece["T2M_MAX"], reading, missing=[-999]),
            }
        )
        for piece in rows(source, names, above=above + 1, sep=",", reading=reading)
    )


def _dates(piece: pd.DataFrame, reading: Reading) -> pd.Series[pd.Timestamp]:
    if "DOY" in piece.columns:
        return days(piece["YEAR"] + piece["DOY"].str.zfill(3), "%Y%j", reading)
    return days(piece["YEAR"] + "-" + piece["MO"] + "-" + piece["DY"], "%Y-%m-%d", reading)


FORMAT = WeatherFormat("NASA POWER, daily", _recognises, _read, measured=False)
