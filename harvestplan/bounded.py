"""Reading what may come from anybody: a plain file, bounded in size before anything looks at it.

Weather files alone are read as streams, with limits of their own (`inputs.weather.unpacked_file`).
"""

from __future__ import annotations

import errno
import json
from pathlib import Path
from typing import Any, NoReturn

from harvestplan.errors import Flaw

LARGEST_JSON = 10_000_000
"""Bytes of a file that the program wrote; the plan of a large garden takes half a million."""
DEEPEST = 50
"""Tables and lists within one another in such a file; a plan has six."""


class TooLarge(OSError):
    """A file of more bytes than one of its kind can have."""

    def __init__(self, path: Path, largest: int) -> None:
        size = f"{largest / 1_000_000:g} MB"
        super().__init__(errno.EFBIG, f"it is over {size}, too large to read", str(path))


class UndecodableError(Exception):
    """Bytes that are no UTF-8 text."""

    def __init__(self, flaw: Flaw) -> None:
        self.flaw = flaw
        super().__init__(flaw.message)


def read_bounded(path: Path, largest: int) -> bytes:
    """All bytes of a file.

    Raises OSError where there is none, it cannot be opened or is no plain file (a pipe would be
    waited for, for ever), and TooLarge.
    """
    if path.exists() and not path.is_file():
        raise OSError(errno.EINVAL, "it is no file", str(path))
    with path.open("rb") as file:
        data = file.read(largest + 1)
    if len(data) > largest:
        raise TooLarge(path, largest)
    return data


def decode(raw: bytes, name: str) -> str:
    """The text of a file in UTF-8, with or without byte order mark, line ends as "\\n".

    Raises UndecodableError, naming the line, for any other encoding.
    """
    hint = "Save the file as UTF-8 (plain text) in your editor."
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")) or b"\0" in raw[:200]:
        raise UndecodableError(
            Flaw(name, 1, "", message="This file is not saved as UTF-8 text.", hint=hint)
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        shown = raw.split(b"\n")[line - 1].decode("utf-8", "replace")
        message = "This line has a letter that is not saved as UTF-8."
        raise UndecodableError(Flaw(name, line, shown, message=message, hint=hint)) from None
    return text.replace("\r\n", "\n").replace("\r", "\n")


def read_json(path: Path) -> Any:
    """What a JSON file of our own says (RFC 8259), nested no deeper than DEEPEST.

    Raises OSError like `read_bounded`, ValueError for what is no such text.
    """
    text = read_bounded(path, LARGEST_JSON).decode("utf-8")
    try:
        told = json.loads(text, parse_constant=_no_number)
    except RecursionError:
        raise ValueError("nested too deeply") from None
    if _deeper(told, DEEPEST):
        raise ValueError("nested too deeply")
    return told


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


def _deeper(told: Any, most: int) -> bool:
    """Whether tables and lists lie deeper in one another than so many."""
    inner = told.values() if isinstance(told, dict) else told if isinstance(told, list) else ()
    return any(most == 0 or _deeper(each, most - 1) for each in inner)
