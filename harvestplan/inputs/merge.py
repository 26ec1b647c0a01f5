"""Read every TOML file of a season folder and lay them together as one season."""

from __future__ import annotations

import re
import typing
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from harvestplan.disk import lies_in
from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.explain import keys_of, nearest, suggestion
from harvestplan.inputs.line_numbers import Path as Place
from harvestplan.inputs.season import Season
from harvestplan.inputs.season_kitchen import SeasonTable
from harvestplan.inputs.toml_file import TomlFile, read_toml


def _models() -> Iterator[tuple[str, type[SeasonTable], bool]]:
    for name, about in Season.model_fields.items():
        parts = typing.get_args(about.annotation) or (about.annotation,)
        yield name, parts[0], typing.get_origin(about.annotation) is tuple


MODELS: dict[str, type[SeasonTable]] = {name: model for name, model, _ in _models()}
LISTS = frozenset(name for name, _, many in _models() if many)
"""Tables that stand once for each thing, under double brackets."""


def heading(table: str) -> str:
    """The table's heading as people write it."""
    return f"[[{table}]]" if table in LISTS else f"[{table}]"


@dataclass
class SeasonFiles:
    """All tables of a folder, and for each where it is written.

    `tables` lists ("pot", contents) in the order read; `homes` gives the file and the place in it
    for each position of `tables`. `flaws` collects what is wrong so far; `torn` says that a file
    has a slip in its spelling, so that something missing may only be unreadable.
    """

    folder: Path
    files: list[TomlFile] = field(default_factory=list)
    tables: list[tuple[str, dict[str, Any]]] = field(default_factory=list)
    homes: list[tuple[TomlFile, Place]] = field(default_factory=list)
    flaws: list[Flaw] = field(default_factory=list)
    torn: bool = False

    @property
    def measures(self) -> str:
        """The household's, needed before any quantity can be read."""
        for name, content in self.tables:
            if name == "household" and content.get("measures") in ("US", "UK", "metric"):
                return str(content["measures"])
        return "US"

    def add_flaw(self, table: int | None, place: Place, message: str, hint: str = "") -> None:
        """Note a flaw at `place` inside table number `table`; None means the folder as a whole."""
        if table is None:
            name = self.files[0].name if len(self.files) == 1 else self.folder.name
            self.flaws.append(Flaw(name, None, "", message=message, hint=hint))
            return
        file, home = self.homes[table]
        self.flaws.append(file.flaw((*home, *place), message, hint))


def read_folder(folder: Path) -> SeasonFiles:
    """Read and merge all ``*.toml`` of `folder`.

    Raises FilesNeedMending where there is no folder or no such file; other flaws are collected.
    """
    if not folder.is_dir():
        raise FilesNeedMending(
            [
                Flaw(
                    str(folder),
                    None,
                    "",
                    message="There is no such folder.",
                    hint=f"Make one with: harvestplan new {folder}",
                )
            ]
        )
    paths = sorted(p for p in folder.glob("*.toml") if not p.name.startswith("."))
    if not paths:
        raise FilesNeedMending(
            [
                *_misnamed(folder),
                Flaw(
                    str(folder),
                    None,
                    "",
                    message="No season file (*.toml) is here.",
                    hint=f"Make them with: harvestplan new {folder}",
                ),
            ]
        )
    season = SeasonFiles(folder)
    for path in paths:
        if not lies_in(folder, path):
            season.flaws.append(
                Flaw(
                    path.name,
                    None,
                    "",
                    message="This file leads out of the folder.",
                    hint="Put the file itself into the season folder.",
                )
            )
            continue
        file = read_toml(path, path.name)
        season.files.append(file)
        season.flaws += file.flaws
        season.torn |= bool(file.flaws)
        add_file(season, file)
    _refuse_copies(season)
    season.flaws += _misnamed(folder)
    if (
        season.files
        and not season.torn
        and not any(set(f.data) & set(MODELS) for f in season.files)
    ):
        raise FilesNeedMending([_no_season(folder, season.files[0].name)])
    _refuse_second_tables(season)
    return season


_COPY = re.compile(
    r"(?P<own>.+?)(?:[ ._-]+(?P<sync>.*conflict.*)"
    r"|[ _-]*\(\d+\)| \d{1,2}|(?: -)? [Cc]opy.*|-[A-Z0-9-]+)"
)
"""What sync programs and people call the copy of a file, without its ending."""


def _refuse_copies(season: SeasonFiles) -> None:
    """Names each file that a sync program left beside another: its tables would count twice."""
    by_stem = {file.name.removesuffix(".toml"): file for file in season.files}
    for stem, file in by_stem.items():
        found = _COPY.fullmatch(stem)
        own = by_stem.get(found["own"]) if found else None
        if found is not None and own is not None and (found["sync"] or _have_in_common(file, own)):
            message = f"This is a copy of {own.name}, as sync programs leave one."
            hint = f"See which of the two is right, and keep that alone, as {own.name}."
            season.flaws.append(Flaw(file.name, None, "", message=message, hint=hint))


def _have_in_common(one: TomlFile, other: TomlFile) -> bool:
    """Whether a table stands in both, word for word."""
    return any(table in _tables(other) for table in _tables(one))


def _tables(file: TomlFile) -> list[tuple[str, Any]]:
    several = ((name, value) for name, value in file.data.items())
    return [
        (name, table)
        for name, value in several
        for table in (value if isinstance(value, list) else [value])
    ]


def _misnamed(folder: Path) -> Iterator[Flaw]:
    """Season files that an editor gave a second ending, so that nothing would be read of them."""
    for path in sorted(folder.iterdir()):
        if path.name.lower().endswith(".toml.txt") and path.is_file():
            yield Flaw(
                path.name,
                None,
                "",
                message="This file is not read, for its name ends in .txt.",
                hint=f'Rename it to "{path.stem}", or move it away. '
                'Notepad adds the ending unless "All files" is chosen as it saves.',
            )


def _no_season(folder: Path, name: str) -> Flaw:
    return Flaw(
        str(folder.resolve()),
        None,
        "",
        message=f"This is no season folder: {name} has nothing of a season.",
        hint="Go to your season's folder, or name it with --in. For a new one: "
        "harvestplan new my-season",
    )


def add_file(season: SeasonFiles, file: TomlFile) -> None:
    """Lay the tables of one file beside those read before."""
    for name, value in file.data.items():
        if name not in MODELS:
            season.flaws.append(file.flaw((name,), *_unknown(name, value)))
        elif name in LISTS:
            _add_list(season, file, name, value=value)
        elif isinstance(value, dict):
            season.tables.append((name, value))
            season.homes.append((file, (name,)))
        else:
            hint = f"Write [{name}] once, in single brackets."
            message = f"There is only one {name}, so it is no list."
            season.flaws.append(file.flaw((name,), message, hint))
            season.torn = True


def _add_list(season: SeasonFiles, file: TomlFile, name: str, *, value: Any) -> None:
    if isinstance(value, dict):
        message = f"There may be several {name} tables, so each has double brackets."
        season.flaws.append(file.flaw((name,), message, f"Write [[{name}]]."))
        season.tables.append((name, value))
        season.homes.append((file, (name,)))
        return
    for position, item in enumerate(value if isinstance(value, list) else [value]):
        place = (name, position) if isinstance(value, list) else (name,)
        if isinstance(item, dict):
            season.tables.append((name, item))
            season.homes.append((file, place))
        else:
            message = f'"{name}" is a table with keys of its own.'
            season.flaws.append(file.flaw(place, message, f"Write [[{name}]] and its keys below."))


def _unknown(name: str, value: Any) -> tuple[str, str]:
    """Sentence and hint for a name at the top of a file that is no table."""
    if not isinstance(value, (dict, list)):
        homes = [table for table, model in MODELS.items() if name in keys_of(model)]
        message = f'"{name}" stands above all tables, where it belongs to none.'
        hint = f"Put it under {heading(homes[0])}." if homes else "Put it under its table."
        return message, hint
    near = nearest(name, MODELS)
    hint = f"Did you mean {heading(near)}?" if near else suggestion(name, MODELS)
    return f"I know no table [{name}].", hint


def _refuse_second_tables(season: SeasonFiles) -> None:
    seen: dict[str, int] = {}
    for number, (name, _) in enumerate(season.tables):
        if name in LISTS:
            continue
        if name in seen:
            other = season.homes[seen[name]][0]
            where = f"{other.name}, line {other.index.find((name,))}"
            message = f"There is a second [{name}]; the first is in {where}."
            season.add_flaw(number, (), message, hint="Keep only one of them.")
        seen.setdefault(name, number)
