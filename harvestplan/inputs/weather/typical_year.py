"""Files of a typical year (EPW, TMY), which are recognised to be refused, with the reason.

An EPW file begins with "LOCATION," and seven more lines of header; a TMY3 file has the station on
its first line and "Date (MM/DD/YYYY),Time (HH:MM)" on the second (their users' manuals).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from harvestplan.inputs.weather.unpacked_file import TextTable, refuse
from harvestplan.inputs.weather.weather_format import Reading, WeatherFormat

if TYPE_CHECKING:
    import pandas as pd

_EPW = re.compile(r"LOCATION,[^\n]*\n\s*DESIGN CONDITIONS,", re.IGNORECASE)
_TMY3 = re.compile(r"[^\n]*\n\"?Date \(MM/DD/YYYY\)\"?,\"?Time \(HH:MM\)", re.IGNORECASE)
_TMY = re.compile(r"typical[ _]meteorological[ _]year|\bTMY\d?\b|\nmonth,year\n", re.IGNORECASE)


def _recognises(head: str) -> bool:
    return bool(_EPW.match(head) or _TMY3.match(head) or _TMY.search(head[:2000]))


def _read(source: TextTable, reading: Reading) -> pd.DataFrame:
    message = (
        "This is a typical year, put together from months of different years: no year was so, and "
        "it does not tell how years differ or how late a frost may come."
    )
    raise refuse(source.name, message, "Fetch measured days of as many years as there are.")


FORMAT = WeatherFormat("a typical year", _recognises, _read)
