"""What finished sessions put away: as the diary says, else as they were planned."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from harvestplan.inputs.crops import Library
from harvestplan.inputs.quantities import Quantity
from harvestplan.kitchen.steps.settings import freezer_of
from harvestplan.plan.models import Run, Session
from harvestplan.records.diary import Diary
from harvestplan.records.events import Froze
from harvestplan.records.held_sessions import packed

NEAR = 3
"""Days between a session and the `froze` line that tells of it, at most."""

Parts = tuple[tuple[str | None, int], ...]
"""Freezer (None: not named, or no freezer) and portions."""


@dataclass(frozen=True)
class PutBy:
    """Portions of a product put away on a day; `grams` is the portion's size where it is known.

    `planned` are those the plan had for that day; 0 where it had none. `place` is that of the line
    among the diary's events; -1 for what is not written there.
    """

    day: dt.date
    product: str
    parts: Parts
    grams: int | None
    planned: int = 0
    place: int = -1

    @property
    def portions(self) -> int:
        return sum(portions for _, portions in self.parts)

    @property
    def written(self) -> bool:
        """Whether the diary tells of it."""
        return self.place >= 0


def put_by(
    done: Iterable[Session], library: Library, diary: Diary, *, today: dt.date
) -> tuple[PutBy, ...]:
    """What was put away up to `today`.

    A `froze` line replaces what was planned of that product for the nearest finished session, at
    most three days off; several lines of one session add up. Lines without such a session count
    by themselves, sessions without such a line as they were planned.
    """
    planned = _planned(done)
    left = list(planned)
    told: set[int] = set()
    found = []
    for place, event in enumerate(diary.events):
        if not isinstance(event, Froze) or event.date > today:
            continue
        number = _nearest(planned, event)
        plan = None if number is None else left[number]
        found.append(_written(event, plan, library, place=place))
        if number is not None and plan is not None:
            # What the plan had for the day counts once, however many lines tell of it.
            rest = _without(plan.parts, event.portions)
            left[number] = replace(plan, parts=rest, planned=0)
            told.add(number)
    return (*(plan for number, plan in enumerate(planned) if number not in told), *found)


def _planned(done: Iterable[Session]) -> list[PutBy]:
    """One entry per day and product."""
    by_day: dict[tuple[dt.date, str], PutBy] = {}
    for session in done:
        for run in packed(session):
            key = session.start.date(), run.product
            before = by_day.get(key, PutBy(*key, (), run.portion_grams))
            parts = (*before.parts, (_freezer_of(session, run), run.pouches))
            by_day[key] = replace(before, parts=parts, planned=before.planned + run.pouches)
    return list(by_day.values())


def _freezer_of(session: Session, run: Run) -> str | None:
    named = (freezer_of(task) for task in session.tasks if task.run == run.id)
    return next(filter(None, named), None)


def _nearest(planned: Sequence[PutBy], event: Froze) -> int | None:
    near = [
        (abs((plan.day - event.date).days), plan.day, number)
        for number, plan in enumerate(planned)
        if plan.product == event.product and abs((plan.day - event.date).days) <= NEAR
    ]
    return min(near)[2] if near else None


def _written(event: Froze, plan: PutBy | None, library: Library, *, place: int) -> PutBy:
    """The line's portions, in the freezers that the plan had for them."""
    grams = portion_grams(library, event.product, event.portion) if event.portion else None
    if grams is None and plan is not None:
        grams = plan.grams
    parts = _spread(plan.parts if plan else (), event.portions)
    planned = plan.planned if plan else 0
    return PutBy(event.date, event.product, parts, grams=grams, planned=planned, place=place)


def portion_grams(library: Library, product: str, portion: Quantity) -> int | None:
    """A portion in g, a volume by the product's density; None for a volume of an unknown one."""
    if portion.kind == "mass":
        return max(1, round(portion.value))
    found = library.find_product(product)
    return max(1, round(portion.grams(found[1].density.value))) if found else None


def _spread(parts: Parts, portions: int) -> Parts:
    """So many portions over the parts in their order; what is beyond them goes to the last."""
    found: list[tuple[str | None, int]] = []
    for freezer, room in parts:
        taken = min(room, portions)
        found.append((freezer, taken))
        portions -= taken
    last = parts[-1][0] if parts else None
    return (*found, (last, portions)) if portions else tuple(found)


def _without(parts: Parts, portions: int) -> Parts:
    """The parts that are left when so many portions are taken from the first on."""
    left: list[tuple[str | None, int]] = []
    for freezer, room in parts:
        taken = min(room, portions)
        left.append((freezer, room - taken))
        portions -= taken
    return tuple(left)
