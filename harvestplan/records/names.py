"""The names a diary line may use, read from the files without the figures, so that it is quick."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from harvestplan.bounded import read_bounded
from harvestplan.disk import lies_in
from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.counted_food import CountedFood, counted_from
from harvestplan.inputs.crop_folder import SOURCES, crop_folder
from harvestplan.inputs.ids import fold, planting_ids
from harvestplan.inputs.spoken.said_foods import Foods, name_crop
from harvestplan.inputs.toml_file import LARGEST, LONGEST, read_toml
from harvestplan.unseen import unseen

if TYPE_CHECKING:
    from harvestplan.inputs.season import Measures

_NAMING = re.compile(r"(?:name|also|form|usual|counted)[ \t]*=.*|\[\[?[^\n]*")
"""The lines of a crop file that name the crop, its products and its pieces, and the headings around
them."""


@dataclass(frozen=True)
class Names:
    """What crops, products and plantings are called.

    `crops` and `products` lead from every name in use, folded, to the one used here; `plantings`
    from id to crop; `measures` is the household's reading of pints and cups; `at_home` tells
    whether the folder has a household at all. `counted` has the crops that people count.
    """

    crops: dict[str, str] = field(default_factory=dict)
    products: dict[str, str] = field(default_factory=dict)
    plantings: dict[str, str] = field(default_factory=dict)
    measures: Measures = "US"
    at_home: bool = True
    counted: dict[str, CountedFood] = field(default_factory=dict)

    @cached_property
    def foods(self) -> Foods:
        """What people call the crops and products, and which of them the household grows."""
        return Foods(self.crops, self.products, frozenset(self.plantings.values()))


def names_in(folder: Path) -> Names:
    """The names that hold in the season folder: its crops, products, plantings and measures.

    Raises FilesNeedMending where a season file or crop file cannot be read at all.
    """
    crops: dict[str, str] = {}
    products: dict[str, str] = {}
    pieces: dict[str, CountedFood] = {}
    for path in crop_files(folder):
        head = _head(path)
        if isinstance(head.get("name"), str):
            _add_crop(head, crops, products)
            if (counted := counted_from(head.get("counted"))) is not None:
                pieces[head["name"]] = counted
    tables = list(season_tables(folder))
    measures: Measures = next(
        (
            t["measures"]
            for name, t in tables
            if name == "household" and t.get("measures") in ("US", "UK", "metric")
        ),
        "US",
    )
    plantings = [table for name, table in tables if name == "planting"]
    grown = [crops.get(fold(str(p.get("crop"))), str(p.get("crop"))) for p in plantings]
    own = [str(p["id"]) if p.get("id") else None for p in plantings]
    ids = planting_ids(list(zip(grown, own, strict=True)))
    at_home = any(name == "household" for name, _ in tables)
    return Names(crops, products, dict(zip(ids, grown, strict=True)), measures, at_home, pieces)


def crop_files(folder: Path) -> Iterator[Path]:
    """The program's crop files, then the household's own."""
    if (home := crop_folder()) is not None:
        yield from sorted(home.glob("*.toml"))
    yield from sorted((folder / "crops").glob("*.toml"))


def _head(path: Path) -> dict[str, Any]:
    """The names in a crop file; the figures, nine tenths of it, are passed over."""
    if path.name in (SOURCES, "staples.toml") or path.name.startswith("."):
        return {}
    try:
        lines = read_bounded(path, LARGEST).decode("utf-8-sig").split("\n")
        if max(map(len, lines)) > LONGEST:
            raise ValueError
        head = tomllib.loads("\n".join(line for line in lines if _NAMING.fullmatch(line)))
        if any(unseen(head)):
            raise ValueError
        return head
    except (ValueError, OSError, RecursionError):  # a list over several lines, say
        file = read_toml(path, f"crops/{path.name}")
        if file.flaws:
            raise FilesNeedMending(file.flaws) from None
        return file.data


def _add_crop(head: dict[str, Any], crops: dict[str, str], products: dict[str, str]) -> None:
    """Add the names in the head of a crop file."""
    tables = [table for table in head.get("products", ()) if "form" in table]
    forms = [(str(table["form"]), bool(table.get("usual"))) for table in tables]
    name_crop(head["name"], head.get("also", ()), forms, crops, products)


def season_tables(folder: Path) -> Iterator[tuple[str, dict[str, Any]]]:
    """Each table of the season files with its name, unchecked; raises FilesNeedMending."""
    if not folder.is_dir():
        hint = f"Make one with: harvestplan new {folder}"
        raise FilesNeedMending(
            [Flaw(str(folder), None, "", message="There is no such folder.", hint=hint)]
        )
    for path in sorted(p for p in folder.glob("*.toml") if not p.name.startswith(".")):
        if not lies_in(folder, path):
            continue  # planning says so; no line of the diary needs it
        file = read_toml(path, path.name)
        if file.flaws:
            raise FilesNeedMending(file.flaws)
        for name, value in file.data.items():
            tables = value if isinstance(value, list) else [value]
            yield from ((name, table) for table in tables if isinstance(table, dict))
