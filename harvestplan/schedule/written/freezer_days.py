"""The freezers day by day: what goes in, what is drawn, how full they are."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence

from harvestplan.inputs.season import Season
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.plan.models import FreezerDay, Session
from harvestplan.plan.spans import DAY
from harvestplan.schedule.statement.freezer_burden import IceMade, ice_freezer, ice_made
from harvestplan.schedule.statement.freezer_loads import FreezerProduct, Load, arrivals, loads

LONGEST = 3 * 366
"""Days after which the ledger ends, even if something is never eaten."""


Stock = dict[tuple[str, str], int]
"""Pouches by product and freezer."""


def freezer_days(
    kitchen: Kitchen,
    shelves: Sequence[FreezerProduct],
    opening: Stock,
    *,
    other_stored: dict[str, int],
    sessions: Sequence[Session],
    season: Season,
    as_of: dt.date,
) -> tuple[FreezerDay, ...]:
    """A row per freezer and date from `as_of` to the last draw (at least to the season's end, where
    `as_of` is not past it).

    `opening` is what lies there on `as_of`, `other_stored` what else does all the time. Draws
    happen at the end of a day, from the freezers in their order; a portion that is not there when
    it is due is not drawn later.
    """
    if not kitchen.freezers:
        return ()
    names = [freezer.name for freezer in kitchen.freezers]
    stock: Stock = defaultdict(int, opening)
    made = ice_made(sessions, as_of) if ice_freezer(season) else []
    season_end = season.season.end
    coming = [each for each in arrivals(sessions) if not each.done and each.day >= as_of]
    burden = loads(sessions)
    last = max([season_end, as_of, *(each.day for each in coming)])
    rows: list[FreezerDay] = []
    keep = 0
    day = as_of
    while (day - as_of).days < LONGEST:
        for arrival in coming:
            if arrival.day == day:
                stock[arrival.product, arrival.freezer] += arrival.pouches
        rows += _rows(kitchen, shelves, other_stored, stock=stock, burden=burden, ice=made, day=day)
        drew = _draw(shelves, stock, names, day=day)
        if drew or day <= last:
            keep = len(rows)
        day += DAY
        if day > last and not _more_to_draw(shelves, stock, day):
            break
    return tuple(rows[:keep])


def _rows(
    kitchen: Kitchen,
    shelves: Sequence[FreezerProduct],
    other_stored: dict[str, int],
    *,
    stock: Stock,
    burden: Sequence[Load],
    ice: Sequence[IceMade],
    day: dt.date,
) -> list[FreezerDay]:
    rows = []
    for place, freezer in enumerate(kitchen.freezers):
        # Ice is made in the first freezer.
        frozen = [each for each in ice if each.day == day and place == 0]
        used = int(freezer.used) + other_stored.get(freezer.name, 0)
        used += sum(shelf.space * stock[shelf.product, freezer.name] for shelf in shelves)
        used += sum(each.space for each in frozen)
        rows.append(
            FreezerDay(
                date=day,
                name=freezer.name,
                used_ml=used,
                capacity_ml=int(freezer.volume),
                load_grams=sum(
                    load.grams
                    for load in burden
                    if load.freezer == freezer.name and load.start.date() == day
                )
                + sum(each.load for each in frozen),
                load_limit_grams=kitchen.freezing_limit(freezer.name),
            )
        )
    return rows


def _draw(
    shelves: Sequence[FreezerProduct], stock: Stock, names: list[str], *, day: dt.date
) -> bool:
    drew = False
    for shelf in shelves:
        if shelf.draw is None:
            continue
        due = shelf.draw.target(day) - shelf.draw.target(day - DAY)
        for name in names:
            taken = min(due, stock[shelf.product, name])
            stock[shelf.product, name] -= taken
            due -= taken
            drew = drew or taken > 0
    return drew


def _more_to_draw(shelves: Sequence[FreezerProduct], stock: Stock, day: dt.date) -> bool:
    return any(
        shelf.draw is not None
        and (shelf.draw.last is None or shelf.draw.last >= day)
        and any(count for (product, _), count in stock.items() if product == shelf.product)
        for shelf in shelves
    )
