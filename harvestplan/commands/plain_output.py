"""What is printed: nothing in it steers the terminal, and no encoding of the output fails.

Names come from files and command lines, so all that is printed passes here, whoever prints it.
"""

from __future__ import annotations

import codecs
import contextlib
import os
import sys
import unicodedata
from typing import Any

from harvestplan.errors import steers

JOINERS = "\u200c\u200d"
"""Marks that Persian, Hindi and small pictures are spelt with; they steer nothing."""
SIMPLER = {
    "\u2010": "-",
    "\u2011": "-",
    "–": "-",
    "—": "-",
    "−": "-",
    "·": "-",
    "‘": "'",
    "’": "'",
    "′": "'",
    "“": '"',
    "”": '"',
    "„": '"',
    "″": '"',
    "«": '"',
    "»": '"',
    "→": "->",
    "×": "x",
    "÷": "/",
    "\u2044": "/",
    "±": "+/-",
    "≤": "<=",
    "≥": ">=",
    "≈": "~",
    "°": "",
    "μ": "u",
    "€": "EUR",
    "£": "GBP",
    "█": "#",
    "ß": "ss",
    "æ": "ae",
    "Æ": "AE",
    "œ": "oe",
    "Œ": "OE",
    "ø": "o",
    "Ø": "O",
    "ł": "l",
    "Ł": "L",
    "ı": "i",
    **dict.fromkeys(JOINERS, ""),
}
"""How letters are written with fewer signs, where Unicode itself does not say."""


class Unheard(Exception):
    """What was to be printed is not taken by `stream`; `why` is the system's word.

    No OSError itself: whoever reads and writes files, and the library of the command line, would
    take it for one of theirs.
    """

    def __init__(self, stream: Plain, why: OSError) -> None:
        super().__init__(str(why))
        self.stream, self.why = stream, why


def speak_plainly() -> None:
    """Let all that is printed from now on pass through a `Plain`."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is not None:  # it is None where the command was begun without one
            setattr(sys, name, Plain(stream.stream if isinstance(stream, Plain) else stream))


def speak_json() -> None:
    """What goes to the standard output from now on is JSON."""
    if isinstance(sys.stdout, Plain):
        sys.stdout.json = True


class Plain:
    """A text stream that shows what cannot be shown in a plainer way; in JSON, as its escapes.

    Only "\\n" and "\\t" steer. It has no `buffer`, so that nobody writes past it.
    """

    def __init__(self, stream: Any) -> None:
        self.stream, self.json = stream, False

    def write(self, text: str) -> int:
        """Write the text; raises Unheard where it is not taken."""
        escape = _escaped if self.json else _replaced
        shown = "\n".join(
            line if line.isprintable() else "".join(escape(c) if hidden(c) else c for c in line)
            for line in text.split("\n")
        )
        try:
            self.stream.write(_fitting(shown, self.stream.encoding, self.json))
        except OSError as error:
            raise Unheard(self, error) from error
        return len(text)

    def flush(self) -> None:
        """Hand on what was written; raises Unheard where it is not taken."""
        try:
            self.stream.flush()
        except OSError as error:
            raise Unheard(self, error) from error

    def let_go(self) -> None:
        """Lose what waits to be handed on, and all that is written from now on."""
        with contextlib.suppress(OSError):  # a stream without a file loses nothing later
            os.dup2(os.open(os.devnull, os.O_WRONLY), self.stream.fileno())

    def __getattr__(self, name: str) -> Any:
        if name == "buffer":
            raise AttributeError(name)
        return getattr(self.stream, name)


def hidden(letter: str) -> bool:
    """Whether a character cannot be seen and is no space, tab or joiner: it steers or misleads."""
    formats = unicodedata.category(letter) == "Cf" and letter not in JOINERS
    return letter != "\t" and (formats or steers(letter))


def _fitting(text: str, encoding: str | None, json: bool) -> str:
    """The text with what the encoding lacks written otherwise."""
    if text.isascii() or encoding is None:
        return text
    errors = "harvestplan.json" if json else "harvestplan.simpler"
    return text.encode(encoding, errors).decode(encoding)


def _replaced(letter: str) -> str:
    return "�"


def _escaped(letter: str) -> str:
    """As JSON writes it, above U+FFFF in two halves."""
    pairs = letter.encode("utf-16-be", "surrogatepass").hex()
    return "".join(f"\\u{pairs[n : n + 4]}" for n in range(0, len(pairs), 4))


def _simpler(letter: str, before: str) -> str:
    """In ASCII, "?" where there is no way; `before` is the character before it."""
    parts = unicodedata.normalize("NFKD", letter)
    plain = "".join(SIMPLER.get(c, c if c.isascii() else "") for c in parts)
    if plain[:1].isdigit() and before.isdigit():
        return f" {plain}"  # 3½ is no 31/2
    nothing = letter in SIMPLER or unicodedata.combining(letter)
    return plain if plain or nothing else "?"


def _write_simpler(error: UnicodeError) -> tuple[str, int]:
    """The error handler of encodings for people."""
    assert isinstance(error, UnicodeEncodeError)
    text, places = error.object, range(error.start, error.end)
    return "".join(_simpler(text[n], text[n - 1 : n]) for n in places), error.end


def _write_escaped(error: UnicodeError) -> tuple[str, int]:
    """The error handler of encodings for JSON, where only texts hold more than ASCII."""
    assert isinstance(error, UnicodeEncodeError)
    return "".join(map(_escaped, error.object[error.start : error.end])), error.end


codecs.register_error("harvestplan.simpler", _write_simpler)
codecs.register_error("harvestplan.json", _write_escaped)
