"""When the kitchen is free: the household's windows, less days away and busy calendars; and when
somebody can look in for a visit."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.season import Season
from harvestplan.inputs.visit_times import DAYS, visit_times, visits_beside
from harvestplan.plan.spans import DAY, overlap

SHORTEST_PIECE = dt.timedelta(minutes=45)
"""What a busy entry leaves of a window is kept from this length on (common practice, no source)."""
WEEKDAYS = DAYS


@dataclass(frozen=True)
class FreeWindow:
    """A stretch of free kitchen time, in the household's zone.

    `extra` tells that it lies outside the usual weekly pattern. In one of kind "visit" somebody
    looks in for a moment, to pack what froze on trays. Over a change of the clocks
    take lengths from UTC: Python subtracts times of one zone by the clock on the wall.
    """

    start: dt.datetime
    end: dt.datetime
    hands: int
    extra: bool
    kind: Literal["session", "visit"] = "session"

    @property
    def is_visit(self) -> bool:
        return self.kind == "visit"


@dataclass(frozen=True)
class FreeTimes:
    """Windows for sessions and times for visits, each in order of time, and a warning for each busy
    entry that could not be read."""

    windows: tuple[FreeWindow, ...]
    visits: tuple[FreeWindow, ...]
    warnings: tuple[str, ...]


def free_times(season: Season, folder: Path) -> FreeTimes:
    """All free times of the season.

    No windows overlap: overlapping ones become one, with as many hands as are there all along. A
    window that a busy entry cuts leaves its pieces of 45 minutes or more. A visit lies beside them
    and busy entries, on days at home. `folder` holds the busy calendars. Raises FilesNeedMending
    for a calendar that cannot be read at all.
    """
    zone = ZoneInfo(season.household.timezone)
    busy, warnings = _busy(season, folder, zone)
    free: list[FreeWindow] = []
    for union in _unite(_windows(season, zone)):
        free += _cut(union, busy)
    taken = [*busy, *((window.start, window.end) for window in free)]
    times = visit_times(season.season.visits)
    visits = (
        FreeWindow(start, end, hands=1, extra=False, kind="visit")
        for day in days_at_home(season)
        for start, end in visits_beside(times, day, taken, zone)
    )
    return FreeTimes(
        windows=tuple(_in_zone(window, zone) for window in free),
        visits=tuple(_in_zone(visit, zone) for visit in visits),
        warnings=tuple(warnings),
    )


def keep_free(
    windows: Sequence[FreeWindow], taken: Sequence[tuple[dt.date, dt.time | None]]
) -> tuple[FreeWindow, ...]:
    """The windows without those of the days named, or without the one around the time named."""
    return tuple(w for w in windows if not any(_holds(w, day, time) for day, time in taken))


def _holds(window: FreeWindow, day: dt.date, time: dt.time | None) -> bool:
    if time is None:
        return window.start.date() == day
    moment = dt.datetime.combine(day, time, window.start.tzinfo)
    return window.start <= moment < window.end


def with_chosen(
    windows: Sequence[FreeWindow], chosen: Sequence[FreeWindow]
) -> tuple[FreeWindow, ...]:
    """The windows with each chosen time in them, from exactly where it starts.

    It goes on to the end of the windows it touches; what they have before it stays a window if
    it is 45 minutes or longer. Outside of them the chosen time itself is free. Visits chosen are
    no windows.
    """
    found = list(windows)
    for one in (each for each in chosen if not each.is_visit):
        touched = [w for w in found if overlap(w, one)]
        found = [w for w in found if w not in touched]
        # Times of one zone are subtracted by the clock on the wall; in UTC they are real.
        found += [
            replace(w, end=one.start)
            for w in touched
            if one.start.astimezone(dt.UTC) - w.start.astimezone(dt.UTC) >= SHORTEST_PIECE
        ]
        found.append(_stretched(one, touched))
    return tuple(sorted(found, key=lambda w: w.start))


def with_chosen_visits(
    visits: Sequence[FreeWindow], chosen: Sequence[FreeWindow]
) -> tuple[FreeWindow, ...]:
    """The visits with those chosen in them, in place of what they overlap."""
    ours = [one for one in chosen if one.is_visit]
    others = (visit for visit in visits if not any(overlap(visit, one) for one in ours))
    return tuple(sorted([*ours, *others], key=lambda visit: visit.start))


def _stretched(one: FreeWindow, touched: Sequence[FreeWindow]) -> FreeWindow:
    end = max([one.end, *(w.end for w in touched)])
    inside = any(w.start <= one.start and one.end <= w.end for w in touched)
    hands = min([w.hands for w in touched] + ([] if inside else [one.hands]))
    return FreeWindow(one.start, end, hands, extra=not inside or all(w.extra for w in touched))


def _windows(season: Season, zone: ZoneInfo) -> Iterator[FreeWindow]:
    """Pattern and extra windows on days at home, in UTC."""
    usual = season.household.hands
    for day in days_at_home(season):
        for window in season.window:
            if WEEKDAYS[day.weekday()] in window.days:
                yield _on(
                    day,
                    window.start,
                    window.end,
                    hands=window.hands or usual,
                    extra=False,
                    zone=zone,
                )
        for extra in season.extra_window:
            if extra.date == day:
                yield _on(
                    day,
                    extra.start,
                    extra.end,
                    hands=extra.hands or usual,
                    extra=True,
                    zone=zone,
                )


def days_at_home(season: Season) -> Iterator[dt.date]:
    """Every day of the season on which the household is not away."""
    day = season.season.start
    while day <= season.season.end:
        if not any(away.start <= day <= away.end for away in season.away):
            yield day
        day += DAY


def _on(
    day: dt.date, start: dt.time, end: dt.time, *, hands: int, extra: bool, zone: ZoneInfo
) -> FreeWindow:
    """A window by the clock on the wall; a time that the clocks skip moves on with them."""
    begin, finish = (dt.datetime.combine(day, t, zone).astimezone(dt.UTC) for t in (start, end))
    return FreeWindow(begin, finish, hands, extra=extra)


def _unite(windows: Iterable[FreeWindow]) -> Iterator[FreeWindow]:
    """Join windows that overlap; windows that only touch stay two."""
    group: list[FreeWindow] = []
    end: dt.datetime | None = None
    for window in sorted(windows, key=lambda each: (each.start, each.end)):
        if window.end <= window.start:
            continue  # all of it falls into the hour that the clocks skip
        if end is not None and window.start >= end:
            yield _joined(group)
            group, end = [], None
        group.append(window)
        end = max(end or window.end, window.end)
    if group:
        yield _joined(group)


def _joined(group: Sequence[FreeWindow]) -> FreeWindow:
    edges = sorted({edge for window in group for edge in (window.start, window.end)})
    hands = min(
        max(window.hands for window in group if window.start <= edge < window.end)
        for edge in edges[:-1]
    )
    return FreeWindow(edges[0], edges[-1], hands, extra=all(window.extra for window in group))


def _cut(
    window: FreeWindow, busy: Sequence[tuple[dt.datetime, dt.datetime]]
) -> Iterator[FreeWindow]:
    """What is left of a window between busy intervals that are in order of their starts."""
    begin, whole = window.start, True
    for start, end in busy:
        if end <= begin or start >= window.end:
            continue
        whole = False
        if start - begin >= SHORTEST_PIECE:
            yield FreeWindow(begin, start, window.hands, extra=window.extra)
        begin = max(begin, end)
    if whole or window.end - begin >= SHORTEST_PIECE:
        yield FreeWindow(begin, window.end, window.hands, extra=window.extra)


def _in_zone(window: FreeWindow, zone: ZoneInfo) -> FreeWindow:
    start, end = window.start.astimezone(zone), window.end.astimezone(zone)
    return replace(window, start=start, end=end)


def _busy(
    season: Season, folder: Path, zone: ZoneInfo
) -> tuple[list[tuple[dt.datetime, dt.datetime]], list[str]]:
    """Busy intervals in UTC with the time for travel on each side, in order, and warnings."""
    if not season.calendars.busy:
        return [], []
    from harvestplan.inputs.busy import read_busy  # slow to import, so only where there is one

    travel = dt.timedelta(seconds=season.calendars.travel)
    spans: list[tuple[dt.datetime, dt.datetime]] = []
    warnings: list[str] = []
    for name in dict.fromkeys(season.calendars.busy):
        path = (folder / name).resolve()
        if not path.is_relative_to(folder.resolve()):
            message = "This calendar lies outside the season folder."
            raise FilesNeedMending(
                [Flaw(name, None, "", message=message, hint="Copy it into the folder.")]
            )
        found, said = read_busy(path, zone, season.season.start, last=season.season.end)
        spans += [(start - travel, end + travel) for start, end in found]
        warnings += said
    return sorted(spans), warnings
