"""GHCN-Daily as a line a month (.dly), in fixed places and tenths of °C.

Columns 1-11 station, 12-15 year, 16-17 month, 18-21 element, then for each of 31 days the value
(5 places, -9999 where missing) and its measurement, quality and source flag (GHCN-Daily readme,
section III).
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING

from harvestplan.inputs.weather.columns import days, kept, numbers, paired, together
from harvestplan.inputs.weather.unpacked_file import TextTable, lines_of
from harvestplan.inputs.weather.weather_format import FLAGGED, Reading, WeatherFormat

if TYPE_CHECKING:
    import pandas as pd

ELEMENTS = {"TMIN": "tmin_c", "TMAX": "tmax_c"}
BEFORE, A_DAY, DAYS = 21, 8, 31
_LINE = re.compile(r"[A-Z]{2}[A-Z0-9_.-]{9}\d{6}[A-Z0-9]{4}[ \d-]{5}")


def _recognises(head: str) -> bool:
    return bool(_LINE.match(head))


def _read(source: TextTable, reading: Reading) -> pd.DataFrame:
    import pandas as pd

    with source.text() as stream:
        lines = [line for line in lines_of(stream) if line[17:BEFORE] in ELEMENTS]
    if not lines:
        return together([])
    whole = "\n".join(_whole_values(line) for line in lines)
    # A month's first columns, and for every day its value and its quality flag.
    places = [(0, 11), (11, 15), (15, 17), (17, 21)]
    names = ["station", "year", "month", "element"]
    for day in range(DAYS):
        start = BEFORE + A_DAY * day
        places += [(start, start + 5), (start + 6, start + 7)]
        names += [f"value {day + 1}", f"flag {day + 1}"]
    months = pd.read_fwf(
        io.StringIO(whole), colspecs=places, names=names, dtype=str, keep_default_na=False
    )
    return together([paired(_long(months, reading))])


def _whole_values(line: str) -> str:
    """The line without a value that is cut short at its end, filled up with missing days."""
    complete = (len(line) - BEFORE + 3) // A_DAY  # an editor may have cut a last value's flags
    kept_part = line[: BEFORE + A_DAY * max(complete, 0)].ljust(BEFORE + A_DAY * max(complete, 0))
    return kept_part + "-9999   " * (DAYS - max(complete, 0))


def _long(months: pd.DataFrame, reading: Reading) -> pd.DataFrame:
    import pandas as pd

    parts = []
    for day in range(1, DAYS + 1):
        values = numbers(months[f"value {day}"], reading, missing=[-9999]) / 10
        sound = kept(values, months[f"flag {day}"] != "", reading, FLAGGED)
        part = months[["station", "year", "month"]].assign(
            element=months["element"].map(ELEMENTS), value=sound, day=f"{day:02d}"
        )
        parts.append(part.dropna())
    long = pd.concat(parts)
    long["date"] = days(long["year"] + long["month"] + long["day"], "%Y%m%d", reading)
    return long


FORMAT = WeatherFormat("GHCN-Daily, a line a month", _recognises, _read)
