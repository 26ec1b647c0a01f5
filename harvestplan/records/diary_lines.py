"""The diary as text: lines, codes and remarks, and the events they stand for.

2027-07-14 picked snap bean 2.3 kg #a1f3    ; a remark
"""

from __future__ import annotations

import datetime as dt
import io
import re
from dataclasses import dataclass, field

from harvestplan.errors import Flaw
from harvestplan.inputs.spoken.said_dates import read_date
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.plan.spans import far_off
from harvestplan.records.events import Event
from harvestplan.records.names import Names
from harvestplan.records.phrases import read_event

LONGEST = 2000
"""Characters of a line, its remark aside; nobody writes so many, and some would hold up readers."""
_MARK = re.compile(r'"[^"]*"|;')
"""A semicolon, or something in quotes, whose semicolons begin no remark."""
_LINE = re.compile(r"(\S+)\s*(\S*)\s*(.*)")
_YEARED = re.compile(r"((?:\S+ ){0,3}?\S*?((?:19|20|21)\d\d))\.? +([A-Za-z]\S*)\s*(.*)")
"""A date with its year at the end, the verb and what follows."""
_CODE = re.compile(r"#([0-9a-z]{4,8})$")


@dataclass
class Page:
    """A diary file, read: `lines` as written with their ends, the event of each line that has one,
    what needs mending, whether the last line was cut off in writing, and the file's bytes."""

    name: str
    lines: list[str]
    events: list[Event] = field(default_factory=list)
    flaws: list[Flaw] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    torn: bool = False
    raw: bytes = b""


def read_page(raw: bytes, name: str, names: Names) -> Page:
    """Read a diary's bytes, called `name` in messages; what is wrong is collected, never raised.

    A last line without a line end that cannot be read was cut off in writing: it was never
    acknowledged, and only a warning tells of it.
    """
    # A letter cut in half, or of another encoding, must not make the rest unreadable; the lines
    # keep its bytes, so that writing the file again leaves it as it was.
    # Only what an editor shows as a new line is one.
    text = raw.decode("utf-8-sig", "surrogateescape")
    page = Page(name, list(io.StringIO(text, newline="")), raw=raw)
    for number, line in enumerate(page.lines, start=1):
        written = line.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
        text = without_remark(written.strip())
        if not text:
            continue
        try:
            page.events.append(read_line(text, number, names))
        except Unclear as error:
            flaw = Flaw(name, number, written, message=error.message, hint=error.hint)
            _note(page, flaw, unended=number == len(page.lines) and written[-1] not in "\r\n")
    _doubt_last(page)
    return page


def _note(page: Page, flaw: Flaw, unended: bool) -> None:
    if not unended:
        page.flaws.append(flaw)
        return
    page.torn = True
    page.warnings.append(
        f'{page.name}, line {flaw.line}: "{flaw.text.strip()}" was cut off and does not count.'
    )


def _doubt_last(page: Page) -> None:
    """A last line with neither code nor line end may be the first half of something longer."""
    last = page.events[-1] if page.events else None
    if last and not last.code and last.line == len(page.lines) and page.lines[-1][-1] not in "\r\n":
        page.warnings.append(
            f"{page.name}, line {last.line}: the last line has no end; it is read as "
            f'"{last.text}" on {last.date}.'
        )


def read_line(text: str, number: int, names: Names) -> Event:
    """The event of one line without its remark; raises Unclear."""
    if len(text) > LONGEST:
        raise Unclear("This line is far too long.", "Break it into several.")
    found = _LINE.fullmatch(text)
    written, verb, rest = found.groups() if found else (text, "", "")
    try:
        date = dt.date.fromisoformat(written)
    except ValueError:
        date, verb, rest = _said_date(text)
    if why := far_off(date):
        raise Unclear(f"{why}.", "Look at the year.")
    if not verb:
        raise Unclear("What happened on this day?", "Write: picked snap bean 2 lb")
    code = _CODE.search(rest)
    said = rest[: code.start()].rstrip() if code else rest
    # "undo #a1f3", typed by hand, has no code of its own yet.
    if code and (verb.lower() != "undo" or said):
        return read_event(verb, said, names, head=(date, code[1], number))
    return read_event(verb, rest, names, head=(date, "", number))


def _said_date(text: str) -> tuple[dt.date, str, str]:
    """The date of a line that begins in other words, and what follows it: only with its year, since
    a line is read for years. Raises Unclear."""
    found = _YEARED.fullmatch(text)
    like = "A line begins like 2027-07-14 picked snap bean 2 lb."
    if found is None:
        raise Unclear(f'"{text.partition(" ")[0]}" is no date.', like)
    try:
        date = read_date(found[1], dt.date(int(found[2]), 7, 1))
    except Unclear as error:
        raise Unclear(error.message, error.hint if error.choices else like) from None
    return date, found[3], found[4]


def without_remark(written: str) -> str:
    """The line up to its semicolon, one inside quotes aside."""
    marks = _MARK.finditer(written) if ";" in written else ()
    end = next((mark.start() for mark in marks if mark[0] == ";"), len(written))
    return written[:end].rstrip()


def with_code(written: str, code: str) -> str:
    """A line as written with its code put in, before the remark and the line end."""
    body = written.rstrip("\r\n")
    text = without_remark(body)
    return f"{text} #{code}{body[len(text) :]}{written[len(body) :] or chr(10)}"
