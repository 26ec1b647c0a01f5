"""Which of the household's visits the season's decision needs: few, so that it stays small."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from itertools import takewhile

from harvestplan.inputs.windows import FreeWindow
from harvestplan.kitchen.process import Process
from harvestplan.plan.models import Lot, Session
from harvestplan.plan.spans import Stretch, overlap


def packing_visits(process: Process, windows: Sequence[FreeWindow], first: int) -> set[int]:
    """The numbers of the visits that may pack what a first sitting in window `first` laid on trays,
    once it is frozen: the next, since later ones would only dry it out, and those in time to which
    the household moved one."""
    if not process.packed_cold:
        return set()
    within = [w for w in second_windows(process, windows, first) if windows[w].is_visit]
    return {*within[:1], *(w for w in within if windows[w].extra)}


def second_windows(process: Process, windows: Sequence[FreeWindow], first: int) -> list[int]:
    """Windows, visits among them, in time for the packing of food put by in window `first`."""
    pause = process.pause
    if pause is None:
        return []
    limit_figure = process.product.steps[pause].pause_limit
    assert limit_figure is not None
    # From the first sitting's earliest end to the second's latest start the limit must hold.
    limit = dt.timedelta(seconds=limit_figure.value)
    least = dt.timedelta(seconds=process.wait_least)
    begun, ended = windows[first].start, windows[first].end
    after = range(first + 1, len(windows))
    near = takewhile(lambda w: windows[w].start - begun <= limit, after)
    return [
        w for w in near if windows[w].end - begun <= limit and windows[w].start - ended >= least
    ]


def with_visits(
    windows: Sequence[FreeWindow],
    visits: Sequence[FreeWindow],
    *,
    kept: Sequence[Session],
    processes: Sequence[Process],
    lots: Sequence[Lot],
) -> tuple[FreeWindow, ...]:
    """The windows, and those visits that may pack what one of them lays on trays, in order; none
    that meets a window or a kept session."""
    taken: list[Stretch] = [*windows, *kept]
    free = [visit for visit in visits if not any(overlap(visit, each) for each in taken)]
    every = sorted([*windows, *free], key=lambda window: (window.start, window.end))
    needed: set[int] = set()
    for process in (each for each in processes if each.packed_cold):
        for first, window in enumerate(every):
            if not window.is_visit and _any_fresh(process, window.start.date(), lots):
                needed |= packing_visits(process, every, first)
    return tuple(w for n, w in enumerate(every) if not w.is_visit or n in needed)


def _any_fresh(process: Process, day: dt.date, lots: Sequence[Lot]) -> bool:
    return any(lot.crop == process.crop.name and lot.ready <= day <= lot.keep_until for lot in lots)
