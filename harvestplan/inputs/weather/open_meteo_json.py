"""Open-Meteo's daily answer (JSON): lists of days and temperatures, for one place or several.

`daily.time` holds ISO dates or, with timeformat=unixtime, seconds since 1970 in UTC to which
utc_offset_seconds is added; `daily_units` names the unit (Open-Meteo documentation, "JSON return
object").
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from harvestplan.inputs.weather.columns import days, numbers, table, together
from harvestplan.inputs.weather.open_meteo_csv import ASK_FOR_DAYS, ELEMENTS
from harvestplan.inputs.weather.unpacked_file import TextTable, refuse
from harvestplan.inputs.weather.weather_format import Reading, WeatherFormat

if TYPE_CHECKING:
    import pandas as pd


def _recognises(head: str) -> bool:
    return head.lstrip()[:1] in ("{", "[") and '"latitude"' in head and '"longitude"' in head


def _read(source: TextTable, reading: Reading) -> pd.DataFrame:
    try:
        answer = json.loads(source.whole().decode("utf-8-sig"))
    except (ValueError, RecursionError):
        message, hint = "This JSON is damaged or cut short.", "Fetch it once more."
        raise refuse(source.name, message, hint) from None
    places = answer if isinstance(answer, list) else [answer]
    parts = [
        _place(place, str(number) if len(places) > 1 else "", source.name, reading=reading)
        for number, place in enumerate(places)
        if isinstance(place, dict) and isinstance(place.get("daily"), dict)
    ]
    if not parts:
        raise refuse(source.name, "There are no days in this file.", ASK_FOR_DAYS)
    return together(parts)


def _place(place: dict[str, Any], number: str, file: str, *, reading: Reading) -> pd.DataFrame:
    """One place's days; `number` is its id where there are several."""
    daily, units = place["daily"], place.get("daily_units")
    time = _texts(daily.get("time"))
    columns: dict[str, Any] = {"date": days(_dates(time, place), "%Y-%m-%d", reading)}
    for theirs, ours in ELEMENTS.items():
        if theirs not in daily:
            continue
        texts = _texts(daily[theirs])
        if len(texts) != len(time):
            raise refuse(file, f'"{theirs}" has {len(texts)} values for {len(time)} days.')
        values = numbers(texts, reading)
        fahrenheit = isinstance(units, dict) and "F" in str(units.get(theirs))
        columns[ours] = (values - 32) * 5 / 9 if fahrenheit else values
    if number:
        columns["station"] = number
        columns["name"] = f"{place.get('latitude')} {place.get('longitude')}"
    return table(columns)


def _texts(values: Any) -> pd.Series[str]:
    """A list's values as texts, "" for null; an empty one for what is no list."""
    import pandas as pd

    found = values if isinstance(values, list) else []
    return pd.Series(["" if each is None else str(each)[:40] for each in found], dtype=object)


def _dates(time: pd.Series[str], place: dict[str, Any]) -> pd.Series[str]:
    import pandas as pd

    if not len(time) or not time.str.fullmatch(r"-?\d{1,12}").all():
        return time.str[:10]
    offset = place.get("utc_offset_seconds")
    seconds = pd.to_numeric(time) + (offset if isinstance(offset, int) else 0)
    return pd.to_datetime(seconds, unit="s", errors="coerce").dt.strftime("%Y-%m-%d").fillna("")


FORMAT = WeatherFormat("Open-Meteo, JSON", _recognises, _read, measured=False)
