"""Stretches of time: sessions, free windows, reserved times."""

from __future__ import annotations

import datetime as dt
from typing import Protocol

FIRST_YEAR, LAST_YEAR = 1970, 2100
"""Years of which a household plans, or writes in its diary; zone data of before are guesses."""
DAY = dt.timedelta(days=1)


def far_off(day: dt.date) -> str | None:
    """A sentence for a day of a year that nobody means; None for others."""
    if FIRST_YEAR <= day.year <= LAST_YEAR:
        return None
    return f"{day.isoformat()[:10]} lies outside the years {FIRST_YEAR} to {LAST_YEAR}"


class Stretch(Protocol):
    """What has a start and an end."""

    @property
    def start(self) -> dt.datetime: ...
    @property
    def end(self) -> dt.datetime: ...


def overlap(one: Stretch, other: Stretch) -> bool:
    """Whether both go on at some moment; where one ends as the other starts they do not."""
    return one.start < other.end and other.start < one.end
