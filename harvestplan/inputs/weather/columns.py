"""Read tables of text by columns, in pieces, and turn their texts into days and degrees."""

from __future__ import annotations

import csv
import warnings
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, TextIO

from harvestplan.inputs.weather.unpacked_file import TextTable, refuse
from harvestplan.inputs.weather.weather_format import COLUMNS, UNREAD, Reading

if TYPE_CHECKING:
    import pandas as pd

CHUNK = 100_000
MOST_ROWS = 6_000_000
"""Rows of one table: all stations of a French department since 1950 have 3 million."""
MOST_LINES_ABOVE = 80
"""Lines in which the heading of a table must come."""
_LONGEST_LINE = 100_000


def fields(line: str, sep: str = ",") -> list[str]:
    """The fields of one line, without quotes and the blanks around them."""
    found = next(csv.reader([line[:_LONGEST_LINE]], delimiter=sep, skipinitialspace=True), [])
    return [each.strip().strip('"').strip() for each in found]


def heading(head: str, wanted: Iterable[str], sep: str = ",") -> tuple[int, list[str]] | None:
    """Number of lines above the first line that has all `wanted` fields, and its fields."""
    names = set(wanted)
    for above, line in enumerate(head.split("\n")[:MOST_LINES_ABOVE]):
        if sep in line and names <= set(found := fields(line, sep)):
            return above, found
    return None


def rows(
    source: TextTable | TextIO, headings: Sequence[str], *, above: int, sep: str, reading: Reading
) -> Iterator[pd.DataFrame]:
    """The table's rows in pieces, as texts by heading; `above` lines come before the first row.

    Rows with fewer fields than there are headings (a last line cut short) are counted as unread.
    Raises FilesNeedMending for a table of more than six million rows.
    """
    if isinstance(source, TextTable):
        with source.text() as stream:
            yield from _pieces(stream, headings, above, sep=sep, reading=reading, name=source.name)
    else:
        yield from _pieces(source, headings, above, sep=sep, reading=reading, name="")


def _pieces(
    stream: TextIO,
    headings: Sequence[str],
    above: int,
    *,
    sep: str,
    reading: Reading,
    name: str,
) -> Iterator[pd.DataFrame]:
    import pandas as pd

    width, seen = len(headings), 0
    try:
        pieces = pd.read_csv(
            stream,
            sep=sep,
            header=None,
            names=list(range(width)),
            skiprows=above,
            dtype=str,
            keep_default_na=False,
            skipinitialspace=True,
            index_col=False,
            on_bad_lines="warn",
            chunksize=CHUNK,
        )
        while (piece := _next_piece(pieces, reading)) is not None:
            seen += len(piece)
            if seen > MOST_ROWS:
                raise refuse(name, f"There are more than {MOST_ROWS} rows.", "Take fewer years.")
            full = piece[piece[width - 1].notna()]
            reading.odd[UNREAD] += len(piece) - len(full)
            texts = full.apply(lambda column: column.str.strip())
            yield texts.set_axis(list(headings), axis=1)
    except pd.errors.EmptyDataError:
        return
    except pd.errors.ParserError:
        reading.odd[UNREAD] += 1


def _next_piece(pieces: Iterator[pd.DataFrame], reading: Reading) -> pd.DataFrame | None:
    """The next rows; lines with too many fields, which the parser leaves out, are counted."""
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always")
        piece = next(pieces, None)
    reading.odd[UNREAD] += sum(str(each.message).count("Skipping line") for each in told)
    return piece


def numbers(
    texts: pd.Series[str], reading: Reading, missing: Iterable[float] = ()
) -> pd.Series[float]:
    """Texts as numbers; NaN for what is empty, one of `missing`, or no number (counted)."""
    import numpy as np
    import pandas as pd

    values = pd.to_numeric(texts, errors="coerce").astype(float)
    values = values.where(np.isfinite(values))
    reading.odd[UNREAD] += int((values.isna() & (texts != "")).sum())
    return values.mask(values.isin(list(missing)))


def days(texts: pd.Series[str], form: str, reading: Reading) -> pd.Series[pd.Timestamp]:
    """Texts as days, written in `form`; NaT for what is none (counted)."""
    import pandas as pd

    found = pd.to_datetime(texts, format=form, errors="coerce")
    reading.odd[UNREAD] += int(found.isna().sum())
    return found


def kept(values: pd.Series[float], bad: pd.Series[bool], reading: Reading, why: str) -> Any:
    """The values without those that are `bad`; how many there were is counted under `why`."""
    reading.odd[why] += int((bad & values.notna()).sum())
    return values.mask(bad)


def table(parts: Mapping[str, Any]) -> pd.DataFrame:
    """A reader's rows from columns; `station` and `name` are "" where they are not given."""
    import pandas as pd

    return pd.DataFrame({"station": "", "name": "", "tmin_c": float("nan"),
                         "tmax_c": float("nan"), **parts})[list(COLUMNS)]  # fmt: skip


def together(parts: Iterable[pd.DataFrame]) -> pd.DataFrame:
    """All pieces of a reader in one frame, an empty one where there are none."""
    import pandas as pd

    found = [part for part in parts if len(part)]
    if found:
        return pd.concat(found, ignore_index=True)
    empty = pd.DataFrame({name: pd.Series(dtype=object) for name in COLUMNS})
    return empty.astype({"date": "datetime64[ns]", "tmin_c": float, "tmax_c": float})


def paired(long: pd.DataFrame) -> pd.DataFrame:
    """A reader's rows from one row a station, day and `element` ("tmin_c" or "tmax_c") with its
    `value`; the first of several counts."""
    import pandas as pd

    keys = ["station", "date"]
    wide = pd.DataFrame(index=pd.MultiIndex.from_frame(long[keys].drop_duplicates()))
    for element in ("tmin_c", "tmax_c"):
        part = long[long["element"] == element].drop_duplicates(keys)
        wide[element] = part.set_index(keys)["value"]
    whole = wide.reset_index()
    return table({name: whole[name] for name in (*keys, "tmin_c", "tmax_c")})
