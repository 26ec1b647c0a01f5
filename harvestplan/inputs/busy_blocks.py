"""Cut an iCalendar file (RFC 5545) into its top components, so that one bad entry spoils no other.

Works on text lines only and in one pass: nothing is interpreted here but BEGIN and END.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from harvestplan.errors import FilesNeedMending, Flaw

TOP_KINDS = frozenset({"VEVENT", "VTIMEZONE", "VTODO", "VJOURNAL", "VFREEBUSY", "VAVAILABILITY"})
UNREADABLE = (
    ValueError, KeyError, IndexError, TypeError, AttributeError, OverflowError, RecursionError,
    OSError,
)  # fmt: skip
"""What the calendar library raises over text that it cannot read; OSError where a time zone has the
name of a folder of zones."""
_MOST_LINES = 20_000
_MOST_LETTERS = 1_000_000
_DEEPEST = 20
_MOST_BLOCKS = 100_000
"""Entries of a calendar; who adds one every hour for ten years has as many."""


@dataclass(frozen=True)
class Block:
    """One component: its kind, the 1-based line it begins on, its lines, BEGIN and END included."""

    kind: str
    line: int
    lines: tuple[str, ...]

    @property
    def text(self) -> str:
        """The component as text, with the line ends of the standard."""
        return "\r\n".join(self.lines) + "\r\n"


@dataclass
class _Cutter:
    name: str
    blocks: list[Block] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    in_calendar: bool = False
    kind: str = ""
    begun: int = 0
    lines: list[str] = field(default_factory=list)
    inner: int = 0
    deepest: int = 0
    too_many: int = 0

    def take(self, number: int, line: str) -> None:
        word, _, rest = line.partition(":")
        word, kind = word.strip().upper(), rest.strip().upper()
        if not self.in_calendar:
            self.in_calendar = (word, kind) == ("BEGIN", "VCALENDAR")
        elif not self.kind:
            self._between(number, line, word, kind=kind)
        elif (word, kind) == ("END", "VCALENDAR"):
            self._give_up("has no END line")
            self.in_calendar = False
        elif word == "BEGIN" and kind in TOP_KINDS:
            self._give_up("has no END line")
            self._between(number, line, word, kind=kind)
        else:
            self._inside(line, word, kind)

    def _between(self, number: int, line: str, word: str, *, kind: str) -> None:
        if word == "BEGIN":
            self.kind, self.begun, self.lines = kind, number, [line]
            self.inner = self.deepest = 0
        elif (word, kind) == ("END", "VCALENDAR"):
            self.in_calendar = False

    def _inside(self, line: str, word: str, kind: str) -> None:
        self.lines.append(line)
        if word == "BEGIN":
            self.inner += 1
            self.deepest = max(self.deepest, self.inner)
        elif word == "END" and self.inner:
            self.inner -= 1
        elif word == "END" and kind == self.kind:
            if len(self.lines) > _MOST_LINES or sum(map(len, self.lines)) > _MOST_LETTERS:
                self._give_up("is far too long")
            elif self.deepest > _DEEPEST:
                self._give_up("holds parts within parts without end")
            elif len(self.blocks) >= _MOST_BLOCKS:
                self.too_many += 1
            else:
                self.blocks.append(Block(self.kind, self.begun, tuple(self.lines)))
            self.kind = ""

    def _give_up(self, why: str) -> None:
        self.warnings.append(f"{self.name}, line {self.begun}: this entry {why} and was left out.")
        self.kind = ""


def cut_blocks(text: str, name: str) -> tuple[list[Block], list[str]]:
    """The components of a calendar file and a warning for each that had to be left out.

    Raises FilesNeedMending where the file is no calendar or breaks off before its end.
    """
    lines = text.split("\n")
    cutter = _Cutter(name)
    calendars = 0
    for number, line in enumerate(lines, 1):
        was = cutter.in_calendar
        cutter.take(number, line)
        calendars += cutter.in_calendar and not was
    if not calendars:
        message = "This is not a calendar file: it has no BEGIN:VCALENDAR."
        hint = "Export the calendar again as an .ics file."
        raise FilesNeedMending([Flaw(name, 1, lines[0][:80], message=message, hint=hint)])
    if cutter.in_calendar:
        last = _last_line(lines)
        message = "The calendar breaks off here: it has no END:VCALENDAR."
        hint = "Export or download the calendar again."
        raise FilesNeedMending([Flaw(name, last, lines[last - 1][:80], message=message, hint=hint)])
    if cutter.too_many:
        more = f"{cutter.too_many} entries beyond the first {_MOST_BLOCKS} were left out."
        cutter.warnings.append(f"{name}: {more}")
    return cutter.blocks, cutter.warnings


def _last_line(lines: Sequence[str]) -> int:
    return next((n for n in range(len(lines), 0, -1) if lines[n - 1].strip()), 1)
