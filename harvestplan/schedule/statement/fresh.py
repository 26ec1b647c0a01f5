"""What of each lot is eaten fresh, before anything is put by."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Fresh
from harvestplan.plan.models import Lot


def fresh_grams(
    lots: Sequence[Lot],
    fresh: Sequence[Fresh],
    library: Library,
    *,
    used: Mapping[str, int] = MappingProxyType({}),
) -> list[int]:
    """Grams of each lot eaten fresh: week by week, the oldest food still good goes first.

    `used` is what of each lot (by id) was put by already; it cannot be eaten again.
    """
    eaten = [0] * len(lots)
    there = [lot.grams - used.get(lot.id, 0) for lot in lots]
    for wish in fresh:
        crop = library.find_crop(wish.crop)
        if crop is None:
            continue
        order = sorted(
            (i for i, lot in enumerate(lots) if lot.crop == crop.name),
            key=lambda i: (lots[i].ready, lots[i].id),
        )
        for monday in _mondays(lots, order):
            _eat(lots, order, monday, hunger=round(wish.per_week), eaten=eaten, there=there)
    return eaten


def _mondays(lots: Sequence[Lot], order: Sequence[int]) -> list[dt.date]:
    weeks: dict[dt.date, None] = defaultdict(lambda: None)
    for i in order:
        day = lots[i].ready
        while day <= lots[i].keep_until:
            weeks[day - dt.timedelta(days=day.weekday())] = None
            day += dt.timedelta(days=1)
    return sorted(weeks)


def _eat(
    lots: Sequence[Lot],
    order: Sequence[int],
    monday: dt.date,
    *,
    hunger: int,
    eaten: list[int],
    there: Sequence[int],
) -> None:
    sunday = monday + dt.timedelta(days=6)
    for i in order:
        lot = lots[i]
        if lot.ready <= sunday and lot.keep_until >= monday and hunger > 0:
            bite = min(hunger, there[i] - eaten[i])
            eaten[i] += bite
            hunger -= bite
