"""The errors a person can meet, one family under HarvestPlanError.

Their kinds are told apart by the exit code: a line typed is not understood, or names what is not
there (2); a file that a person wrote cannot be used (3, FilesNeedMending); nothing fits, and the
message says what to relax (4, NoValidPlan, CannotBeMade); all else that cannot go on (1). Errors
that one module alone raises stand in it.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

JOINERS = "\u200c\u200d"
"""The two format characters that words need: Persian and the scripts of India are spelled with
them, and pictures of several people or things are joined by them."""
LONGEST = 600
"""Characters of one text in a message."""
MOST = 40
"""Flaws told at once; whoever has more mends these first."""


class HarvestPlanError(Exception):
    """Base of all errors shown to a person; the message says what is wrong and the way out."""

    exit_code = 1


@dataclass(frozen=True)
class Flaw:
    """One thing to mend in a file.

    `line` is 1-based, or None where no line can be named; `text` is that line as written;
    `message` is a sentence for a gardener; `hint` is the way out ("Did you mean ...?").
    """

    file: str
    line: int | None
    text: str
    message: str
    hint: str = ""

    def __str__(self) -> str:
        where = self.file if self.line is None else f"{self.file}, line {self.line}"
        shown = f"\n    {printable(self.text.strip())}" if self.text.strip() else ""
        hint = f"\n    {printable(self.hint)}" if self.hint else ""
        return f"{printable(where).replace(chr(10), '�')}: {printable(self.message)}{shown}{hint}"


def steers(letter: str) -> bool:
    """Whether a character cannot be seen and steers what shows it: a control, a break, a turn.

    All format characters (Cf) count as such, whether they turn the direction of writing or only
    hide between letters (blanks of no width, soft hyphens, tags), except the JOINERS. Letters,
    accents, figures and signs of every script, and blanks of every width, do not.
    """
    category = unicodedata.category(letter)
    return category in ("Cc", "Cf", "Cs", "Zl", "Zp") and letter not in JOINERS


def has_steering(text: str) -> bool:
    """Whether a character of the text steers what shows it."""
    # Nothing that steers is printable; looking at each letter takes a hundred times as long.
    return not text.isprintable() and any(map(steers, text))


def printable(text: str) -> str:
    """What people wrote, safe to print: no character that steers a terminal, nothing endless."""
    plain = text.replace("\t", " ")
    if has_steering(plain):
        plain = "".join("�" if steers(c) and c != "\n" else c for c in plain)
    return plain if len(plain) <= LONGEST else f"{plain[: LONGEST - 20]} … {plain[-15:]}"


class FilesNeedMending(HarvestPlanError):
    """Files that need mending; carries every flaw found, not just the first."""

    exit_code = 3

    def __init__(self, flaws: Sequence[Flaw]) -> None:
        self.flaws = tuple(flaws)
        more = len(self.flaws) - MOST
        rest = [f"... and {more} more like these."] if more > 0 else []
        super().__init__("\n".join([*(str(flaw) for flaw in self.flaws[:MOST]), *rest]))


class CannotBeMade(HarvestPlanError):
    """A product that a kitchen cannot make, or not safely; why, as a sentence without full stop."""

    exit_code = 4

    @property
    def why(self) -> str:
        """The sentence, to go into a longer one."""
        return str(self)


class NoValidPlan(HarvestPlanError):
    """No plan satisfies the rules; the message says what to relax."""

    exit_code = 4
