"""What a weather format is, and what every format's reader hands over."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from harvestplan.inputs.weather.unpacked_file import TextTable

if TYPE_CHECKING:
    import pandas as pd

Unit = Literal["C", "F"]
COLUMNS = ("station", "name", "date", "tmin_c", "tmax_c")
"""What a reader hands over, one row a station and day: its id and name ("" where there is none),
the day (Timestamp, NaT where it cannot be read), °C (NaN where missing)."""

# What is counted of a file while it is read, as it stands in "3 values ..." and "1 value ...".
UNREAD = "that cannot be read"
FLAGGED = "that the file itself marks as doubtful"
ESTIMATED = "that the file marks as estimated (they are used)"
GATHERED = "gathered over several days"
ABSURD = "colder or hotter than any place on earth"
CROSSED = "of days on which the lowest is above the highest"
TWICE = "of days that are there twice (the first counts)"
FAR_OFF = "of years before 1850 or after 2100"


@dataclass
class Reading:
    """What is known beforehand of a file's unit, and what its reader noticed.

    `odd` counts values by what is odd of them (UNREAD, FLAGGED ...).
    """

    unit: Unit | None = None
    odd: Counter[str] = field(default_factory=Counter)


@dataclass(frozen=True)
class WeatherFormat:
    """One format: how it is recognised, and how it is read.

    Attributes
    ----------
    name
        As people read it.
    recognises
        Whether a text that begins so is of this format.
    read
        Gives a frame with COLUMNS; raises FilesNeedMending for a file that cannot be used.
    measured
        Whether a thermometer stood there; else the values are a model's, for a cell of a grid.
    """

    name: str
    recognises: Callable[[str], bool]
    read: Callable[[TextTable, Reading], pd.DataFrame]
    measured: bool = True
