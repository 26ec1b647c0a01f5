"""What lies in store, counted from the season file's start and the diary."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from harvestplan.inputs.crops import Library
from harvestplan.inputs.draws import draw_of
from harvestplan.inputs.season import Season, Want
from harvestplan.records.diary import Diary
from harvestplan.records.events import Ate, Count, Event, Froze, Gone

WEEK = dt.timedelta(days=7)


@dataclass(frozen=True)
class Batch:
    """Portions of a product put by on one day; `best_before` is quality, not safety."""

    put_by: dt.date
    portions: int
    best_before: dt.date


@dataclass(frozen=True)
class Shelf:
    """A product in store, oldest batch first.

    `eaten` are the portions eaten; `due` those the household meant to have drawn by now, or None
    where it named no weekly draw.
    """

    product: str
    batches: tuple[Batch, ...]
    eaten: int
    due: int | None

    @property
    def portions(self) -> int:
        return sum(batch.portions for batch in self.batches)


def stock(season: Season, library: Library, diary: Diary, today: dt.date) -> tuple[Shelf, ...]:
    """Every product that is or was in store up to and including `today`, in the library's names.

    What is eaten, given or lost is taken from the oldest portions. A count sets the number: what
    is too many is taken from the oldest, what is too few is put down to the day of the count.
    """
    store = _Store()
    for item in season.stored:
        store.add(item.product, item.frozen_on, item.portions)
    for event in sorted(diary.events, key=lambda event: event.date):
        if event.date <= today:
            _apply(store, event)
    wants = {want.product: want for want in season.want}
    return tuple(
        Shelf(
            product=product,
            batches=tuple(
                Batch(day, count, day + _keeps(library, product))
                for day, count in sorted(store.batches[product].items())
                if count
            ),
            eaten=store.eaten[product],
            due=_due(wants.get(product), season.season.end, today),
        )
        for product in sorted(store.batches)
    )


class _Store:
    def __init__(self) -> None:
        self.batches: dict[str, dict[dt.date, int]] = defaultdict(dict)
        self.eaten: dict[str, int] = defaultdict(int)

    def add(self, product: str, day: dt.date, portions: int) -> None:
        batch = self.batches[product]
        batch[day] = batch.get(day, 0) + portions

    def take(self, product: str, portions: int) -> None:
        batch = self.batches[product]
        for day in sorted(batch):
            taken = min(portions, batch[day])
            batch[day] -= taken
            portions -= taken


def _apply(store: _Store, event: Event) -> None:
    match event:
        case Froze():
            store.add(event.product, event.date, event.portions)
        case Ate():
            store.take(event.product, event.portions)
            store.eaten[event.product] += event.portions
        case Gone(portions=int(portions)):
            store.take(event.name, portions)
        case Count():
            there = sum(store.batches[event.product].values())
            if event.portions < there:
                store.take(event.product, there - event.portions)
            elif event.portions > there:
                store.add(event.product, event.date, event.portions - there)
        case _:
            pass


def _keeps(library: Library, product: str) -> dt.timedelta:
    found = library.find_product(product)
    return dt.timedelta(seconds=found[1].keeps.value if found else 0)


def _due(want: Want | None, season_end: dt.date, today: dt.date) -> int | None:
    """Portions meant to be drawn up to and including today, as the planner counts them."""
    draw = draw_of(want, season_end) if want else None
    return draw.target(today) if draw else None


def use_first(shelves: Iterable[Shelf], today: dt.date, weeks: int = 4) -> tuple[Shelf, ...]:
    """Shelves whose oldest portions pass their best-before date within so many weeks."""
    return tuple(
        shelf
        for shelf in shelves
        if shelf.batches and shelf.batches[0].best_before <= today + weeks * WEEK
    )
