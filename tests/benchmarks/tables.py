"""Tables of what was measured, as files."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from pathlib import Path


def write_rows(path: Path, rows: Iterable[Mapping[str, object]]) -> None:
    """Writes the rows, of which there is at least one, under the names of the first."""
    found = list(rows)
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(found[0]))
        writer.writeheader()
        writer.writerows(found)
