"""Read one TOML file that a person wrote, and say in plain words what is wrong with it."""

from __future__ import annotations

import contextlib
import datetime as dt
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from harvestplan.bounded import TooLarge, UndecodableError, decode, read_bounded
from harvestplan.errors import Flaw
from harvestplan.inputs.line_numbers import LineIndex, index_lines
from harvestplan.inputs.line_numbers import Path as Place
from harvestplan.inputs.spoken.said_dates import read_date
from harvestplan.inputs.spoken.said_numbers import figures
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.unseen import HINT, unseen

LARGEST = 2_000_000
LONGEST, MOST_DOTS = 5_000, 200
"""Characters of a line, and dots in it; the parser takes minutes over a key of many dots."""
_MOST_SLIPS = 20


@dataclass(frozen=True)
class TomlFile:
    """What a file says. After a slip in the file (`flaws`), `data` holds what is still readable."""

    name: str
    data: dict[str, Any]
    index: LineIndex
    flaws: tuple[Flaw, ...] = ()

    def flaw(self, place: Place, message: str, hint: str = "") -> Flaw:
        """A flaw at the line of `place`."""
        line = self.index.find(place)
        return Flaw(self.name, line, self.index.text(line), message=message, hint=hint)


def read_toml(path: Path, name: str) -> TomlFile:
    """Read `path`, called `name` in messages. Flaws are returned with the file, never raised."""
    nothing = TomlFile(name, {}, LineIndex((), {}))
    try:
        text = decode(read_bounded(path, LARGEST), name)
    except UndecodableError as error:
        return _with(nothing, error.flaw)
    except TooLarge:
        message = "This file is over 2 MB, too large to read."
        return _with(nothing, Flaw(name, None, "", message=message))
    except OSError:
        return _with(nothing, Flaw(name, None, "", message="This file cannot be opened."))
    return _read_text(text, name)


def read_plain(path: Path) -> dict[str, Any]:
    """What the file says, quickly, without the lines.

    Raises OSError and ValueError where `read_toml` would tell of flaws.
    """
    text = read_bounded(path, LARGEST).decode("utf-8-sig")
    if _endless(text.split("\n")):
        raise ValueError("a line is far too long")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ValueError("nested too deeply") from None


def _endless(lines: list[str]) -> int | None:
    """The first line over which the parser would sit for minutes, 1-based."""
    numbered = enumerate(lines, 1)
    return next((n for n, x in numbered if len(x) > LONGEST or x.count(".") > MOST_DOTS), None)


def _with(file: TomlFile, *flaws: Flaw) -> TomlFile:
    return TomlFile(file.name, file.data, file.index, flaws=file.flaws + flaws)


def _read_text(text: str, name: str) -> TomlFile:
    """Parse; take out each line that cannot be read and go on, so that every slip is named."""
    written = text.split("\n")
    if endless := _endless(written):
        message, hint = "This line is far too long.", "Break it into several, or leave it out."
        flaw = Flaw(name, endless, written[endless - 1][:60], message=message, hint=hint)
        return TomlFile(name, {}, LineIndex(tuple(written), {}), flaws=(flaw,))
    lines = [_SHORT_TIME.sub(r"\1:00", line) for line in written]
    flaws: list[Flaw] = []
    while True:
        try:
            data = tomllib.loads("\n".join(lines))
            index = index_lines("\n".join(lines))
            file = TomlFile(name, data, LineIndex(tuple(written), index.places), flaws=tuple(flaws))
            return _with(file, *(file.flaw(*found, HINT) for found in unseen(data)))
        except RecursionError:
            flaws.append(
                Flaw(name, None, "", message="Brackets are nested too deeply in this file.")
            )
            return TomlFile(name, {}, LineIndex(tuple(written), {}), flaws=tuple(flaws))
        except ValueError as error:
            if not isinstance(error, tomllib.TOMLDecodeError):
                flaws.append(Flaw(name, None, "", message="A number in this file is far too long."))
                return TomlFile(name, {}, LineIndex(tuple(written), {}), flaws=tuple(flaws))
            line = _culprit(_line_of(str(error), lines), lines)
            flaws.append(Flaw(name, line, written[line - 1], *_explain(str(error), line, lines)))
            whole_line = _PAIR.match(lines[line - 1]) and not _opens(lines[line - 1])
            lines = [*lines[: line - 1], "", *(lines[line:] if whole_line else [])]
            if len(flaws) >= _MOST_SLIPS:
                return TomlFile(name, {}, LineIndex(tuple(written), {}), flaws=tuple(flaws))


_SHORT_TIME = re.compile(r"(?<==)(\s*(?:[01]\d|2[0-3]):[0-5]\d)(?=\s*(?:[,}#]|$))")
"""A time without seconds, as later TOML has it: "18:30"."""

_PAIR = re.compile(r"\s*(?:[\w.-]+|\"[^\"]*\")\s*[=:]")
_HEADER = re.compile(r"\s*\[")
_STRINGS = re.compile(r'"(?:\\.|[^"\\])*"|\'[^\']*\'')


def _line_of(message: str, lines: list[str]) -> int:
    """The line named at the end of the parser's message; else the last one with text."""
    if found := re.search(r"at line (\d+)", message):
        return min(int(found[1]), len(lines))
    return next((n for n in range(len(lines), 0, -1) if lines[n - 1].strip()), 1)


def _opens(line: str) -> bool:
    """Whether a list, inline table or long text begins on this line and does not end there."""
    bare = _STRINGS.sub("", line).split("#")[0]
    return bare.count("[") > bare.count("]") or bare.count("{") > bare.count("}") or '"""' in line


def _culprit(line: int, lines: list[str]) -> int:
    """An unclosed list or text shows only on a later line: go back to where it was opened."""
    depth = 0
    if not lines[line:] or not any(text.strip() for text in lines[line:]):
        marks = [n for n, text in enumerate(lines, 1) if text.count('"""') % 2]
        if len(marks) % 2:
            return marks[-1]
    for number in range(line - 1, 0, -1):
        text = lines[number - 1]
        bare = _STRINGS.sub("", text).split("#")[0]
        depth += bare.count("]") + bare.count("}") - bare.count("[") - bare.count("{")
        if depth < 0:
            return number
        if _HEADER.match(text):
            break
    return line


def _explain(message: str, number: int, lines: list[str]) -> tuple[str, str]:
    """A sentence and a hint for the slip on this line; the parser's wording is never shown."""
    line = lines[number - 1].split("#")[0].strip()
    if any(quote in line for quote in "“”„‘’«»"):
        straight = re.sub(r"[“”„«»]", '"', re.sub(r"[‘’]", "'", line))
        return "Curly quotes cannot be read.", f"Write straight quotes: {straight}"
    if line.startswith("["):
        return _explain_header(line, lines)
    if pair := re.match(r"([\w.\"-]+)\s*:\s*(.*)", line):
        return 'A ":" stands where "=" belongs.', f"Write: {pair[1]} = {_as_value(pair[2])}"
    key, equals, value = (part.strip() for part in line.partition("="))
    if not equals or not key:
        hint = 'Write: name = "value", or put # in front to make the line a note.'
        return "This line is not of the form name = value.", hint
    if "overwrite" in message or "twice" in message.lower() or "uplicate" in message:
        return f'"{key}" is written twice in the same table.', "Keep one of the two lines."
    return _explain_value(key, value)


def _explain_header(line: str, lines: list[str]) -> tuple[str, str]:
    name = line.strip("[]# \t")
    right = line in (f"[{name}]", f"[[{name}]]") and re.fullmatch(r"[\w.-]+", name)
    if not right:
        return "This heading is not closed as it was opened.", f"Write [{name}] or [[{name}]]."
    pattern = re.compile(rf"\s*\[+{re.escape(name)}\]")
    first = next(i for i, text in enumerate(lines, 1) if pattern.match(text))
    message = f"The table {name} stands here again; the first is on line {first}."
    hint = f"If there are several, write [[{name}]] with double brackets each time; else join them."
    return message, hint


def _explain_value(key: str, value: str) -> tuple[str, str]:
    if not value:
        return f'"{key}" has no value.', f'Write for example {key} = "..." or delete the line.'
    if re.match(r"\d{1,4}[/.]\d{1,2}[/.]\d{1,4}\b|\d{4}-\d{1,2}-\d{1,2}$", value):
        return _explain_date(key, value)
    if _STRINGS.sub("", value).count('"') or _STRINGS.sub("", value).count("'"):
        return "A quote is missing.", f'Write: {key} = "{value.strip(chr(34) + chr(39))}"'
    if _opens(value):
        return "A bracket that is opened here is never closed.", "Add ] or } at its end."
    if re.fullmatch(r"(?i)true|false|yes|no|on|off", value):
        answer = "true" if value.lower() in ("true", "yes", "on") else "false"
        return f'"{value}" cannot be read.', f"Write: {key} = {answer}"
    if clock := re.fullmatch(r"(?i)(\d{1,2})(?:[:.h](\d\d)?)?(?::\d\d)?\s*([ap]m)?", value):
        return _explain_time(key, value, clock)
    if re.fullmatch(r"\d+,\d+", value):
        return "A number has a point, not a comma.", _with_point(key, value.replace(",", "."))
    if value.startswith("[") and "]" in value:
        return "Each word in a list stands in quotes.", f'Write for example {key} = ["one", "two"]'
    if value[0] == '"' and "\\" in value:
        return 'A "\\" means something special in quotes.', "Write it twice, or leave it out."
    if value[0] in "\"'[{":
        return "Something stands behind the end of this value.", "Keep one value on the line."
    if (number := figures(value)).isdecimal():
        return "Numbers are written in figures.", f"Write: {key} = {number}"
    if re.search(r"(?:19|20|21)\d\d", value):
        with contextlib.suppress(Unclear):
            day = read_date(value, dt.date(2000, 1, 1))
            return "Dates are written year-month-day.", f"Write: {key} = {day.isoformat()}"
    return "Text and quantities stand in quotes.", f'Write: {key} = "{value}"'


_PLAIN_NUMBERS = frozenset(
    ["priority", "efficiency", "latitude", "longitude", "price", "pace", "per_week"]
)
"""Keys whose value is a number without a unit."""


def _with_point(key: str, number: str) -> str:
    if key in _PLAIN_NUMBERS:
        return f"Write: {key} = {number}"
    return f'Write it with its unit, in quotes, like {key} = "{number} kg".'


def _as_value(written: str) -> str:
    """What stands for a value, in quotes where it is none by itself."""
    with contextlib.suppress(tomllib.TOMLDecodeError):
        tomllib.loads(f"value = {written}")
        return written
    return f'"{written.strip(chr(34))}"'


def _explain_date(key: str, value: str) -> tuple[str, str]:
    parts = [int(part) for part in re.findall(r"\d+", value)]
    orders = (parts[:3], [parts[2], parts[0], parts[1]], [parts[2], parts[1], parts[0]])
    ways: list[str] = []
    for year, month, day in orders:
        try:
            way = dt.date(year + 2000 if year < 100 else year, month, day).isoformat()
        except ValueError:
            continue
        if way not in ways and len(parts) >= 3 and (max(parts) > 99 or year == parts[2]):
            ways.append(way)
    if re.fullmatch(r"\d{4}-\d\d-\d\d", value) or not ways:
        return f"There is no such date as {value}.", "Write year-month-day: 2027-05-12."
    return "Dates are written year-month-day.", f"Write: {key} = " + " or ".join(ways)


def _explain_time(key: str, value: str, clock: re.Match[str]) -> tuple[str, str]:
    hour, minute = int(clock[1]), int(clock[2] or 0)
    if clock[3]:
        hour = hour % 12 + (12 if clock[3].lower() == "pm" else 0)
    elif ":" not in value and "." not in value and "h" not in value:
        return f'"{value}" cannot be read as a number.', f"Write: {key} = {int(clock[1])}"
    if hour > 23 or minute > 59:
        return f"There is no such time as {value}.", "Write hours and minutes: 18:30."
    return "Times are written with two digits each.", f"Write: {key} = {hour:02d}:{minute:02d}"
