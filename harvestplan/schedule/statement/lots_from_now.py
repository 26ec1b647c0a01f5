"""The food of a new plan: what kept sessions drew on, what was picked, what is still to come.

Where the diary tells of picks (or of another purchase than was planned) it is believed: what it
says was brought in, less what done sessions and the diary took of it, is there, each pick with its
own clock. Where it is silent the earlier plan's picks are taken to have come as forecast.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from harvestplan.inputs.crops import Library
from harvestplan.plan.models import Lot
from harvestplan.records.diary import Diary
from harvestplan.records.events import Gone
from harvestplan.schedule.statement.history import History, origin

SOON = dt.timedelta(days=7)
"""What a promised session takes that is not picked yet comes off the picks of the next week."""


@dataclass(frozen=True)
class Taking:
    """Raw food taken on a day, in g: of one planting or purchase (`source`), or of any of a crop.

    `until` is the last day on which the food it takes may be ready.
    """

    day: dt.date
    grams: int
    until: dt.date
    source: str | None = None
    crop: str | None = None

    def of(self, lot: Lot) -> bool:
        """Whether it may have come from the lot."""
        same = origin(lot) == self.source if self.source is not None else lot.crop == self.crop
        return same and lot.ready <= self.until and self.day <= lot.keep_until


def lots_from_now(
    history: History, forecast: Sequence[Lot], as_of: dt.date, *, gone: Iterable[Taking] = ()
) -> tuple[Lot, ...]:
    """The lots of the new plan: those taken over, then what the forecast brings beside them.

    `gone` is what was given away or spoiled. Food that nobody used and that no longer keeps is left
    out, unless a kept session drew on a planting of which the diary is silent.
    """
    told = _told(history, forecast)
    lots = [
        _cut_to(lot, history.used[lot.id]) if origin(lot) in told else lot
        for lot in history.lots
        if origin(lot) not in told or lot.id in history.used
    ]
    taken = {lot.id for lot in lots}
    for lot in _left(history, forecast, told, gone=gone):
        if lot.keep_until >= as_of and lot.grams > 0:
            lots.append(lot.model_copy(update={"id": _free_id(lot.id, taken)}))
            taken.add(lots[-1].id)
    return tuple(lots)


def spent_lots(
    history: History, forecast: Sequence[Lot], as_of: dt.date, *, gone: Iterable[Taking] = ()
) -> tuple[Lot, ...]:
    """What was picked, was not put by and keeps no longer: the fresh food of the weeks before came
    from it, and is not to be taken off what is there now."""
    told = _told(history, forecast)
    left = _left(history, forecast, told, gone=gone)
    return tuple(
        lot.model_copy(update={"id": f"spent {lot.id}"}) for lot in left if lot.keep_until < as_of
    )


def _left(
    history: History, forecast: Sequence[Lot], told: set[str], *, gone: Iterable[Taking]
) -> list[Lot]:
    """What the forecast brings beside the lots taken over, less what was taken of it."""
    takings = [*(taking for taking in _takings(history) if taking.source in told), *gone]
    return _less(_to_come(history, forecast, told), takings)


def given_or_lost(diary: Diary, library: Library, as_of: dt.date) -> Iterator[Taking]:
    """What the diary says was given away or spoiled of raw food, up to and including `as_of`."""
    for event in diary.events:
        if isinstance(event, Gone) and event.amount is not None and event.date <= as_of:
            crop = library.find_crop(event.name)
            grams = round(event.amount.grams(crop.raw_density.value if crop else 1.0))
            yield Taking(event.date, grams, event.date, crop=event.name)


def _told(history: History, forecast: Sequence[Lot]) -> set[str]:
    """Plantings whose picks are written down, and purchases that went otherwise than planned."""
    planned = {lot.id: lot for lot in history.lots if lot.planting is None}
    told = {origin(lot) for lot in forecast if lot.picked}
    for lot in forecast:
        was = planned.get(lot.id)
        if was is not None and (was.ready, was.grams) != (lot.ready, lot.grams):
            told.add(origin(lot))
    return told


def _to_come(history: History, forecast: Sequence[Lot], told: set[str]) -> list[Lot]:
    """The forecast's lots, without those that the earlier plan stands for."""
    last: dict[str, dt.date] = {}
    for lot in history.lots:
        last[origin(lot)] = max(last.get(origin(lot), lot.ready), lot.ready)
    return [
        lot
        for lot in forecast
        if origin(lot) in told or origin(lot) not in last or lot.ready > last[origin(lot)]
    ]


def _takings(history: History) -> Iterator[Taking]:
    """What kept sessions took, in order of time."""
    known = {lot.id: lot for lot in history.lots}
    for session in sorted(history.sessions, key=lambda session: session.start):
        day = session.start.date()
        until = day if session.status == "done" else day + SOON
        for run in session.runs:
            for share in run.lots:
                if share.lot in known:
                    yield Taking(day, share.grams, until, source=origin(known[share.lot]))


def _less(lots: Sequence[Lot], takings: Iterable[Taking]) -> list[Lot]:
    """The lots without what was taken of them, oldest first; what no lot can have given, because
    its pick was not written down, is taken of none."""
    left = {index: lot.grams for index, lot in enumerate(lots)}
    order = sorted(left, key=lambda index: (lots[index].ready, lots[index].id))
    for taking in sorted(takings, key=lambda taking: taking.day):
        grams = taking.grams
        for index in order:
            if taking.of(lots[index]):
                bite = min(grams, left[index])
                left[index] -= bite
                grams -= bite
    return [_cut_to(lot, left[index]) for index, lot in enumerate(lots)]


def _cut_to(lot: Lot, grams: int) -> Lot:
    """The lot with so many grams, its spread in proportion."""
    if grams == lot.grams:
        return lot
    share = grams / lot.grams if lot.grams else 0.0
    spread = {key: round(getattr(lot, key) * share) for key in ("low_grams", "high_grams")}
    return lot.model_copy(update={"grams": grams, **spread})


def _free_id(wanted: str, taken: set[str]) -> str:
    """The id itself, or with a number where an earlier lot still has it."""
    found, count = wanted, 1
    while found in taken:
        count += 1
        found = f"{wanted}.{count}"
    return found
