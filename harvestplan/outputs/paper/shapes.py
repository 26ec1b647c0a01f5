"""Charts as plain shapes: where each stands in percent, what it says in words and in numbers.

A `Plot` has amounts going up over time; a `Strips` has one strip of bars for each row. Shapes are
drawn as SVG stretched to the page, all text stands beside them as text.
"""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass

from harvestplan.inputs.dates import MONTHS

WEEK = dt.timedelta(days=7)
MOST_TICKS = 8
"""As many words as stand side by side under a chart on a phone."""
TICK_ROOM, LETTER_ROOM = 10.0, 3.4
"""Percent of a chart's width, on a phone or in a column of the printed book, that a word under it
takes at least, and each letter."""


@dataclass(frozen=True)
class Numbers:
    """What a chart shows, as a table: a heading for each column, rows of text."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Bar:
    """A rectangle in percent of its box, from the top left; `mark` is text upon it."""

    css: str
    x: float
    y: float
    width: float
    height: float
    mark: str = ""


@dataclass(frozen=True)
class Tick:
    """A word at a place along an axis, in percent."""

    at: float
    text: str


@dataclass(frozen=True)
class Key:
    """A line of a chart's key: the shape's class and what it stands for."""

    css: str
    text: str


@dataclass(frozen=True)
class Plot:
    """Bars and lines over time. `lines` are (css, SVG path in a box of 100 by 100)."""

    title: str
    sentence: str
    numbers: Numbers
    bars: tuple[Bar, ...]
    lines: tuple[tuple[str, str], ...]
    across: tuple[Tick, ...]
    up: tuple[Tick, ...]
    keys: tuple[Key, ...] = ()
    kind: str = "plot"
    now: float | None = None
    """Where today stands, in percent; None where it is outside."""


@dataclass(frozen=True)
class Strip:
    """A row of bars with its label."""

    label: str
    bars: tuple[Bar, ...]
    note: str = ""


@dataclass(frozen=True)
class Strips:
    """One strip of bars for each row."""

    title: str
    sentence: str
    numbers: Numbers
    strips: tuple[Strip, ...]
    across: tuple[Tick, ...]
    keys: tuple[Key, ...] = ()
    kind: str = "strips"
    now: float | None = None
    """Where today stands, in percent; None where it is outside."""


@dataclass(frozen=True)
class Span:
    """The dates a chart runs over, `end` not included."""

    start: dt.date
    end: dt.date

    def at(self, date: dt.date) -> float:
        """Where a date stands, in percent."""
        return percent((date - self.start).days, (self.end - self.start).days)

    def now(self, today: dt.date) -> float | None:
        """Where today stands, None before the span and after it."""
        return self.at(today) if self.start <= today < self.end else None

    def months(self) -> tuple[Tick, ...]:
        """A tick at the first of the months, of every second or third month in a long span."""
        year, month = self.start.year, self.start.month
        ticks = []
        while (first := dt.date(year, month, 1)) < self.end:
            if first >= self.start:
                ticks.append(tick(self.at(first), MONTHS[month - 1][:3]))
            year, month = (year, month + 1) if month < 12 else (year + 1, 1)
        return tuple(ticks[:: math.ceil(len(ticks) / MOST_TICKS) or 1])

    def mondays(self) -> list[dt.date]:
        weeks = math.ceil((self.end - self.start) / WEEK)
        return [self.start + WEEK * n for n in range(weeks)]


def tick(at: float, text: str) -> Tick:
    """A tick with its word to the right of it, or without where there is no room for it."""
    return Tick(at, text if at + max(TICK_ROOM, LETTER_ROOM * len(text)) <= 100 else "")


def percent(part: float, whole: float) -> float:
    """Where `part` lies along `whole`, for placing in a style; 0 along nothing."""
    return round(100 * part / whole, 2) if whole else 0.0


def monday_of(date: dt.date) -> dt.date:
    """The Monday of the date's week."""
    return date - dt.timedelta(days=date.weekday())


def outlines(bars: Iterable[Bar]) -> list[tuple[str, str]]:
    """Bars as (class, SVG path) in a box of 100 by 100, neighbours of a class in one path."""
    return [
        (css, "".join(f"M{b.x:g} {b.y:g}h{b.width:g}v{b.height:g}h-{b.width:g}z" for b in alike))
        for css, alike in itertools.groupby(bars, key=lambda bar: bar.css)
    ]
