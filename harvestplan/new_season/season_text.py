"""Changes to the text of a season file, table by table; remarks and order stay as they are."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from harvestplan.inputs.dates import anniversary

_HEADING = re.compile(r"\s*\[\[?\s*[\"']?([A-Za-z_]+)[\"']?\s*\]\]?\s*(?:#.*)?")
_DATE = re.compile(r"\b(\d{4})-(\d\d)-(\d\d)\b")


@dataclass
class TableText:
    """A table: its heading with the keys below it, and the remarks and blank lines after them.

    What stands above the first heading is a block without a name.
    """

    name: str
    lines: list[str]
    after: list[str] = field(default_factory=list)

    def shift(self, keys: tuple[str, ...], years: int) -> None:
        """Move the dates of these keys by so many years."""
        for number, line in enumerate(self.lines):
            if _key(line) in keys:
                value, remark = _parted(line)
                moved = _DATE.sub(lambda found: _later(found[0], years), value)
                self.lines[number] = moved + remark

    def put(self, key: str, value: str, remark: str = "") -> None:
        """Set a key to a value as TOML has it, in its own line or a new one."""
        line = f"{key} = {value}{f'   # {remark}' if remark else ''}"
        self.drop(key)
        self.lines.append(line)

    def drop(self, key: str) -> None:
        """Take a key out."""
        self.lines = [line for line in self.lines if _key(line) != key]

    def silence(self, why: str) -> None:
        """Make the whole table a remark, with the reason above it."""
        self.lines = [f"# {why}", *(f"# {line}".rstrip() for line in self.lines)]

    def clear(self) -> None:
        """Take the whole table out."""
        self.lines, self.after = [], [line for line in self.after if line.strip()]


def blocks(lines: Sequence[str]) -> list[TableText]:
    """The tables of a file in their order."""
    found = [TableText("", [])]
    for line in lines:
        heading = _HEADING.fullmatch(line)
        if heading:
            found.append(TableText(heading[1], []))
        found[-1].lines.append(line)
    for block in found:
        while block.lines and (not block.lines[-1].strip() or block.lines[-1].lstrip()[:1] == "#"):
            block.after.insert(0, block.lines.pop())
    return found


def joined(parts: list[TableText]) -> str:
    """The file's text again."""
    lines = [line for block in parts for line in (*block.lines, *block.after)]
    return "\n".join(lines).strip("\n") + "\n"


def _later(written: str, years: int) -> str:
    """An ISO date so many years later; what is no date, and what no year has, as it is."""
    try:
        date = dt.date.fromisoformat(written)
        return anniversary(date, date.year + years).isoformat()
    except ValueError:
        return written


def _key(line: str) -> str:
    found = re.match(r"\s*[\"']?([A-Za-z_]+)[\"']?\s*=", line)
    return found[1] if found else ""


def _parted(line: str) -> tuple[str, str]:
    """A line up to its remark, and the remark; a date's line has no # before it."""
    value, mark, remark = line.partition("#")
    return value, mark + remark
