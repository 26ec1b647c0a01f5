"""What the diary's `froze` lines teach: the household's own pace, failed seals, sealing time."""

from __future__ import annotations

import datetime as dt
import math
import statistics
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.kitchen.experience import Experience, Pace, Sealing, bounded
from harvestplan.kitchen.kitchen import Kitchen
from harvestplan.kitchen.layout import Sitting, lay_out
from harvestplan.kitchen.process import Process, make_process, portion_in_grams
from harvestplan.kitchen.sealing import cycles, settings_for
from harvestplan.records.diary import Diary
from harvestplan.records.events import Froze, Serviced
from harvestplan.records.tries import pump_down_tries

PRIOR_EVENINGS = 3
"""The crop file's minutes count as much as so many of the household's own evenings (own
judgement): one slow evening moves a plan by a quarter of what it differs."""
REMEMBERED = 6
"""Evenings of earlier seasons count as so many at most, so that this season's still tell."""


@dataclass(frozen=True)
class Timed:
    """An evening's hand work on a product: minutes it took, minutes of the crop file, and the
    household's pace, which differs from their ratio where the pot or the machine set the time."""

    date: dt.date
    product: str
    real: float
    book: float
    pace: float


@dataclass
class _Learning:
    """What is known of each product before this season's lines are added."""

    paces: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    evenings: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    seals: dict[str, tuple[int, int]] = field(default_factory=dict)

    def add_seals(self, product: str, sealed: int, failed: int) -> None:
        before = self.seals.get(product, (0, 0))
        self.seals[product] = before[0] + sealed, before[1] + failed


def experience_from(season: Season, library: Library, diary: Diary, as_of: dt.date) -> Experience:
    """What earlier seasons (`[[learned]]`) and the diary's lines of days before `as_of` taught.

    The day itself is left out, so that a plan made in the morning stays as it is judged.
    """
    known = _from_earlier(season)
    told = [event for event in diary.events if event.date < as_of]
    frozen = tuple(event for event in told if isinstance(event, Froze))
    for timed in timed_evenings(season, library, frozen):
        known.paces[timed.product].append(timed.pace)
        known.evenings[timed.product] += 1
    for event in frozen:
        known.add_seals(event.product, event.portions, min(event.failed, event.portions))
    made = _processes(season, library, frozen)
    return Experience(
        paces={
            product: _shrunk(paces, known.evenings[product])
            for product, paces in sorted(known.paces.items())
        },
        seals=known.seals,
        sealings=tuple(
            Sealing(event.date, event.product, _sealing_seconds(process, event))
            for event, process in made
        ),
        tries=pump_down_tries(diary, as_of),
        serviced=max((e.date for e in told if isinstance(e, Serviced)), default=None),
    )


def timed_evenings(
    season: Season, library: Library, frozen: tuple[Froze, ...]
) -> tuple[Timed, ...]:
    """The lines that say how long the hand work took, beside the crop file's minutes for it."""
    found = []
    for event, process in _processes(season, library, frozen):
        if event.minutes is None:
            continue
        book = hand_minutes(process, event.portions)
        # What the pot and the machine take is theirs; only the rest is done at somebody's pace.
        work = 2 * (book - hand_minutes(process, event.portions, 0.5))
        pace = bounded(1 + (event.minutes - book) / work) if work > 0 else 1.0
        found.append(Timed(event.date, event.product, event.minutes, book, pace))
    return tuple(found)


def hand_minutes(process: Process, pouches: int, pace: float = 1.0) -> float:
    """Minutes somebody's hands are at a run of so many pouches, all people's together."""
    kitchen = replace(process.kitchen, paces={process.name: pace})
    found = make_process(kitchen, process.crop, process.product, process.portion_grams)
    assert isinstance(found, Process)
    raw = pouches * found.raw_per_portion
    freezer = kitchen.freezers[0].name if found.frozen else None
    sittings: tuple[Sitting, ...] = ("first", "second") if found.wait_least else ("whole",)
    layouts = (lay_out(found, raw, pouches, sitting, freezer) for sitting in sittings)
    return sum(layout.hand_seconds() for layout in layouts) / 60


def _from_earlier(season: Season) -> _Learning:
    known = _Learning()
    for learned in season.learned:
        if learned.pace is not None and learned.evenings:
            counted = min(learned.evenings, REMEMBERED)
            known.paces[learned.product] += [bounded(learned.pace)] * counted
            known.evenings[learned.product] += learned.evenings
        known.add_seals(learned.product, learned.sealed, learned.failed)
    return known


def _processes(
    season: Season, library: Library, frozen: tuple[Froze, ...]
) -> Iterator[tuple[Froze, Process]]:
    """Each line with its product as this kitchen makes it by the crop file; lines of products
    that it cannot make are left out."""
    kitchen = Kitchen.from_season(season)
    wanted = {want.product: want.portion for want in season.want}
    steamed = {want.product for want in season.want if want.steam}
    made: dict[tuple[str, object], Process | str] = {}
    for event in frozen:
        found = library.find_product(event.product)
        portion = event.portion or wanted.get(event.product)
        if found is None or portion is None:
            continue
        key = event.product, portion
        if key not in made:
            grams = portion_in_grams(found[1], portion)
            made[key] = make_process(kitchen, *found, grams, event.product in steamed)
        process = made[key]
        if isinstance(process, Process):
            yield event, process


def _shrunk(paces: list[float], evenings: int) -> Pace:
    """The median of the evenings, drawn towards 1 by the prior's weight.

    Median, so that one evening with guests tells nothing; on the logarithm, so that twice as
    slow and twice as fast weigh alike.
    """
    median = statistics.median(map(math.log, paces))
    factor = math.exp(median * len(paces) / (len(paces) + PRIOR_EVENINGS))
    return Pace(round(bounded(factor), 2), round(math.exp(median), 2), evenings)


def _sealing_seconds(process: Process, event: Froze) -> float:
    """Seconds the machine ran: the pouches, and those sealed again."""
    closings = cycles(event.portions + event.failed, process.packing.per_cycle)
    cycle = settings_for(process.product, process.packing.pouch)
    return math.ceil(closings * cycle.machine_seconds())
