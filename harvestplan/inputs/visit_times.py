"""When a short visit to the kitchen suits a household: as it writes it, and day by day."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from pydantic import BeforeValidator

from harvestplan.inputs.quantities import QuantityError

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
SHORTEST, LONGEST = dt.timedelta(minutes=15), dt.timedelta(hours=2)
"""What is shorter packs nothing; what is longer is an evening, and a [[window]] (own judgement)."""
SHIFTED_AT_MOST = dt.timedelta(hours=2)
"""So far from its usual time a visit makes room for a window or a busy entry (own judgement)."""
EARLIEST, LATEST = dt.time(7), dt.time(22)
"""Nobody is asked into the kitchen before or after, where a visit makes room (own judgement)."""
HINT = 'Write it like "17:30-18:00", "mon-fri 17:30-18:00, sat sun 10:00-10:45", or "none".'
_PART = re.compile(r"(?P<days>[a-z][a-z \-]*?)? ?(?P<start>\d{1,2}:\d\d) ?- ?(?P<end>\d{1,2}:\d\d)")
_MOST_TEXT = 200

Span = tuple[dt.datetime, dt.datetime]


@dataclass(frozen=True)
class VisitTime:
    """A stretch in which a visit suits, by the clock on the wall, on these days of the week."""

    days: tuple[str, ...]
    start: dt.time
    end: dt.time


USUAL_VISITS = "17:30-18:00"
"""Half an hour in the early evening (own judgement)."""


def visit_times(words: str) -> tuple[VisitTime, ...]:
    """Reads "mon-fri 17:30-18:00, sat 10:00-10:30"; "none" is no visit at all.

    Raises QuantityError with the way to write it.
    """
    if len(words) > _MOST_TEXT:
        raise QuantityError("that is too much text.", HINT)
    text = " ".join(words.lower().replace("–", "-").split())
    if text == "none":
        return ()
    return tuple(_visit_time(part.strip(), text) for part in text.split(","))


def _read(value: Any) -> str:
    if not isinstance(value, str):
        raise QuantityError("when visits suit is text in quotes.", HINT)
    visit_times(value)
    return value


VisitWords = Annotated[str, BeforeValidator(_read)]
"""When visits suit, as a household writes it."""


def _visit_time(part: str, written: str) -> VisitTime:
    found = _PART.fullmatch(part)
    if found is None:
        raise QuantityError(f'"{written}" does not say when visits suit.', HINT)
    try:
        start, end = (dt.time.fromisoformat(found[key].rjust(5, "0")) for key in ("start", "end"))
    except ValueError:
        raise QuantityError(f'"{part}" has a time that no clock shows.', HINT) from None
    long = dt.datetime.combine(dt.date.min, end) - dt.datetime.combine(dt.date.min, start)
    if not SHORTEST <= long <= LONGEST:
        raise QuantityError(
            f'"{part}" is no visit: one takes 15 minutes to 2 hours.',
            "For more time in the kitchen add a [[window]].",
        )
    return VisitTime(_days(found["days"], written), start, end)


def _days(text: str | None, written: str) -> tuple[str, ...]:
    """The days of "mon-fri", "sat sun"; all of them where none is named."""
    if text is None:
        return DAYS
    found: set[str] = set()
    for word in re.sub(r" ?- ?", "-", text).split():
        first, _, last = word.partition("-")
        if first not in DAYS or (last and last not in DAYS):
            raise QuantityError(f'"{written}": I know no day "{word}".', HINT)
        count = (DAYS.index(last or first) - DAYS.index(first)) % len(DAYS)
        found |= {DAYS[(DAYS.index(first) + n) % len(DAYS)] for n in range(count + 1)}
    return tuple(day for day in DAYS if day in found)


def visits_beside(
    times: Sequence[VisitTime], day: dt.date, taken: Sequence[Span], zone: ZoneInfo
) -> Iterator[Span]:
    """The day's visits in UTC, in order; each is moved by up to two hours to lie beside what is
    `taken` (in UTC), or left out where there is no room."""
    found: list[Span] = []
    for time in times:
        if DAYS[day.weekday()] in time.days:
            place = _place(time, day, [*taken, *found], zone)
            if place is not None:
                found.append(place)
    yield from sorted(found)


def _place(time: VisitTime, day: dt.date, taken: Sequence[Span], zone: ZoneInfo) -> Span | None:
    """Where the visit lies that day, as near to its own time as may be, the earlier of two."""
    start, end, first, last = (
        dt.datetime.combine(day, each, zone).astimezone(dt.UTC)
        for each in (time.start, time.end, min(EARLIEST, time.start), max(LATEST, time.end))
    )
    long = end - start
    if long < SHORTEST:
        return None  # the clocks skip it
    near = [s for s in taken if s[0] < last and first < s[1]]
    begins = [start, *(s[0] - long for s in near), *(s[1] for s in near)]
    free = [
        begin
        for begin in begins
        if first <= begin
        and begin + long <= last
        and abs(begin - start) <= SHIFTED_AT_MOST
        and not any(s[0] < begin + long and begin < s[1] for s in near)
    ]
    best = min(free, key=lambda begin: (abs(begin - start), begin), default=None)
    return None if best is None else (best, best + long)
