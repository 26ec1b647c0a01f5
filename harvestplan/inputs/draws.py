"""What the household draws from the freezer, week by week."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass

from harvestplan.inputs.season import Want


@dataclass(frozen=True)
class Draw:
    """Portions a week from `first` to `last` (None: until it is gone)."""

    per_week: float
    first: dt.date
    last: dt.date | None

    def target(self, day: dt.date) -> int:
        """Portions meant to be drawn up to and including `day`, if they were there."""
        until = day if self.last is None else min(day, self.last)
        if until < self.first:
            return 0
        return math.floor(self.per_week * ((until - self.first).days + 1) / 7 + 1e-9)

    def events(self, start: dt.date, end: dt.date) -> list[tuple[dt.date, int]]:
        """Days from start to end on which something is drawn, with the portions."""
        events = []
        day = max(start, self.first)
        drawn = self.target(day - dt.timedelta(days=1))
        while day <= end and (self.last is None or day <= self.last):
            due = self.target(day)
            if due > drawn:
                events.append((day, due - drawn))
                drawn = due
            day += dt.timedelta(days=1)
        return events


def draw_of(want: Want, season_end: dt.date) -> Draw | None:
    """The want's weekly draw, from the day after the season unless it says; None without one."""
    if want.per_week is None:
        return None
    return Draw(want.per_week, want.from_ or season_end + dt.timedelta(days=1), want.until)
