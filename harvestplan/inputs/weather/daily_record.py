"""One daily record from all the weather files of a household: station by station, file by file."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from harvestplan.disk import lies_in
from harvestplan.errors import FilesNeedMending, Flaw, printable
from harvestplan.inputs.season import Weather
from harvestplan.inputs.weather.all_formats import format_of
from harvestplan.inputs.weather.plain_days import (
    COLDEST,
    FIRST_YEAR,
    HOTTEST,
    LAST_YEAR,
    LONGEST_FILL,
)
from harvestplan.inputs.weather.stations import of_station
from harvestplan.inputs.weather.unpacked_file import TextTable, refuse, tables_in
from harvestplan.inputs.weather.weather_format import (
    ABSURD,
    CROSSED,
    FAR_OFF,
    TWICE,
    Reading,
    Unit,
    WeatherFormat,
)

if TYPE_CHECKING:
    import pandas as pd

MOST_FILES = 400
"""Files of one folder: a station's file a year since 1850, and as many again."""
MOST_ABSURD = 0.02
"""Share of absurd values from which on the whole file is taken to be in another unit."""
PLAIN_HINT = (
    "Write date,tmin_c,tmax_c (or date,tmin_f,tmax_f) on the first line, or take a file as a "
    "weather service hands it out: harvestplan weather names the kinds."
)


@dataclass(frozen=True)
class WeatherSource:
    """One text that was read: its format, its station ("" where it names none), its days with a
    temperature, and what was odd of its values, as sentences."""

    name: str
    format: str
    measured: bool
    station: str
    first: dt.date
    last: dt.date
    days: int
    oddities: tuple[str, ...]


@dataclass(frozen=True)
class WeatherRecord:
    """All files together.

    Attributes
    ----------
    daily
        Columns tmin_c and tmax_c (°C) under a DatetimeIndex, oldest day first, days with both.
    sources
        What was read, those that count first first.
    left_out
        Sentences on files of a folder that are no weather.
    filled
        Days that were missing, up to five in a row, and are filled in by straight lines.
    """

    daily: pd.DataFrame
    sources: tuple[WeatherSource, ...]
    left_out: tuple[str, ...] = ()
    filled: tuple[dt.date, ...] = ()


def season_weather(folder: Path, weather: Weather) -> WeatherRecord | None:
    """The record of the files that [weather] names in a season folder, None where it names none.

    Raises FilesNeedMending as `read_weather` does, and for a link that leads out of the folder.
    """
    if not weather.daily:
        return None
    paths = [folder / name for name in weather.daily]
    for path in [inside for each in paths for inside in _files_of(each)]:
        if not lies_in(folder, path):
            hint = "Put the file itself into the season folder."
            raise refuse(path.name, "This file leads out of the season folder.", hint)
    return read_weather(paths, station=weather.station, unit=weather.unit)


def _files_of(path: Path) -> list[Path]:
    """The file itself, or all in a folder, by name."""
    if not path.is_dir():
        return [path]
    inside = sorted(p for p in path.iterdir() if p.is_file() and not p.name.startswith("."))
    if len(inside) > MOST_FILES:
        raise refuse(path.name, f"There are {len(inside)} files in this folder.", "Keep fewer.")
    return inside


def unknown_flaw(path: Path) -> Flaw | None:
    """What keeps a file from being read as weather, as far as its beginning tells; reads no
    further."""
    try:
        tables = tables_in(path)
    except FilesNeedMending as error:
        return error.flaws[0]
    if any(format_of(table.head) for table in tables):
        return None
    return _unknown(path, tables)


def _unknown(path: Path, tables: Sequence[TextTable]) -> Flaw:
    first = tables[0].head.split("\n", 1)[0] if tables else ""
    message = "These columns are not known."
    return Flaw(path.name, 1, first.strip()[:200], message=message, hint=PLAIN_HINT)


def read_weather(
    paths: Sequence[Path],
    *,
    station: str | None = None,
    unit: Unit | None = None,
) -> WeatherRecord:
    """Read the files as one record; of a folder all files in it, by name.

    Where files name stations, those that `station` names (id, or part of the name) are taken. A
    day's temperature is that of the first file that has it: measured ones before those of a model,
    else in the order of `paths`. What is no weather in a folder is left out and told.

    Raises FilesNeedMending, naming the line where there is one, for a file that cannot be used, for
    several stations of which none is chosen, and where there is no day with both temperatures.
    """
    read: list[tuple[WeatherFormat, TextTable, Reading, pd.DataFrame]] = []
    left_out = []
    for given in paths:
        for path in _files_of(given):
            known = _known(path, in_folder=path is not given)
            if not known:
                why = "is no weather that is known; it is left out."
                left_out.append(f"{printable(path.name)} {why}")
            for form, source in known:
                reading = Reading(unit)
                read.append((form, source, reading, form.read(source, reading)))
    read.sort(key=lambda each: not each[0].measured)
    chosen = of_station([(source.name, frame) for _, source, _, frame in read], station)
    parts = []
    for (form, source, reading, whole), frame in zip(read, chosen, strict=True):
        where = " (in the whole file)" if len(frame) < len(whole) else ""
        told = _in_words(reading, where)
        own = Reading()
        days = _clean_days(frame, own, source.name)
        if len(days):
            oddities = (*told, *_in_words(own))
            parts.append((_described(form, source, frame, days=days, oddities=oddities), days))
    return _joined(parts, ", ".join(printable(path.name) for path in paths), tuple(left_out))


def _known(path: Path, *, in_folder: bool) -> list[tuple[WeatherFormat, TextTable]]:
    """The texts of a file that are of a known format; raises FilesNeedMending where none is, but
    for what lies in a folder beside the weather."""
    try:
        tables = tables_in(path)
    except FilesNeedMending:
        if not in_folder:
            raise
        return []
    known = [(form, each) for each in tables if (form := format_of(each.head)) is not None]
    if not known and not in_folder:
        raise FilesNeedMending([_unknown(path, tables)])
    return known


def _in_words(reading: Reading, where: str = "") -> tuple[str, ...]:
    """What was odd, as sentences without full stop."""
    return tuple(
        f"{count} {'value' if count == 1 else 'values'} {what}{where}"
        for what, count in reading.odd.items()
        if count
    )


def _clean_days(frame: pd.DataFrame, reading: Reading, name: str) -> pd.DataFrame:
    """Columns tmin_c and tmax_c by day, in order and each day once, without what cannot be.

    Raises FilesNeedMending where so much is absurd that the unit must be another.
    """
    odd, both = reading.odd, ["tmin_c", "tmax_c"]
    dated = frame.dropna(subset="date").sort_values("date", kind="stable")
    near = dated["date"].dt.year.between(FIRST_YEAR, LAST_YEAR)
    odd[FAR_OFF] += int((~near).sum())
    by_day = dated[near].groupby("date")[both]
    counts = by_day.count()
    odd[TWICE] += int((counts - 1).clip(lower=0).to_numpy().sum())
    days = by_day.first()
    absurd = (days < COLDEST) | (days > HOTTEST)
    wrong = int(absurd.to_numpy().sum())
    if wrong > MOST_ABSURD * int(days.count().sum()):
        message = "Many of these temperatures are colder or hotter than any place on earth."
        raise refuse(name, message, "Its unit must be another; fetch it in °C.")
    odd[ABSURD] += wrong
    days = days.mask(absurd)
    crossed = days["tmin_c"] > days["tmax_c"]
    odd[CROSSED] += 2 * int(crossed.sum())
    sound: pd.DataFrame = days[~crossed].dropna(how="all")
    return sound


def _described(
    form: WeatherFormat,
    source: TextTable,
    frame: pd.DataFrame,
    *,
    days: pd.DataFrame,
    oddities: tuple[str, ...],
) -> WeatherSource:
    station, name = frame.iloc[0][["station", "name"]]
    return WeatherSource(
        source.name,
        form.name,
        form.measured,
        printable(f"{station} {name}".strip()),
        first=days.index[0].date(),
        last=days.index[-1].date(),
        days=len(days),
        oddities=oddities,
    )


def _joined(
    parts: Sequence[tuple[WeatherSource, pd.DataFrame]], names: str, left_out: tuple[str, ...]
) -> WeatherRecord:
    """All parts in one record: a value of an earlier part counts before a later one's."""
    import pandas as pd

    whole: pd.DataFrame | None = None
    for _, days in parts:
        whole = days if whole is None else whole.combine_first(days)
    if whole is not None:
        whole = whole[~(whole["tmin_c"] > whole["tmax_c"])].dropna()
    if whole is None or whole.empty:
        message = "There is no day with both temperatures."
        hint = "Some services hand out minima and maxima in two files; name both."
        raise refuse(names, message, hint)
    daily = whole[["tmin_c", "tmax_c"]].set_axis(pd.DatetimeIndex(whole.index, name="date"))
    daily, filled = _filled(daily)
    sources = tuple(source for source, _ in parts)
    return WeatherRecord(daily, sources, left_out, filled=filled)


def _filled(seen: pd.DataFrame) -> tuple[pd.DataFrame, tuple[dt.date, ...]]:
    """Short gaps filled in by straight lines, longer ones left open; and the days filled in."""
    import pandas as pd

    whole = seen.asfreq("D")
    missing = whole.index[whole["tmin_c"].isna()]
    left_out = pd.DatetimeIndex([])
    for before, after in gaps(seen):
        left_out = left_out.union(pd.date_range(before, after, inclusive="neither"))
    daily = whole.interpolate("time").drop(left_out)
    return daily, tuple(day.date() for day in missing.difference(left_out))


def gaps(daily: pd.DataFrame) -> list[tuple[dt.date, dt.date]]:
    """The days before and after each gap of more than five days."""
    index = daily.index.to_series()
    steps = index.diff().dt.days
    after = index[steps > LONGEST_FILL + 1]
    return [
        (before.date(), day.date())
        for before, day in zip(index.shift()[after.index], after, strict=True)
    ]
