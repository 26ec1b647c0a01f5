"""Food that waits in the fridge for its sitting, in whole numbers, free of any solver.

Raw food that keeps best in the fridge waits there from the day it comes in (a pick still to come as
late as its plant allows, as the plan's picks have it) to the day of its first sitting; what that
sitting puts to chill waits for the second. Every night all of it must fit. Only food that will be
put by counts: surplus can be given away on the day it is ready, and what is eaten fresh is little
at a time.

Volumes are in mm³, so that a gram's is a whole number; they are rounded up, so that what fits here
fits by the judge's own sums. Raw food lies as loose as its crop file says (every one must); chilled
food as dense as it is packed.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from harvestplan.inputs.crops import Crop, Library
from harvestplan.inputs.season import Season
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.chill import chilled_volume, waits_chilled
from harvestplan.plan.models import Lot, Session
from harvestplan.plan.spans import DAY

A_GRAM = 1
"""What is put to chill is written in whole grams; it may be so much more."""


@dataclass(frozen=True)
class Stay:
    """Food in the fridge on every night from that of `since` to the one before `until`; what comes
    of a raw gram takes `volume` mm³."""

    since: dt.date
    until: dt.date
    volume: int

    def nights(self) -> Iterator[dt.date]:
        """Every night of it, called after the day before."""
        for number in range((self.until - self.since).days):
            yield self.since + number * DAY

    def put(self, grams: int, waiting: Counter[dt.date]) -> None:
        """Adds what comes of so many raw grams to the mm³ that wait on each night."""
        waiting.update(dict.fromkeys(self.nights(), grams * self.volume))


@dataclass(frozen=True)
class Fridge:
    """A fridge of `room` mm³.

    `crops` are those that keep best in it; `chilled` the mm³ of what a raw gram leaves to chill, by
    product; `kept` the mm³ of what waits for kept sessions, by night.
    """

    room: int
    crops: Mapping[str, Crop]
    chilled: Mapping[str, int]
    kept: Mapping[dt.date, int]

    def stays(
        self, today: dt.date, lot: Lot, product: str, *, first: dt.date, second: dt.date | None
    ) -> Iterator[Stay]:
        """Each stay, from today on, of what a lot gives to a run with its sittings on those
        days."""
        crop = self.crops.get(lot.crop)
        if crop is not None:
            volume = _volume(1 / crop.raw_density.value)
            yield from _stay(max(today, _comes_in(lot, crop)), first, volume)
        if second is not None:
            yield from _stay(max(today, first), second, self.chilled.get(product, 0))

    def left(self, night: dt.date) -> int:
        """mm³ beside what waits for kept sessions."""
        return max(0, self.room - self.kept.get(night, 0))

    def fullest_nights(self, stays: Iterable[Stay]) -> list[dt.date]:
        """Nights on which more may wait than on the next: until some food goes there is only more.
        Those on which food of kept sessions waits count in any case."""
        found = list(stays)
        since = sorted({stay.since for stay in found})
        until = {stay.until for stay in found}
        full = {
            night
            for night, after in pairwise([*since, dt.date.max])
            if any(night < day <= after for day in until)
        }
        return sorted(full | self.kept.keys())


def state_fridge(
    season: Season,
    library: Library,
    lots: Sequence[Lot],
    *,
    processes: Iterable[Process],
    kept: Sequence[Session],
    as_of: dt.date,
) -> Fridge | None:
    """The household's fridge, or None where the season file does not say how much it holds."""
    if season.cold.fridge is None:
        return None
    crops = {lot.crop: library.find_crop(lot.crop) for lot in lots}
    fridge = Fridge(
        room=math.floor(1000 * season.cold.fridge),
        crops={
            name: crop
            for name, crop in crops.items()
            if crop and crop.keeping.best_place(season.cold.cellar) == "fridge"
        },
        chilled={process.name: _volume(chilled_volume(process)) for process in processes},
        kept={},
    )
    waiting: Counter[dt.date] = Counter()
    for stay, grams in _for_kept_sessions(
        fridge, library, {lot.id: lot for lot in lots}, kept=kept
    ):
        stay.put(grams, waiting)
    return replace(fridge, kept={n: volume for n, volume in waiting.items() if n >= as_of})


def _for_kept_sessions(
    fridge: Fridge, library: Library, lots: Mapping[str, Lot], *, kept: Sequence[Session]
) -> Iterator[tuple[Stay, int]]:
    """Each stay of food of kept sessions with its grams: raw until the day of its session, chilled
    until that of the session which packs it."""
    begun_on = {run.id: session.start.date() for session in kept for run in session.runs}
    for session in kept:
        day = session.start.date()
        for run in session.runs:
            for share in run.lots:
                if share.lot in lots:
                    for stay in fridge.stays(
                        dt.date.min, lots[share.lot], run.product, first=day, second=None
                    ):
                        yield stay, share.grams
            first, found = run.second_sitting_of, library.find_product(run.product)
            if first in begun_on and found is not None and waits_chilled(found[1]):
                volume = _volume(1 / found[1].density.value)
                for stay in _stay(begun_on[first], day, volume):
                    yield stay, run.grams_in + A_GRAM


def _comes_in(lot: Lot, crop: Crop) -> dt.date:
    """The day on which the lot comes into the house, at the latest."""
    stands = lot.planting is not None and not lot.picked
    return lot.ready + (crop.stands if stands else 0) * DAY


def _stay(since: dt.date, until: dt.date, volume: int) -> Iterator[Stay]:
    """The stay between two days, where there is a night between them and it takes any room."""
    if since < until and volume:
        yield Stay(since, until, volume)


def _volume(per_gram: float) -> int:
    """mm³ of a gram that takes so many mL, rounded up."""
    return math.ceil(1000 * per_gram - 1e-9)
