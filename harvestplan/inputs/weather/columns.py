"""Read tables of text by columns, in pieces, and turn their texts into days and degrees."""

from __future__ import annotations

import csv
import io
import re
import warnings
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import TYPE_CHECKING, Any

from harvestplan.inputs.weather.unpacked_file import TextTable, lines_of, refuse
from harvestplan.inputs.weather.weather_format import COLUMNS, UNREAD, Reading

if TYPE_CHECKING:
    import pandas as pd

CHUNK = 100_000
MOST_ROWS = 6_000_000
"""Rows of one table: all stations of a French department since 1950 have 3 million."""
MOST_LINES_ABOVE = 80
"""Lines in which the heading of a table must come."""
_LONGEST_LINE = 100_000
# Blanks before a field and behind it, inside its quotes or outside; stripping each field by itself
# takes several times as long.
_BEFORE = re.compile(r"[ \t](?<=[\",;\n][ \t])[ \t]*")
_BEHIND = re.compile(r"[ \t]+(?=[\",;\n]|\Z)")


def fields(line: str, sep: str = ",") -> list[str]:
    """The fields of one line, without quotes and the blanks around them."""
    found = next(csv.reader([line[:_LONGEST_LINE]], delimiter=sep, skipinitialspace=True), [])
    return [each.strip().strip('"').strip() for each in found]


def heading(head: str, wanted: Iterable[str], sep: str = ",") -> tuple[int, list[str]] | None:
    """Number of lines above the first line that has all `wanted` fields, and its fields; of two of
    the same name the second is numbered."""
    names = set(wanted)
    for above, line in enumerate(head.split("\n")[:MOST_LINES_ABOVE]):
        if sep in line and names <= set(found := fields(line, sep)):
            again = (found[:n].count(each) for n, each in enumerate(found))
            return above, [
                f"{each} {n + 1}" if n else each for each, n in zip(found, again, strict=True)
            ]
    return None


def rows(
    source: TextTable, headings: Sequence[str], *, above: int, sep: str, reading: Reading
) -> Iterator[pd.DataFrame]:
    """The table's rows in pieces, as texts by heading; `above` lines come before the first row.

    Lines with fewer fields than there are headings (a last one cut short) are counted as unread.
    Raises FilesNeedMending for a table of more than six million rows.
    """
    with source.text() as stream:
        body = islice(lines_of(stream), above, None)
        yield from pieces(body, headings, sep, reading=reading, name=source.name)


def pieces(
    body: Iterator[str], headings: Sequence[str], sep: str, *, reading: Reading, name: str
) -> Iterator[pd.DataFrame]:
    """As `rows`, from the lines below the heading."""
    seen = 0
    while piece := list(islice(body, CHUNK)):
        seen += len(piece)
        if seen > MOST_ROWS:
            raise refuse(name, f"There are more than {MOST_ROWS} rows.", "Take fewer years.")
        told = [line for line in piece if line.strip()]
        whole = [line for line in told if _is_whole(line, sep, len(headings))]
        reading.odd[UNREAD] += len(told) - len(whole)
        if whole:
            yield _frame("\n".join(whole), headings, sep, reading=reading)


def _is_whole(line: str, sep: str, width: int) -> bool:
    """Whether a line has all its fields and closes its quotes."""
    return line.count(sep) >= width - 1 and line.count('"') % 2 == 0


def _frame(text: str, headings: Sequence[str], sep: str, *, reading: Reading) -> pd.DataFrame:
    import pandas as pd

    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always", pd.errors.ParserWarning)
        frame = pd.read_csv(
            io.StringIO(_BEHIND.sub("", _BEFORE.sub("", text.lstrip(" \t")))),
            sep=sep,
            header=None,
            names=list(range(len(headings))),
            dtype=str,
            keep_default_na=False,
            index_col=False,
            on_bad_lines="warn",  # lines with too many fields are left out and told
        )
    reading.odd[UNREAD] += sum(str(each.message).count("Skipping line") for each in told)
    return frame.set_axis(list(headings), axis=1)


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
