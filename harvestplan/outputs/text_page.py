"""Pages of plain text for the terminal and for paper: paragraphs and tables of 78 columns."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence

WIDTH = 78
SCREEN = 23
"""Lines of a terminal's screen, less the one of the prompt."""
_TIE = "\N{NO-BREAK SPACE}"


def wrapped(text: str, hang: int = 2) -> list[str]:
    """Lines of at most 78 columns, in which no number stands without its unit or its fraction.

    The first begins with as many blanks as the text, the others `hang` blanks deeper. A word
    longer than a line, such as an address or the path of a file, stays whole to be copied.
    """
    deep = len(text) - len(text.lstrip()) + hang
    tied = re.sub(r"(?<=\d) (?=[^\W\d]|°|\d/\d)", _TIE, text)
    lines = textwrap.wrap(
        tied, WIDTH, subsequent_indent=" " * deep, break_on_hyphens=False, break_long_words=False
    )
    return [line.replace(_TIE, " ") for line in lines]


def screenful(entries: Sequence[Sequence[str]], rest: str, last: Sequence[str] = ()) -> list[str]:
    """The entries, each one or several lines, that a screen holds before the `last` lines; where
    they are more than it holds, `rest` says where to read the others.

    No entry is cut in two.
    """
    whole = [line for entry in entries for line in entry]
    if len(whole) + len(last) <= SCREEN:
        return [*whole, *last]
    told = [*wrapped(rest, hang=0), *last]
    lines: list[str] = []
    for entry in entries:
        if len(lines) + len(entry) + len(told) + 1 > SCREEN:
            break
        lines += entry
    while lines and not lines[-1]:
        lines.pop()
    return [*lines, "", *told]


def columns(rows: Sequence[Sequence[str]], left: Sequence[int] = (0,)) -> list[str]:
    """Rows under each other, each column as wide as its widest cell; those in `left` begin flush,
    others end flush."""
    widths = [max(map(len, cells)) for cells in zip(*rows, strict=True)]
    lines = []
    for row in rows:
        cells = [
            cell.ljust(width) if number in left else cell.rjust(width)
            for number, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    return lines
