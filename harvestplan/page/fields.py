"""Fields of forms, read as people type them; what cannot be used is Wrong, at its field."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence

from harvestplan.errors import has_steering
from harvestplan.inputs.spoken.said_amounts import read_amount
from harvestplan.inputs.spoken.said_dates import read_date
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.page.site import Wrong
from harvestplan.words import one_line

LONGEST = 200
UNITS = {
    "US": ("lb", "oz", "kg", "g", "US qt", "US cups"),
    "UK": ("lb", "oz", "kg", "g", "UK pints", "L"),
    "metric": ("kg", "g", "L"),
}
"""What food is weighed or measured in, the usual unit first."""


def text_sent(form: Mapping[str, str], name: str, *, longest: int = LONGEST) -> str:
    """A line of text; nothing in it that cannot be seen."""
    text = one_line(form.get(name, ""))
    if has_steering(form.get(name, "").strip()):
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
    """A day as browsers send it, or in words seen from `usual`, which is the day where none was
    sent."""
    said = text_sent(form, name)
    if not said:
        return usual
    day = read_day(said, name, usual if usual > dt.date.min else dt.date.today())
    if not 1950 <= day.year <= 2200:
        raise Wrong("Look at the year.", name)
    return day


def read_day(said: str, name: str, today: dt.date) -> dt.date:
    """The day that is meant: "2027-07-14", "yesterday", "15.5."; raises Wrong, with both where it
    may be two."""
    try:
        return dt.date.fromisoformat(said)
    except ValueError:
        pass
    try:
        return read_date(said, today)
    except Unclear as error:
        if error.choices:
            raise Wrong.unclear(error, name) from None
        raise Wrong(
            "There is no such day. Choose one, or write it like 2027-07-14.", name
        ) from None


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
    """An amount with its unit, written plainly: a number beside a list of units, or both in one
    field, in one's own words: "8,5", "half a bushel". Raises Wrong, with both readings of what has
    two; what is no amount by itself, like "a dozen ears", comes back as it is."""
    said = text_sent(form, name)
    if not said:
        raise Wrong("How much was it? Write a number.", name)
    alone = not re.search(r"[A-Za-z]", said)
    unit = f"{name}_unit"
    units = (one_of(form, unit, UNITS[measures]),) if alone and form.get(unit) else ()
    try:
        return read_amount(said, ("mass", "volume"), measures, units=units)[1]
    except Unclear as error:
        if error.choices or units:
            raise Wrong.unclear(error, name) from None
        return said
