"""One daily record from all the weather files of a household: station by station, file by file."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from harvestplan.errors import FilesNeedMending, Flaw, printable
from harvestplan.inputs.merge import lies_in
from harvestplan.inputs.season import Weather
from harvestplan.inputs.weather.all_formats import format_of
from harvestplan.inputs.weather.plain_days import (
    COLDEST,
    FIRST_YEAR,
    HOTTEST,
    LAST_YEAR,
    LONGEST_FILL,
)
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
STATIONS_TOLD = 12
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
                told = "is no weather that is known; it is left out."
                left_out.append(f"{printable(path.name)} {told}")
            for form, source in known:
                reading = Reading(unit)
                read.append((form, source, reading, form.read(source, reading)))
    read.sort(key=lambda each: not each[0].measured)
    chosen = _chosen([(source.name, frame) for _, source, _, frame in read], station)
    parts = [
        _cleaned(form, source, reading, frame=frame)
        for (form, source, reading, _), frame in zip(read, chosen, strict=True)
        if len(frame)
    ]
    names = ", ".join(printable(path.name) for path in paths)
    return _joined([part for part in parts if part is not None], names, tuple(left_out))


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


def _chosen(tables: Sequence[tuple[str, pd.DataFrame]], wish: str | None) -> list[pd.DataFrame]:
    """Of each table the rows of the station wished for; tables without stations are kept whole."""
    stations: Counter[tuple[str, str]] = Counter()
    many = ""
    for name, frame in tables:
        stations.update(zip(frame["station"], frame["name"], strict=True))
        if frame["station"].nunique() > 1:
            many = many or name
    named = {key: days for key, days in stations.items() if key[0] != ""}
    if wish is None:
        if many:
            message, hint = "There are several stations in this file.", _choose(named)
            raise refuse(many, message, hint)
        return [frame for _, frame in tables]
    ids = {key for key in named if _is(wish, *key)}
    exact = {key for key in ids if wish.strip().lower() in (key[0].lower(), key[1].lower())}
    ids = exact or ids
    if named and (not ids or len({i for i, _ in ids}) > 1):
        many = many or next(name for name, frame in tables if (frame["station"] != "").any())
        what = "No station is" if not ids else "Several stations are"
        raise refuse(many, f'{what} called "{printable(wish)}".', _choose(named))
    return [_of_stations(frame, ids) for _, frame in tables]


def _is(wish: str, station: str, name: str) -> bool:
    """Whether a station is meant: by its id, zeros in front or not, or by part of its name."""
    said = wish.strip().lower()
    same_id = said.lstrip("0") == station.lower().lstrip("0") and station != ""
    return same_id or (bool(said) and said in name.lower())


def _of_stations(frame: pd.DataFrame, ids: set[tuple[str, str]]) -> pd.DataFrame:
    wanted = {station for station, _ in ids}
    return frame[frame["station"].isin(wanted) | (frame["station"] == "")]


def _choose(named: dict[tuple[str, str], int]) -> str:
    longest = sorted(named, key=lambda key: -named[key])[:STATIONS_TOLD]
    told = "; ".join(printable(f"{i} {n}".strip()) + f" ({named[i, n]} days)" for i, n in longest)
    more = f" and {len(named) - len(longest)} more" if len(named) > len(longest) else ""
    return f'Write station = "..." under [weather]. There are: {told}{more}.'


def _cleaned(
    form: WeatherFormat, source: TextTable, reading: Reading, *, frame: pd.DataFrame
) -> tuple[WeatherSource, pd.DataFrame] | None:
    """One station's days, in order and each once, without what cannot be; None where none is left.

    Raises FilesNeedMending where so much is absurd that the unit must be another.
    """
    odd, both = reading.odd, ["tmin_c", "tmax_c"]
    values = frame.dropna(subset="date").sort_values("date", kind="stable")
    near = values["date"].dt.year.between(FIRST_YEAR, LAST_YEAR)
    odd[FAR_OFF] += int((~near).sum())
    values = values[near & values[both].notna().any(axis=1)]
    again = values["date"].duplicated() & (values.groupby("date")[both].transform("count").gt(1)
                                           .any(axis=1))  # fmt: skip
    odd[TWICE] += int(again.sum())
    station = _label(values)
    days = values.groupby("date")[both].first()
    absurd = (days < COLDEST) | (days > HOTTEST)
    if int(absurd.sum().sum()) > MOST_ABSURD * max(int(days.notna().sum().sum()), 1):
        message = "Many of these temperatures are colder or hotter than any place on earth."
        raise refuse(source.name, message, "Its unit must be another; fetch it in °C.")
    odd[ABSURD] += int(absurd.sum().sum())
    days = days.mask(absurd)
    crossed = days["tmin_c"] > days["tmax_c"]
    odd[CROSSED] += int(crossed.sum())
    days = days[~crossed].dropna(how="all")
    if days.empty:
        return None
    told = tuple(
        f"{count} {'value' if count == 1 else 'values'} {what}"
        for what, count in odd.items()
        if count
    )
    first, last = days.index[0].date(), days.index[-1].date()
    return (
        WeatherSource(source.name, form.name, form.measured, station, first=first, last=last,
               days=len(days), oddities=told),
        days,
    )  # fmt: skip


def _label(values: pd.DataFrame) -> str:
    if values.empty:
        return ""
    station, name = values.iloc[0][["station", "name"]]
    return printable(f"{station} {name}".strip())


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
