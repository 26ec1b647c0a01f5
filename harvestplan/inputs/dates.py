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


def say(date: dt.date) -> str:
    """Like "14 July"."""
    return f"{date.day} {MONTHS[date.month - 1]}"
