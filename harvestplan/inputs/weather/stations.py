"""Choose one station where weather files name many: by its id or part of its name."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING

from harvestplan.errors import printable
from harvestplan.inputs.weather.unpacked_file import refuse

if TYPE_CHECKING:
    import pandas as pd

STATIONS_TOLD = 12


def of_station(tables: Sequence[tuple[str, pd.DataFrame]], wish: str | None) -> list[pd.DataFrame]:
    """Of each table (its name, and rows with COLUMNS) the rows of the station wished for; tables
    without stations are kept whole.

    Raises FilesNeedMending, with the stations that there are, where none is chosen of several, or
    none or several are called so.
    """
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
