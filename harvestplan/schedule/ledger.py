"""The freezers day by day: what goes in, what is drawn, how full they are."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from harvestplan.inputs.draws import Draw
from harvestplan.inputs.season import SeasonSpan
from harvestplan.kitchen.kitchen import Kitchen
from harvestplan.plan import FreezerDay, Session

DAY = dt.timedelta(days=1)
LONGEST = 3 * 366
"""Days after which the ledger ends, even if something is never eaten."""


@dataclass(frozen=True)
class Shelf:
    """One product's place in the ledger: space in mL per pouch, its draw, pouches at the season's
    start (in the first freezer)."""

    product: str
    space: int
    draw: Draw | None
    stored: int


@dataclass(frozen=True)
class Arrival:
    """Pouches that go into a freezer on a day."""

    day: dt.date
    freezer: str
    product: str
    pouches: int
    grams: int


def arrivals(sessions: Iterable[Session]) -> list[Arrival]:
    """What each session's freeze tasks put away."""
    found = []
    for session in sessions:
        if session.status == "cancelled":
            continue
        products = {run.id: run.product for run in session.runs}
        for task in session.tasks:
            if task.step == "freeze" and task.run is not None:
                settings = task.settings
                found.append(
                    Arrival(
                        task.start.date(),
                        settings["freezer"],
                        products[task.run],
                        settings["pouches"],
                        task.grams,
                    )
                )
    return found


def freezer_days(
    kitchen: Kitchen,
    shelves: Sequence[Shelf],
    other_stored: dict[str, int],
    incoming: Sequence[Arrival],
    span: SeasonSpan,
    as_of: dt.date,
) -> tuple[FreezerDay, ...]:
    """A row per freezer and date from `as_of` to the last draw (at least to the season's end).

    Draws happen at the end of a day, from the freezers in their order; a portion that is not
    there when it is due is not drawn later.
    """
    if not kitchen.freezers:
        return ()
    names = [freezer.name for freezer in kitchen.freezers]
    stock = opening_stock(kitchen, shelves, incoming, span, as_of)
    by_day = _by_day(arrival for arrival in incoming if arrival.day >= as_of)
    start, season_end = as_of, span.end
    last_in = max((arrival.day for arrival in incoming), default=start)
    rows: list[FreezerDay] = []
    keep = 0
    day = start
    while (day - start).days < LONGEST:
        for arrival in by_day[day]:
            stock[arrival.product, arrival.freezer] += arrival.pouches
        rows += _rows(kitchen, shelves, other_stored, stock, by_day[day], day)
        drew = _draw(shelves, stock, names, day)
        if drew or day <= max(last_in, season_end):
            keep = len(rows)
        day += DAY
        if day > max(last_in, season_end) and not _more_to_draw(shelves, stock, day):
            break
    return tuple(rows[:keep])


def opening_stock(
    kitchen: Kitchen,
    shelves: Sequence[Shelf],
    incoming: Sequence[Arrival],
    span: SeasonSpan,
    as_of: dt.date,
) -> dict[tuple[str, str], int]:
    """Pouches by (product, freezer) at the beginning of `as_of`, drawn from the season's start."""
    names = [freezer.name for freezer in kitchen.freezers]
    stock: dict[tuple[str, str], int] = defaultdict(int)
    if not names:
        return stock
    for shelf in shelves:
        stock[shelf.product, names[0]] += shelf.stored
    by_day = _by_day(incoming)
    day = span.start
    while day < as_of:
        for arrival in by_day[day]:
            stock[arrival.product, arrival.freezer] += arrival.pouches
        _draw(shelves, stock, names, day)
        day += DAY
    return stock


def _by_day(incoming: Iterable[Arrival]) -> dict[dt.date, list[Arrival]]:
    by_day: dict[dt.date, list[Arrival]] = defaultdict(list)
    for arrival in incoming:
        by_day[arrival.day].append(arrival)
    return by_day


def _rows(
    kitchen: Kitchen,
    shelves: Sequence[Shelf],
    other_stored: dict[str, int],
    stock: dict[tuple[str, str], int],
    came: Sequence[Arrival],
    day: dt.date,
) -> list[FreezerDay]:
    rows = []
    for freezer in kitchen.freezers:
        used = int(freezer.used) + other_stored.get(freezer.name, 0)
        used += sum(shelf.space * stock[shelf.product, freezer.name] for shelf in shelves)
        rows.append(
            FreezerDay(
                date=day,
                name=freezer.name,
                used_ml=used,
                capacity_ml=int(freezer.volume),
                load_grams=sum(a.grams for a in came if a.freezer == freezer.name),
                load_limit_grams=kitchen.freezing_limit(freezer.name),
            )
        )
    return rows


def _draw(
    shelves: Sequence[Shelf], stock: dict[tuple[str, str], int], names: list[str], day: dt.date
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


def _more_to_draw(
    shelves: Sequence[Shelf], stock: dict[tuple[str, str], int], day: dt.date
) -> bool:
    return any(
        shelf.draw is not None
        and (shelf.draw.last is None or shelf.draw.last >= day)
        and any(count for (product, _), count in stock.items() if product == shelf.product)
        for shelf in shelves
    )
