"""V8 in the fridge: what waits there for its sitting has room on every night to come."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass

from harvestplan.check.facts import Facts, Finding
from harvestplan.inputs.crops import Crop
from harvestplan.inputs.quantities import show
from harvestplan.kitchen.steps.chill import Chill
from harvestplan.plan.models import Session


@dataclass(frozen=True)
class Waiting:
    """So many mL in the fridge from the night of `since` on, until the day of the sitting at
    `until`; `planned` where its session may still be planned otherwise."""

    since: dt.date
    until: dt.date
    volume: float
    planned: bool

    def there(self, night: dt.date) -> bool:
        return self.since <= night < self.until


def check_fridge(facts: Facts) -> Iterator[Finding]:
    """V8: the food that waits for its sitting fits the fridge, on every night from the plan's day
    on; what waits for sessions that are done or promised is nobody's fault.

    Food is counted as the plan has it picked or bought, where it keeps best in the fridge, and
    chilled food between its two sittings. It is at its most on a night on which some came in.
    """
    room = facts.season.cold.fridge
    if room is None:
        return
    waiting = [*_picked(facts), *_bought(facts), *_chilled(facts)]
    nights = {max(food.since, facts.plan.as_of) for food in waiting}
    full: dict[dt.date, float] = {}
    for night in sorted(nights):
        there = [food for food in waiting if food.there(night)]
        volume = sum(food.volume for food in there)
        if math.floor(volume) > room and any(food.planned for food in there):
            full[night] = volume
    if full:
        night = max(full, key=lambda night: full[night])
        measures = facts.season.household.measures
        yield Finding(
            "V8",
            f"On the night of {night} {show(full[night], 'volume', measures)} of food wait in the "
            f"fridge; it has {show(room, 'volume', measures)} for that.",
        )


def _picked(facts: Facts) -> Iterator[Waiting]:
    sessions = {session.uid: session for session in facts.sessions}
    for pick in facts.plan.picks:
        session, crop = sessions.get(pick.session or ""), facts.library.find_crop(pick.crop)
        if session is not None and crop is not None:
            yield from _raw(facts, crop, pick.grams, since=pick.date, session=session)


def _bought(facts: Facts) -> Iterator[Waiting]:
    for sitting in facts.sittings:
        for share in sitting.run.lots:
            lot = facts.lots.get(share.lot)
            if lot is not None and lot.planting is None:
                yield from _raw(
                    facts, sitting.crop, share.grams, since=lot.ready, session=sitting.session
                )


def _raw(
    facts: Facts, crop: Crop, grams: int, *, since: dt.date, session: Session
) -> Iterator[Waiting]:
    """Raw food until the day of its session, where it keeps best in the fridge."""
    if crop.keeping.best_place(facts.season.cold.cellar) == "fridge":
        volume, until = grams / crop.raw_density.value, facts.day(session.start)
        yield Waiting(since, until, volume, planned=session.status == "planned")


def _chilled(facts: Facts) -> Iterator[Waiting]:
    """What a first sitting puts to chill, until the day of the second."""
    for sitting in facts.sittings:
        second = facts.second_of(sitting) if sitting.kind == "first" else None
        if second is None or sitting.pause is None:
            continue
        if sitting.product.steps[sitting.pause].step == Chill.name:
            grams = sitting.raw * sitting.share_before(sitting.pause + 1)
            volume = grams / sitting.product.density.value
            since, until = facts.day(sitting.session.start), facts.day(second.session.start)
            yield Waiting(since, until, volume, planned=sitting.session.status == "planned")
