"""What to eat in the weeks ahead so that nothing passes its best."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from harvestplan.inputs.crops import Library
from harvestplan.inputs.draws import draw_of
from harvestplan.inputs.season import Season
from harvestplan.records.stock import StoredBatch, StoredProduct

DAYS = 30
"""A month, counted from today."""


@dataclass(frozen=True)
class Use:
    """Portions of a product to eat by a day, the oldest first: so many of each batch.

    `meant` of them are the weekly draw; `pressing` says that the draw alone would let portions
    pass their best, in this month or later.
    """

    product: str
    portions: int
    by: dt.date
    batches: tuple[StoredBatch, ...]
    meant: int
    pressing: bool


def use_up(
    shelves: Iterable[StoredProduct],
    season: Season,
    library: Library,
    *,
    today: dt.date,
    days: int = DAYS,
) -> tuple[Use, ...]:
    """What to eat of each product in so many days, those soonest past their best first.

    At least the weekly draw, as far as there are portions; more where only that lets every portion
    be eaten by its best-before day at an even pace. What is past its best already is eaten first.
    """
    draws = {library.full_name(w.product): draw_of(w, season.season.end) for w in season.want}
    until = today + dt.timedelta(days=days)
    found = []
    for shelf in shelves:
        draw = draws.get(shelf.product)
        due = draw.target(until) - draw.target(today) if draw else 0
        meant, needed = min(shelf.portions, due), _needed(shelf, today, days)
        portions = max(meant, needed)
        if portions:
            batches = tuple(_oldest(shelf, portions))
            found.append(
                Use(
                    shelf.product,
                    portions,
                    until,
                    batches=batches,
                    meant=meant,
                    pressing=needed > meant,
                )
            )
    return tuple(sorted(found, key=lambda use: (use.batches[0].best_before, use.product)))


def _needed(shelf: StoredProduct, today: dt.date, days: int) -> int:
    """Portions that must be eaten in so many days, so that an even pace from now on brings each
    batch to the table by its best-before day."""
    most, before = 0.0, 0
    for batch in sorted(shelf.batches, key=lambda batch: batch.best_before):
        before += batch.portions
        left = (batch.best_before - today).days
        most = max(most, before if left <= days else before * days / left)
    return min(shelf.portions, math.ceil(most - 1e-9))


def _oldest(shelf: StoredProduct, portions: int) -> Iterator[StoredBatch]:
    for batch in shelf.batches:
        taken = min(portions, batch.portions)
        portions -= taken
        if taken:
            yield StoredBatch(
                batch.put_by, taken, batch.best_before, freezer=batch.freezer, grams=batch.grams
            )
