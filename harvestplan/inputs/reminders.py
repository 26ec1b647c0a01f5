"""When the household wants to be reminded of a session: "the evening before 19:00", "1 h"."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BeforeValidator

from harvestplan.inputs.quantities import QuantityError, read_quantity

EVENING = dt.time(19)
WAKING = dt.time(7)
"""Before it nobody is reminded unless they say so (common practice, no source)."""
_WAY = 'Write "the evening before 19:00", "that morning 8:00" or a time before it, as "1 h".'
_CLOCK = re.compile(
    r"(?:on )?(?:the (?P<before>evening|day) before|(?:that|the same) (?:morning|day))"
    r"(?: at)?(?: (?P<hour>\d{1,2}):(?P<minute>\d\d))?"
)
_LONGEST = 7 * 86400.0


@dataclass(frozen=True)
class Reminder:
    """At a time of day `days` before, or so many `seconds` before it begins (`at` is None)."""

    days: int = 0
    at: dt.time | None = None
    seconds: float = 0.0

    def moment(self, start: dt.datetime) -> dt.datetime:
        """When it rings for what begins at `start`, an aware time by the household's clock.

        A span of time that would ring before WAKING rings then, or the evening before what begins
        by then.
        """
        if self.at is not None:
            day = start.date() - dt.timedelta(days=self.days)
            return dt.datetime.combine(day, self.at, start.tzinfo)
        instant = start.astimezone(dt.UTC) - dt.timedelta(seconds=self.seconds)
        rings = instant.astimezone(start.tzinfo)
        if rings.time() >= WAKING:
            return rings
        waking = dt.datetime.combine(rings.date(), WAKING, start.tzinfo)
        if waking < start:
            return waking
        eve = start.date() - dt.timedelta(days=1)
        return dt.datetime.combine(eve, EVENING, start.tzinfo)


USUAL_REMINDERS = (Reminder(seconds=7200.0),)


def _read(value: Any) -> Reminder:
    if isinstance(value, Reminder):
        return value
    text = " ".join(str(value).lower().split()) if isinstance(value, str) else ""
    clock = _CLOCK.fullmatch(text)
    if clock is None:
        return _span(value, text)
    if clock["hour"] is None and clock["before"] is None:
        raise QuantityError(f'"{value}" does not say at what time.', _WAY)
    hour, minute = int(clock["hour"] or EVENING.hour), int(clock["minute"] or 0)
    if hour > 23 or minute > 59:
        raise QuantityError(f'"{value}" is no time of day.', _WAY)
    return Reminder(days=1 if clock["before"] else 0, at=dt.time(hour, minute))


def _span(value: Any, text: str) -> Reminder:
    try:
        seconds = read_quantity(text.removesuffix(" before"), "time", "US").value
    except QuantityError:
        raise QuantityError(f'"{value}" is no time to be reminded at.', _WAY) from None
    if seconds > _LONGEST:
        raise QuantityError(f'"{value}" is longer than a week.', _WAY)
    return Reminder(seconds=seconds)


RemindAt = Annotated[Reminder, BeforeValidator(_read)]
"""A reminder as people write it."""
