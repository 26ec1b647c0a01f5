"""On which line of a TOML file each key and value stands, so that an error can show the line."""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass

Path = tuple[str | int, ...]
"""Keys and list positions from the top of the file: ("pot", 1, "volume")."""

_SPACE = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_TEXT = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}' r"|'''.*?'{3,5}" r'|"(?:\\.|[^"\\\n])*"' r"|'[^'\n]*'", re.DOTALL
)
_PLAIN_VALUE = re.compile(r"[^,\]}#\n]+")


@dataclass(frozen=True)
class LineIndex:
    """Lines of one file as written, and the 1-based line of each path that `places` holds."""

    lines: tuple[str, ...]
    places: dict[Path, int]

    def find(self, path: Path) -> int | None:
        """The line of `path`, or of the nearest table around it; None for the file itself."""
        for length in range(len(path), 0, -1):
            if (line := self.places.get(path[:length])) is not None:
                return line
        return None

    def text(self, line: int | None) -> str:
        """The text of a line, or nothing where there is no such line."""
        return self.lines[line - 1] if line and line <= len(self.lines) else ""


def index_lines(text: str) -> LineIndex:
    """Index a file that `tomllib` has accepted; what comes out for other text is undefined."""
    return LineIndex(tuple(text.splitlines()), dict(_Walk(text).places()))


class _Walk:
    """Goes once through well-formed TOML and notes where keys and values begin."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.breaks = [match.start() for match in re.finditer("\n", text)]
        self.counts: dict[Path, int] = {}

    def places(self) -> Iterator[tuple[Path, int]]:
        table: Path = ()
        while self._skip_space():
            line = self._line()
            if self.text[self.at] == "[":
                table = self._header()
                yield table, line
                if isinstance(table[-1], int):
                    yield table[:-1], line
            else:
                yield from self._pair(table)

    def _line(self) -> int:
        return bisect_right(self.breaks, self.at - 1) + 1

    def _skip_space(self) -> bool:
        """Go past blanks, line ends and comments; False at the end of the text."""
        found = _SPACE.match(self.text, self.at)
        self.at = found.end() if found else self.at
        return self.at < len(self.text)

    def _header(self) -> Path:
        many = self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        names = self._key()
        self.at += 2 if many else 1
        path: Path = ()
        for name in names[:-1]:
            path = (*path, name)
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        path = (*path, names[-1])
        if not many:
            return path
        self.counts[path] = self.counts.get(path, 0) + 1
        return (*path, self.counts[path] - 1)

    def _key(self) -> list[str]:
        """A key, dotted or not; stands behind it and its blanks afterwards."""
        parts: list[str] = []
        while True:
            self._skip_space()
            bare = _BARE_KEY.match(self.text, self.at)
            found = bare or _TEXT.match(self.text, self.at)
            if found is None:
                return parts
            parts.append(found[0] if bare else next(iter(tomllib.loads(f"{found[0]} = 0"))))
            self.at = found.end()
            self._skip_space()
            if not self.text.startswith(".", self.at):
                return parts
            self.at += 1

    def _pair(self, table: Path) -> Iterator[tuple[Path, int]]:
        line = self._line()
        path = table
        for name in self._key():
            path = (*path, name)
            yield path, line
        self.at += 1
        self._skip_space()
        yield from self._value(path)

    def _value(self, path: Path) -> Iterator[tuple[Path, int]]:
        opening = self.text[self.at : self.at + 1]
        if opening in ("[", "{") and opening:
            yield from self._inside(path, "]" if opening == "[" else "}")
            return
        found = _TEXT.match(self.text, self.at) or _PLAIN_VALUE.match(self.text, self.at)
        self.at = found.end() if found else len(self.text)

    def _inside(self, path: Path, closing: str) -> Iterator[tuple[Path, int]]:
        """The members of a list or inline table."""
        self.at += 1
        position = 0
        while self._skip_space() and self.text[self.at] != closing:
            if closing == "]":
                yield (*path, position), self._line()
                yield from self._value((*path, position))
                position += 1
            else:
                yield from self._pair(path)
            self._skip_space()
            if self.text.startswith(",", self.at):
                self.at += 1
        self.at += 1
