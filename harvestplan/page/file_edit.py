"""Season files changed for a person: value by value or table by table as text, so that remarks and
order stay; judged before anything is written, and not over what was written meanwhile."""

from __future__ import annotations

import contextlib
import hashlib
import re
import shutil
import tempfile
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from harvestplan import disk
from harvestplan.bounded import decode
from harvestplan.errors import FilesNeedMending, Flaw, HarvestPlanError
from harvestplan.inputs.line_numbers import index_lines
from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.new_season.season_text import TableText, blocks, joined

NAME = re.compile(r"[A-Za-z0-9][\w .-]{0,80}\.toml")
LOCK = ".files.lock"
LONGEST = 300_000
"""Characters of a file that the page takes."""


class FileChanged(HarvestPlanError):
    """Somebody else changed the file since it was shown."""


class NotByForm(HarvestPlanError):
    """The file is written in a way that a form cannot change; as text it can be."""


def path_of(folder: Path, name: str) -> Path:
    """One of the season's own files by its name; raises HarvestPlanError for any other."""
    path = folder / name
    if not NAME.fullmatch(name) or not path.is_file():
        raise HarvestPlanError("There is no such file in this season.")
    disk.refuse_link(path)
    return path


def text_of(folder: Path, name: str) -> str:
    """A file's text, line ends as "\\n"."""
    return decode(path_of(folder, name).read_bytes(), name)


def digest(text: str) -> str:
    """What tells one text from another."""
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()[:24]


def new_flaws(folder: Path, texts: Mapping[str, str]) -> list[Flaw]:
    """What would be wrong with these files that is not wrong now; they are judged in a copy."""
    before = set(_messages(_flaws_of(folder, {})))
    return [f for f in _flaws_of(folder, texts) if (f.file, f.message, f.text) not in before]


def _messages(flaws: list[Flaw]) -> list[tuple[str, str, str]]:
    return [(flaw.file, flaw.message, flaw.text) for flaw in flaws]


def _flaws_of(folder: Path, texts: Mapping[str, str]) -> list[Flaw]:
    with tempfile.TemporaryDirectory(prefix="harvestplan-") as made:
        copy = Path(made) / "season"
        copy.mkdir()
        for path in folder.glob("*.toml"):
            if path.is_file() and not path.is_symlink():
                shutil.copyfile(path, copy / path.name)
        if (folder / "crops").is_dir():
            shutil.copytree(folder / "crops", copy / "crops", symlinks=True)
        for name, text in texts.items():
            (copy / name).write_bytes(text.encode("utf-8", "replace"))
        try:
            load_season(copy, load_library(copy))
        except FilesNeedMending as error:
            return list(error.flaws)
    return []


def save(folder: Path, name: str, text: str, *, seen: str) -> None:
    """Put the text in the file, where the file is still the one with the digest `seen`.

    Raises FileChanged, and OSError where the disk refuses; the file is then as it was.
    """
    path = path_of(folder, name)
    with disk.locked(folder / LOCK):
        raw = path.read_bytes()
        if digest(decode(raw, name)) != seen:
            raise FileChanged(
                f"{name} was changed on another device, or in an editor, since you opened it. "
                "Nothing of yours was written. Look at it as it is now, and change it again."
            )
        ends = "\r\n" if b"\r\n" in raw else "\n"
        mark = b"\xef\xbb\xbf" if raw.startswith(b"\xef\xbb\xbf") else b""
        disk.write_atomic(path, mark + text.replace("\n", ends).encode("utf-8", "replace"))


def with_table(text: str, table: str, values: Mapping[str, str], *, many: bool = True) -> str:
    """The text with one more [[table]] at its end; values are written as TOML has them. The text as
    it is where one that says the same stands there already: a form that was sent twice."""
    heading = f"[[{table}]]" if many else f"[{table}]"
    block = "\n".join([heading, *(f"{key} = {value}" for key, value in values.items())])
    with contextlib.suppress(tomllib.TOMLDecodeError):
        there = tomllib.loads(text).get(table, [])
        if tomllib.loads(block)[table] == there or (
            isinstance(there, list) and tomllib.loads(block)[table][0] in there
        ):
            return text
    return f"{text.rstrip()}\n\n{block}\n"


def without_table(text: str, table: str, place: int) -> str:
    """The text without the so-manieth [[table]] (from 0); remarks after it stay.

    Raises NotByForm where it cannot be found by its heading.
    """
    return _changed(text, table, place, TableText.clear, lambda found: found.pop(place))


def with_values(text: str, table: str, place: int | None, values: Mapping[str, str | None]) -> str:
    """The text with keys of a table set (None takes a key out); other lines stay as they are.

    `place` is the so-manieth of a list, None for a table that stands once. Raises NotByForm.
    """

    def put(block: TableText) -> None:
        for key, value in values.items():
            _put(block, key, value)

    def meant(found: Any) -> None:
        each = found if place is None else found[place]
        for key, value in values.items():
            if value is None:
                each.pop(key, None)
            else:
                each[key] = tomllib.loads(f"x = {value}")["x"]

    return _changed(text, table, place, put, meant)


def _changed(
    text: str,
    table: str,
    place: int | None,
    change: Callable[[TableText], None],
    meant: Callable[[Any], Any],
) -> str:
    """The text with one block changed; it must then read as was meant, or NotByForm is raised."""
    try:
        wanted = tomllib.loads(text)
        parts = blocks(text.split("\n"))
        ours = [block for block in parts if block.name == table]
        change(ours[place or 0])
        meant(wanted[table])
        if wanted[table] == []:
            del wanted[table]
        after = joined(parts)
        if tomllib.loads(after) != wanted:
            raise ValueError
    except (ValueError, KeyError, IndexError, TypeError, AttributeError):
        raise NotByForm(
            "This file is written in a way that the form cannot change safely. Change it as text."
        ) from None
    return after


_KEY = r"\s*[\"']?{}[\"']?\s*="


def _put(block: TableText, key: str, value: str | None) -> None:
    """Sets a key in its own line, its remark kept; a value over several lines becomes one."""
    start = next(
        (n for n, line in enumerate(block.lines) if re.match(_KEY.format(key), line)), None
    )
    if start is None:
        if value is not None:
            block.lines.append(f"{key} = {value}")
        return
    end = start + 1
    while not _whole("\n".join(block.lines[start:end])) and end < len(block.lines):
        end += 1
    remark = _remark(block.lines[start]) if end == start + 1 else ""
    block.lines[start:end] = [] if value is None else [f"{key} = {value}{remark}"]


def _whole(text: str) -> bool:
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return True


def _remark(line: str) -> str:
    """The remark at the end of a line that holds one key, with the blanks before it."""
    for found in re.finditer(r"\s*#", line):
        if _whole(line[: found.start()]):
            return line[found.start() :]
    return ""


def place_of_line(text: str, line: int | None) -> tuple[str | int, ...]:
    """The innermost place that begins at a line: ("pot", 1, "volume"); () where none does."""
    if line is None:
        return ()
    try:
        places = index_lines(text).places
    except (ValueError, IndexError):
        return ()
    found = [place for place, at in places.items() if at == line]
    return max(found, key=len, default=())


def home_of(folder: Path, table: str) -> str:
    """The file in which such a table stands, or else the one of the household."""
    names = [path.name for path in sorted(folder.glob("*.toml")) if path.is_file()]
    for wanted in (table, "household"):
        for name in names:
            if re.search(rf"^\s*\[\[?\s*{wanted}\s*\]", text_of(folder, name), re.MULTILINE):
                return name
    return names[0]
