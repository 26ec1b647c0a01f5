"""Fields of forms, read as people type them; what cannot be used is Wrong, at its field."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence

from harvestplan.errors import steers
from harvestplan.page.site import Wrong
from harvestplan.words import one_line

LONGEST = 200
UNITS = {
    "US": ("lb", "oz", "kg", "g", "US qt", "US cups"),
    "UK": ("lb", "oz", "kg", "g", "UK pints", "L"),
    "metric": ("kg", "g", "L"),
}
"""What food is weighed or measured in, the usual unit first."""
COMMA = re.compile(r"(\d),(\d)")


def text_sent(form: Mapping[str, str], name: str, *, longest: int = LONGEST) -> str:
    """A line of text; nothing in it that cannot be seen."""
    text = one_line(form.get(name, ""))
    if any(map(steers, form.get(name, "").strip())):
        raise Wrong("There is a character in this that cannot be seen. Type it anew.", name)
    if len(text) > longest:
        raise Wrong(f"Write at most {longest} letters.", name)
    return text


def number_sent(form: Mapping[str, str], name: str, low: int, high: int) -> int:
    """A whole number from `low` to `high`."""
    said = form.get(name, "").strip()
    if not re.fullmatch(r"[0-9]{1,6}", said) or not low <= int(said) <= high:
        raise Wrong(f"Write a whole number from {low} to {high}.", name)
    return int(said)


def one_of(form: Mapping[str, str], name: str, allowed: Sequence[str]) -> str:
    """One of the answers that stood there to be chosen."""
    said = form.get(name, "")
    if said not in allowed:
        raise Wrong("Choose one of those that stand there.", name)
    return said


def day_sent(form: Mapping[str, str], usual: dt.date, name: str = "on") -> dt.date:
    """A day as browsers send it; `usual` where none was sent."""
    said = form.get(name, "").strip()
    if not said:
        return usual
    try:
        day = dt.date.fromisoformat(said)
    except ValueError:
        raise Wrong(
            "There is no such day. Choose one, or write it like 2027-07-14.", name
        ) from None
    if not 1950 <= day.year <= 2200:
        raise Wrong("Look at the year.", name)
    return day


def time_sent(form: Mapping[str, str], name: str) -> dt.time:
    """A time of day as browsers send it."""
    said = form.get(name, "").strip()
    try:
        time = dt.time.fromisoformat(said if len(said) > 4 else f"0{said}")
    except ValueError:
        time = None
    if time is None or time.tzinfo is not None:
        raise Wrong("Write a time like 18:30.", name)
    return time.replace(second=0, microsecond=0)


def amount_sent(form: Mapping[str, str], name: str, measures: str) -> str:
    """An amount with its unit: a number beside a list of units, or both in one field; a decimal
    comma is as good as a point."""
    said = COMMA.sub(r"\1.\2", text_sent(form, name))
    unit = form.get(f"{name}_unit", "")
    if not said:
        raise Wrong("How much was it? Write a number.", name)
    if re.search(r"[A-Za-z]", said):
        return said
    return f"{said} {one_of(form, f'{name}_unit', UNITS[measures])}" if unit else said
