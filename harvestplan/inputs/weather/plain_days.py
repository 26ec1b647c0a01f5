"""The plain form, as people write it: date, lowest and highest of each day, every slip by its line.

The first line says the unit: date,tmin_c,tmax_c or date,tmin_f,tmax_f.
"""

from __future__ import annotations

import csv
import io
import re
import warnings
from typing import TYPE_CHECKING

from harvestplan.bounded import UndecodableError, decode
from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.weather.columns import table
from harvestplan.inputs.weather.unpacked_file import TextTable
from harvestplan.inputs.weather.weather_format import Reading, WeatherFormat

if TYPE_CHECKING:
    import pandas as pd

HEADERS = (("date", "tmin_c", "tmax_c"), ("date", "tmin_f", "tmax_f"))
LONGEST_FILL = 5
"""Missing days in a row that are filled in; a longer gap within one year is an error."""
COLDEST, HOTTEST = -90.0, 60.0
"""°C; just beyond the lowest and highest air temperatures measured on earth, -89 and 57 (from
memory)."""
FIRST_YEAR, LAST_YEAR = 1850, 2100
_MOST_FLAWS = 20
_HEADER_HINT = "The first line must be date,tmin_c,tmax_c or date,tmin_f,tmax_f."


def _recognises(head: str) -> bool:
    return _columns(head.split("\n", 1)[0]) in HEADERS


def _columns(line: str) -> tuple[str, ...]:
    return tuple(part.strip().strip('"').lower() for part in line.split(","))


def _read(source: TextTable, reading: Reading) -> pd.DataFrame:
    """Days with both temperatures, oldest first.

    Raises FilesNeedMending, naming the line, for anything that is no plausible daily record, and
    for more than five days missing in a row within a year.
    """
    import pandas as pd

    try:
        text = decode(source.whole(), source.name)
    except UndecodableError as error:
        raise FilesNeedMending([error.flaw]) from None
    rows = _parse(text, source.name)
    fahrenheit = _columns(text.split("\n", 1)[0])[1].endswith("_f")
    days = pd.to_datetime(rows["date"], format="%Y-%m-%d", errors="coerce")
    days = days.where(days.dt.year.between(FIRST_YEAR, LAST_YEAR))
    written = rows[["tmin", "tmax"]]
    figures = written.apply(pd.to_numeric, errors="coerce").astype(float)
    celsius = (figures - 32) * 5 / 9 if fahrenheit else figures
    flaws = _Lines(source.name, text, rows)
    flaws.add(rows["more"] != "", "There are more than three columns here.", _HEADER_HINT)
    flaws.add(days.isna(), "This is no date.", "Write year-month-day: 2027-05-12.")
    unread = (figures.isna() & (written != "")).any(axis=1)
    flaws.add(unread, "This is no temperature.", "Write 12.5 with a point, or leave it empty.")
    _check_figures(flaws, celsius, fahrenheit)
    _check_order(flaws, days)
    flaws.raise_any()
    found = celsius.set_axis(["tmin_c", "tmax_c"], axis=1).assign(date=days).dropna()
    _check_gaps(flaws, found["date"])
    return table({name: found[name] for name in ("date", "tmin_c", "tmax_c")})


def _parse(text: str, name: str) -> pd.DataFrame:
    """Text columns date, tmin, tmax, more; the index is the line number in the file."""
    import pandas as pd

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", pd.errors.ParserWarning)  # told as a flaw below
            rows = pd.read_csv(
                io.StringIO(text),
                names=["date", "tmin", "tmax", "more"],
                skiprows=1,
                dtype=str,
                keep_default_na=False,
                skip_blank_lines=False,
                quoting=csv.QUOTE_NONE,
                index_col=False,
            )
    except pd.errors.EmptyDataError:
        rows = pd.DataFrame(columns=["date", "tmin", "tmax", "more"], dtype=str)
    except pd.errors.ParserError as error:
        line = int(found[1]) if (found := re.search(r"line (\d+)", str(error))) else None
        shown = text.split("\n")[line - 1] if line else ""
        message = "There are more than three columns here."
        raise FilesNeedMending(
            [Flaw(name, line, shown, message=message, hint=_HEADER_HINT)]
        ) from None
    rows.index = pd.RangeIndex(2, len(rows) + 2)
    rows = rows.fillna("")
    for column in rows.columns:
        rows[column] = rows[column].str.strip().str.strip('"')
    rows = rows.loc[(rows != "").any(axis=1)]
    if rows.empty:
        message = "There are no days in this file."
        raise FilesNeedMending(
            [Flaw(name, None, "", message=message, hint="Add a line for each day.")]
        )
    return rows


class _Lines:
    """Collects flaws by line number."""

    def __init__(self, name: str, text: str, rows: pd.DataFrame) -> None:
        self.name, self.lines, self.rows = name, text.split("\n"), rows
        self.flaws: list[Flaw] = []

    def add(self, wrong: pd.Series[bool], message: str, hint: str) -> None:
        """A flaw for every row where `wrong` holds and none is noted yet."""
        noted = {flaw.line for flaw in self.flaws}
        for line in wrong.index[wrong]:
            if line not in noted:
                self.flaws.append(
                    Flaw(self.name, int(line), self.lines[line - 1], message=message, hint=hint)
                )

    def raise_any(self) -> None:
        if self.flaws:
            self.flaws.sort(key=lambda flaw: flaw.line or 0)
            raise FilesNeedMending(self.flaws[:_MOST_FLAWS])


def _check_figures(flaws: _Lines, celsius: pd.DataFrame, fahrenheit: bool) -> None:
    absurd = ((celsius < COLDEST) | (celsius > HOTTEST)).any(axis=1)
    hint = "Check the number."
    if not fahrenheit:
        hint = "If these are Fahrenheit, call the columns tmin_f and tmax_f."
    flaws.add(absurd, "No place is that cold or hot.", hint)
    crossed = celsius["tmin"] > celsius["tmax"]
    flaws.add(crossed, "The lowest is above the highest.", "Check whether the two are swapped.")


def _check_order(flaws: _Lines, days: pd.Series[pd.Timestamp]) -> None:
    known = days.dropna()
    flaws.add(known.duplicated(), "This day is there twice.", "Keep one line for each day.")
    late = known < known.cummax()
    flaws.add(late, "This day stands after a later one.", "Put the days in order, oldest first.")


def _check_gaps(flaws: _Lines, days: pd.Series[pd.Timestamp]) -> None:
    """Refuse long gaps inside one year; those that span New Year are between two seasons."""
    if days.empty:
        message = "There is no day with both temperatures in this file."
        raise FilesNeedMending(
            [Flaw(flaws.name, None, "", message=message, hint="Add a line for each day.")]
        )
    missing = days.diff().dt.days.fillna(1) - 1
    before = days.shift()
    for line in days.index[(missing > LONGEST_FILL) & (before.dt.year == days.dt.year)]:
        message = (
            f"{missing[line]:.0f} days are missing between {before[line]:%Y-%m-%d} and this one."
        )
        hint = f"Up to {LONGEST_FILL} missing days are filled in; add the others."
        flaws.flaws.append(
            Flaw(flaws.name, int(line), flaws.lines[line - 1], message=message, hint=hint)
        )
    flaws.raise_any()


FORMAT = WeatherFormat("the plain form", _recognises, _read)
