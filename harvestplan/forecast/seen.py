"""What the diary says of each planting: when it came up, flowered and was picked."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from harvestplan.inputs.crops import Crop
from harvestplan.records.events import Emerged, Event, Failed, Flowering, InGarden, NoneYet, Picked

Picks = Sequence[tuple[dt.date, float]]
"""Dates with grams."""

BEFORE_BIOFIX = 30
"""Days before its clock's start from which a plant that stays may be picked; own judgement."""


@dataclass
class Seen:
    """What was seen of one planting; `picks` holds grams by date, `none_yet` is the last day on
    which it was said that there were none."""

    emerged: dt.date | None = None
    flowering: dt.date | None = None
    none_yet: dt.date | None = None
    failed: dt.date | None = None
    picks: dict[dt.date, float] = field(default_factory=dict)

    @property
    def unpicked(self) -> dt.date | None:
        """The last day by which, as was said, nothing had been picked: it came up then, or flowered
        for the first time, or there was none yet."""
        told = [day for day in (self.emerged, self.flowering, self.none_yet) if day is not None]
        return max(told, default=None)


@dataclass(frozen=True)
class Expected:
    """What tells one planting of a crop from another: the first day anything can be seen of it,
    when it should come up and flower, and its picks as forecast without any being written down.

    `reckon` gives the last two, only where they are asked for: most events name their planting, or
    there is no other of the crop.
    """

    id: str
    crop: str
    begins: dt.date
    emerges: dt.date
    reckon: Callable[[], tuple[dt.date, Picks]]

    @cached_property
    def _reckoned(self) -> tuple[dt.date, Picks]:
        return self.reckon()

    @property
    def flowers(self) -> dt.date:
        return self._reckoned[0]

    @property
    def picks(self) -> Picks:
        return self._reckoned[1]


def seen_by_planting(
    events: Iterable[Event],
    plantings: Callable[[Mapping[str, Seen]], Sequence[Expected]],
    crops: Mapping[str, Crop],
    *,
    as_of: dt.date,
) -> dict[str, Seen]:
    """What was seen of each planting, by id, up to `as_of`.

    An event that names its planting belongs there alone. Else, of several plantings of the crop, a
    stage belongs to the one where it was due nearest to that day, and a pick is shared among those
    that were due to be picked around that day, by what was expected of each. That there is none
    yet, or that it failed, holds for all of them. `plantings` gives the expectations in the light
    of the stages already told.
    """
    known = [event for event in events if event.date <= as_of]
    seen: dict[str, Seen] = defaultdict(Seen)
    expected = plantings(seen)
    for event in known:
        if isinstance(event, (Emerged, Flowering)):
            _note_stage(event, _candidates(event, event.planting, expected), seen)
        if isinstance(event, (NoneYet, Failed)):
            for each in _candidates(event, event.planting, expected):
                _note_lack(event, seen[each.id])
    if any(isinstance(event, (Emerged, Flowering)) for event in known):
        expected = plantings(seen)
    for event in known:
        if isinstance(event, Picked):
            _note_pick(event, _candidates(event, event.planting, expected), crops, seen=seen)
    return dict(seen)


def _note_lack(event: NoneYet | Failed, seen: Seen) -> None:
    """The last day of none, the first of failing."""
    if isinstance(event, NoneYet):
        seen.none_yet = max(event.date, seen.none_yet or event.date)
    else:
        seen.failed = min(event.date, seen.failed or event.date)


def _candidates(
    event: InGarden, planting: str | None, expected: Sequence[Expected]
) -> list[Expected]:
    grown = [e for e in expected if e.crop == event.crop and e.begins <= event.date]
    named = planting in {e.id for e in expected}
    return [e for e in grown if e.id == planting] if named else grown


def _note_stage(
    event: Emerged | Flowering, candidates: Sequence[Expected], seen: dict[str, Seen]
) -> None:
    """The first of its kind counts; a second one goes to another planting, if there is one."""
    name = "emerged" if isinstance(event, Emerged) else "flowering"
    free = [e for e in candidates if getattr(seen[e.id], name) is None]
    if len(free) > 1:
        due = {e.id: e.emerges if name == "emerged" else e.flowers for e in free}
        free.sort(key=lambda e: abs((due[e.id] - event.date).days))
    if free:
        setattr(seen[free[0].id], name, event.date)


def _note_pick(
    event: Picked,
    candidates: Sequence[Expected],
    crops: Mapping[str, Crop],
    *,
    seen: dict[str, Seen],
) -> None:
    if not candidates:
        return
    crop = crops[event.crop]
    grams = event.amount.grams(crop.raw_density.value)
    for name, share in _shared(event.date, candidates).items():
        picks = seen[name].picks
        picks[event.date] = picks.get(event.date, 0.0) + grams * share


def _shared(day: dt.date, candidates: Sequence[Expected]) -> dict[str, float]:
    """The share of a pick that each may have brought, by what was expected of it around the day."""
    if len(candidates) == 1:
        return {candidates[0].id: 1.0}
    due = {e.id: _due(e.picks, day) for e in candidates}
    total = sum(due.values())
    if total <= 0:
        nearest = min(candidates, key=lambda e: _distance(e.picks, day))
        return {nearest.id: 1.0}
    return {name: weight / total for name, weight in due.items() if weight > 0}


def _due(picks: Picks, day: dt.date) -> float:
    """Grams expected within a week of the day."""
    return sum(grams for date, grams in picks if abs((date - day).days) <= 7)


def _distance(picks: Picks, day: dt.date) -> int:
    return min((abs((date - day).days) for date, _ in picks), default=10_000)
