"""One entry of a calendar file, before it is written: what, when, where, and when it rings."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Callable
from dataclasses import dataclass

from harvestplan.plan.models import Plan
from harvestplan.words import one_line

LIMIT = 79
MOST_LINES = 15
"""Lines of a description at most, the household's own notes aside: a phone's screen."""
Uid = Callable[[str], str]
"""The UID of what has this key in the season."""
_SPACE = uuid.UUID("5b0c0f7e-6a52-5c64-9f3c-5a1f0c3c9d11")


@dataclass(frozen=True)
class Ring:
    """A reminder, so long before the entry begins."""

    before: dt.timedelta
    text: str


@dataclass(frozen=True)
class Entry:
    """One entry. `start` and `end` are aware times in whole minutes, or dates with `end` exclusive
    (RFC 5545, 3.6.1). `sequence` is the plan's own number of it, where the plan counts."""

    uid: str
    start: dt.datetime | dt.date
    end: dt.datetime | dt.date
    summary: str
    description: str
    status: str
    busy: bool
    rings: tuple[Ring, ...] = ()
    place: str = ""
    sequence: int | None = None

    @property
    def cancelled(self) -> bool:
        return self.status == "CANCELLED"


def entry_uid(plan: Plan, seed: str | None, key: str) -> str:
    """A UUID of `key` in this season, the same in every plan (RFC 7986, 5.3).

    `seed` is the season's own (`SeasonId.seed`); without one it is the household's name.
    """
    name = f"{seed or plan.season.name}|{plan.season.start.year}|{key}"
    return str(uuid.uuid5(_SPACE, name.encode("utf-8", "backslashreplace").decode()))


def local_date(moment: dt.datetime | dt.date) -> dt.date:
    """The date of a moment in its own zone."""
    return moment.date() if isinstance(moment, dt.datetime) else moment


def all_day(uid: str, date: dt.date, *, summary: str, lines: list[str], rings: tuple[Ring, ...] = ()
            ) -> Entry:  # fmt: skip
    """An entry for the whole of a day, on which one is free all the same."""
    return Entry(
        uid=uid,
        start=date,
        end=date + dt.timedelta(days=1),
        summary=summary,
        description="\n".join(shortened([one_line(line) for line in lines])),
        status="CONFIRMED",
        busy=False,
        rings=rings,
    )


def shortened(lines: list[str], most: int = MOST_LINES) -> list[str]:
    """The lines, or the first of them and how many more there are."""
    if len(lines) <= most:
        return lines
    return [*lines[: most - 1], f"and {len(lines) - most + 1} more"]


def food_first(foods: list[str], rest: str) -> str:
    """A title that begins with its foods: "Snap bean and chard, 14 bags". Where they are too long
    for a line, the last of them give way."""
    for kept in range(len(foods), 0, -1):
        more = len(foods) - kept
        told = [*foods[:kept], *([f"{more} more"] if more else [])]
        named = ", ".join(told[:-1]) + f" and {told[-1]}" if len(told) > 1 else told[0]
        title = one_line(f"{named[:1].upper()}{named[1:]}{rest}")
        if len(title) <= LIMIT:
            return title
    return one_line(f"{one_line(foods[0], LIMIT - len(rest) - 1)}{rest}", LIMIT)


def minute(moment: dt.datetime, up: bool = False) -> dt.datetime:
    """The whole minute before the moment, or `up` to the one after it."""
    whole = moment.replace(second=0, microsecond=0)
    return whole + dt.timedelta(minutes=1) if up and whole != moment else whole
