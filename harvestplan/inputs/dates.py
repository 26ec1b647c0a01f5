"""Names of days and months, and dates as people say them.

The time library's own names would follow the computer's language.
"""

from __future__ import annotations

import datetime as dt

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def anniversary(date: dt.date, year: int) -> dt.date:
    """The same day in another year; 29 February becomes the 28th where there is none."""
    try:
        return date.replace(year=year)
    except ValueError:
        return date.replace(year=year, day=28)


def say(date: dt.date) -> str:
    """Like "14 July"."""
    return f"{date.day} {MONTHS[date.month - 1]}"
