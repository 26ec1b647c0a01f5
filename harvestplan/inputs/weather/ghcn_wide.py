"""GHCN-Daily as one row a day (CSV), as the archive and its ordering service hand it out.

The archive's files have tenths of °C and attributes "measurement, quality, source" (GHCN-Daily
documentation, section on the CSV form); ordered exports have whole °F, or °C with a decimal, and
no word of the unit, which is told from the figures where that is certain and else asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from harvestplan.inputs.weather.columns import (
    days,
    fields,
    heading,
    kept,
    numbers,
    rows,
    table,
    together,
)
from harvestplan.inputs.weather.unpacked_file import TextTable, refuse
from harvestplan.inputs.weather.weather_format import FLAGGED, Reading, WeatherFormat

if TYPE_CHECKING:
    import pandas as pd

HIGHEST_F = 140
"""°F; no thermometer showed more, so that a larger figure is in tenths of °C."""
HIGHEST_C = 60
YEAR = 300
"""Days that surely hold a summer day of 14 °C, and so a figure above 140 where it is in tenths."""


def _recognises(head: str) -> bool:
    first = fields(head.split("\n", 1)[0])
    return "DATE" in first and ("TMAX" in first or "TMIN" in first) and "ELEMENT" not in first


def _read(source: TextTable, reading: Reading) -> pd.DataFrame:
    found = heading(source.head, ["DATE"])
    assert found is not None  # it was recognised by its first line
    above, names = found
    parts, decimal = [], False
    for piece in rows(source, names, above=above + 1, sep=",", reading=reading):
        columns: dict[str, Any] = {"date": days(piece["DATE"], "%Y-%m-%d", reading)}
        for ours, theirs in (("station", "STATION"), ("name", "NAME")):
            if theirs in names:
                columns[ours] = piece[theirs]
        for ours, theirs in (("tmin_c", "TMIN"), ("tmax_c", "TMAX")):
            if theirs in names:
                decimal |= bool(piece[theirs].str.contains(".", regex=False).any())
                columns[ours] = _sound(piece, theirs, reading)
        parts.append(table(columns))
    whole = together(parts)
    return _in_celsius(whole, source.name, reading, decimal=decimal)


def _sound(piece: pd.DataFrame, element: str, reading: Reading) -> Any:
    """The values as written, without those with a quality flag (the second attribute)."""
    values = numbers(piece[element], reading, missing=[-9999, 9999])
    attributes = f"{element}_ATTRIBUTES"
    if attributes not in piece:
        return values
    flags = piece[attributes].str.split(",").str[1].fillna("").str.strip()
    return kept(values, flags != "", reading, FLAGGED)


def _in_celsius(whole: pd.DataFrame, name: str, reading: Reading, *, decimal: bool) -> pd.DataFrame:
    both = ["tmin_c", "tmax_c"]
    if whole[both].isna().all(axis=None):
        return whole
    highest = float(whole[both].abs().max().max())
    if highest > HIGHEST_F:
        whole[both] = whole[both] / 10
        return whole
    unit = reading.unit or ("C" if decimal else None)
    if unit is None and len(whole) >= YEAR:
        unit = "F" if highest > HIGHEST_C else "C"
    if unit is None:
        message = f"These {len(whole)} days do not tell whether they are in °C or °F."
        hint = 'Write unit = "C" or unit = "F" under [weather], or order a whole year.'
        raise refuse(name, message, hint)
    if unit == "F":
        whole[both] = (whole[both] - 32) * 5 / 9
    return whole


FORMAT = WeatherFormat("GHCN-Daily, a row a day", _recognises, _read)
