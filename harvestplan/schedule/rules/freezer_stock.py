"""What lies of one product in one freezer, from day to day."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class StockDay:
    """A day on which something changes or is looked at.

    `promised` pouches of kept sessions come in, and those of the options whose variables are
    `made`; so many as `drawn` says are drawn at the most, as its variable has it, and `level` is
    the variable of what lies there before. None where there is no such variable.
    """

    day: dt.date
    promised: int
    made: tuple[int, ...]
    drawn: int | None
    draw: int
    level: int | None


@dataclass(frozen=True)
class Stock:
    """`at_start` pouches, then day by day."""

    at_start: int
    days: Sequence[StockDay]

    def when_drawn(self, values: Mapping[int, int]) -> Iterator[tuple[int, int]]:
        """The variables of levels and draws with their values, where as much is drawn as may be;
        `values` are those of the pouches."""
        lies = self.at_start
        for day in self.days:
            lies += day.promised + sum(values.get(made, 0) for made in day.made)
            if day.level is not None:
                yield day.level, lies
            if day.drawn is not None:
                taken = min(day.draw, lies)
                yield day.drawn, taken
                lies -= taken
