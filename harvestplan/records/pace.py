"""What the diary's `froze` and `timed` lines teach: the household's own pace, failed seals,
sealing time."""

from __future__ import annotations

import datetime as dt
import math
import statistics
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Library, Step
from harvestplan.inputs.season import Season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.experience import Experience, Pace, Sealing, bounded
from harvestplan.kitchen.layout import Sitting, lay_out
from harvestplan.kitchen.machine_settings import Tries, own_settings
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.own_pace import BOOK_PACE, OwnPace
from harvestplan.kitchen.practice import BOOK_PRACTICE, Practice, practice_of
from harvestplan.kitchen.process import Process, portion_in_grams
from harvestplan.kitchen.sealing import cycles
from harvestplan.kitchen.steps.step_kind import work_seconds
from harvestplan.records.diary import Diary
from harvestplan.records.events import Event, Froze, Serviced, TimedStep
from harvestplan.records.tries import pump_down_tries

PRIOR_EVENINGS = 3
"""The crop file's minutes count as much as so many of the household's own evenings (own
judgement): one slow evening moves a plan by a quarter of what it differs. A step that was timed by
itself is drawn as much towards the pace of the whole evenings."""
REMEMBERED = 6
"""Evenings of earlier seasons count as so many at most, so that this season's still tell."""


@dataclass(frozen=True)
class TimedSession:
    """An evening's hand work on a product: minutes it took, minutes of the crop file, and the
    household's pace, which differs from their ratio where the pot or the machine set the time."""

    date: dt.date
    product: str
    real: float
    book: float
    pace: float


def experience_from(
    season: Season, library: Library, diary: Diary, *, as_of: dt.date
) -> Experience:
    """What the household says of its practice, and what earlier seasons (`[[learned]]`) and the
    diary's lines of days before `as_of` taught.

    The day itself is left out, so that a plan made in the morning stays as it is judged.
    """
    told = [event for event in diary.events if event.date < as_of]
    frozen = tuple(event for event in told if isinstance(event, Froze))
    tries = {day: pump_down_tries(diary, day) for day in {as_of, *(e.date for e in frozen)}}
    practice = _practice(season, library)
    return Experience(
        paces=_paces(season, library, told, practice=practice),
        seals=_seals(season, frozen),
        sealings=tuple(
            Sealing(event.date, event.product, _sealing_seconds(process, event, tries[event.date]))
            for event, process in _processes(season, library, frozen)
        ),
        tries=tries[as_of],
        serviced=max((e.date for e in told if isinstance(e, Serviced)), default=None),
        practice=practice,
    )


def _practice(season: Season, library: Library) -> dict[str, Practice]:
    """By product, where the household's word differs from the crop file."""
    found = {
        f"{crop.name}, {product.form}": practice_of(product, season.household.practised)
        for crop in library.crops.values()
        for product in crop.products
    }
    return {name: practice for name, practice in found.items() if practice.steps}


def _paces(
    season: Season,
    library: Library,
    told: Sequence[Event],
    *,
    practice: Mapping[str, Practice],
) -> dict[str, Pace]:
    """Each product's pace: first of whole evenings, then of steps timed by themselves, which start
    from it; what the evenings took beyond those steps is the pace of all others."""
    frozen = tuple(event for event in told if isinstance(event, Froze))
    watched = tuple(event for event in told if isinstance(event, TimedStep))
    whole = _by_product(season, timed_sessions(season, library, frozen), practice=practice)
    steps = _timed_steps(season, library, watched, whole=whole, practice=practice)
    known = {product: {s: pace.factor for s, pace in own.items()} for product, own in steps.items()}
    others = whole
    if known:
        evenings = timed_sessions(season, library, frozen, known=known)
        others = _by_product(season, evenings, practice=practice)
    found = {}
    for product in sorted({*whole, *steps}):
        untaught = _untaught(practice, product)
        found[product] = replace(
            whole.get(product, untaught),
            factor=others.get(product, untaught).factor,
            steps=steps.get(product, {}),
        )
    return found


def _untaught(practice: Mapping[str, Practice], product: str) -> Pace:
    """The pace of a product that nothing taught yet."""
    said = practice.get(product, BOOK_PRACTICE)
    return Pace(said.whole, said.whole, 0, practice=said)


def _by_product(
    season: Season, evenings: Sequence[TimedSession], *, practice: Mapping[str, Practice]
) -> dict[str, Pace]:
    """The paces of earlier seasons and these evenings."""
    said = {product: known.whole for product, known in practice.items()}
    paces: dict[str, list[float]] = defaultdict(list)
    count: Counter[str] = Counter()
    for learned in season.learned:
        if learned.pace is not None and learned.evenings:
            counted = min(learned.evenings, REMEMBERED)
            usual = said.get(learned.product, 1.0)
            paces[learned.product] += [bounded(learned.pace, usual)] * counted
            count[learned.product] += learned.evenings
    for timed in evenings:
        paces[timed.product].append(timed.pace)
        count[timed.product] += 1
    learnt = {}
    for product, found in paces.items():
        usual = said.get(product, 1.0)
        pace = _shrunk(found, count[product], usual, usual=usual)
        learnt[product] = replace(pace, practice=practice.get(product, BOOK_PRACTICE))
    return learnt


def _timed_steps(
    season: Season,
    library: Library,
    watched: Sequence[TimedStep],
    *,
    whole: Mapping[str, Pace],
    practice: Mapping[str, Practice],
) -> dict[str, dict[str, Pace]]:
    """The pace of each step taken with a watch, by product; steps the product has not are left
    out."""
    ratios: dict[tuple[str, str], list[float]] = defaultdict(list)
    count: Counter[tuple[str, str]] = Counter()
    for learned in season.learned:
        for known, own in learned.steps.items():
            counted = min(own.timings, REMEMBERED)
            usual = _said_of(practice, learned.product, known)
            ratios[learned.product, known] += [bounded(own.pace, usual)] * counted
            count[learned.product, known] += own.timings - counted
    for event in watched:
        found, step = library.find_product(event.product), _step_of(library, event)
        if found is None or step is None:
            continue
        grams = event.amount.grams(found[0].raw_density.value)
        if (book := work_seconds(step, grams) * step.hands / 60) > 0:
            usual = _said_of(practice, event.product, event.step)
            ratios[event.product, event.step].append(bounded(event.minutes / book, usual))
    timed: dict[str, dict[str, Pace]] = defaultdict(dict)
    for (product, name), times in sorted(ratios.items()):
        timings = len(times) + count[product, name]
        towards = whole.get(product, _untaught(practice, product)).own.of(name)
        usual = _said_of(practice, product, name)
        timed[product][name] = _shrunk(times, timings, towards, usual=usual)
    return dict(timed)


def _said_of(practice: Mapping[str, Practice], product: str, step: str) -> float:
    """Minutes of a step per minute of the crop file, by the household's word."""
    return practice.get(product, BOOK_PRACTICE).steps.get(step, 1.0)


def _step_of(library: Library, event: TimedStep) -> Step | None:
    found = library.find_product(event.product)
    steps = found[1].steps if found else ()
    return next((step for step in steps if step.step == event.step and step.hands), None)


def no_such_step(folder: Path, event: TimedStep) -> Iterator[str]:
    """A warning where the product's crop file has no such step, so that the line teaches nothing.

    Raises FilesNeedMending for crop files that cannot be read.
    """
    if _step_of(load_library(folder), event) is None:
        yield f'{event.product} has no step "{event.step}", so this line will teach nothing.'


def timed_sessions(
    season: Season,
    library: Library,
    frozen: tuple[Froze, ...],
    *,
    known: Mapping[str, Mapping[str, float]] = MappingProxyType({}),
) -> tuple[TimedSession, ...]:
    """The lines that say how long the hand work took, beside the crop file's minutes for it.

    Their pace is what they took beyond the household's own word of itself, and beyond the pace of
    steps where that is `known`, by product.
    """
    found = []
    for event, process in _processes(season, library, frozen):
        if event.minutes is None:
            continue
        said = practice_of(process.product, season.household.practised)
        usual, faster = (
            hand_minutes(
                process,
                event.portions,
                OwnPace(pace, _at(pace, said) | dict(known.get(event.product, {}))),
            )
            for pace in (1.0, 0.5)
        )
        # What the pot and the machine take is theirs; only the rest is done at somebody's pace.
        work = 2 * (usual - faster)
        beyond = bounded(1 + (event.minutes - usual) / work) if work > 0 else 1.0
        found.append(
            TimedSession(
                event.date,
                event.product,
                event.minutes,
                book=hand_minutes(process, event.portions),
                pace=beyond * said.whole,
            )
        )
    return tuple(found)


def _at(pace: float, said: Practice) -> dict[str, float]:
    return {step: ratio * pace for step, ratio in said.steps.items()}


def hand_minutes(process: Process, pouches: int, pace: OwnPace = BOOK_PACE) -> float:
    """Minutes somebody's hands are at a run of so many pouches, all people's together."""
    kitchen = replace(process.kitchen, paces={process.name: pace})
    found = make_process(
        kitchen,
        process.crop,
        process.product,
        portion_grams=process.portion_grams,
        pouch=process.packing.pouch.name,
    )
    raw = found.raw(pouches)
    freezer = kitchen.freezers[0].name if found.frozen else None
    sittings: tuple[Sitting, ...] = ("first", "second") if found.wait_least else ("whole",)
    layouts = (
        lay_out(found, raw, pouches, sitting=sitting, freezer=freezer) for sitting in sittings
    )
    return sum(layout.hand_seconds() for layout in layouts) / 60


def _seals(season: Season, frozen: Sequence[Froze]) -> dict[str, tuple[int, int]]:
    """Pouches sealed and seals that failed, by product."""
    sealed: Counter[str] = Counter()
    failed: Counter[str] = Counter()
    for learned in season.learned:
        sealed[learned.product] += learned.sealed
        failed[learned.product] += learned.failed
    for event in frozen:
        sealed[event.product] += event.portions
        failed[event.product] += min(event.failed, event.portions)
    return {product: (count, failed[product]) for product, count in sealed.items()}


def _processes(
    season: Season, library: Library, frozen: tuple[Froze, ...]
) -> Iterator[tuple[Froze, Process]]:
    """Each line with its product as this kitchen makes it by the crop file; lines of products
    that it cannot make are left out."""
    kitchen = Kitchen.from_season(season)
    wanted = {want.product: want.portion for want in season.want}
    steamed = {want.product for want in season.want if want.steam}
    named = {want.product: want.pouch for want in season.want}
    made: dict[tuple[str, object], Process | None] = {}
    for event in frozen:
        found = library.find_product(event.product)
        portion = event.portion or wanted.get(event.product)
        if found is None or portion is None:
            continue
        key = event.product, portion
        if key not in made:
            grams = portion_in_grams(found[1], portion)
            try:
                made[key] = make_process(
                    kitchen,
                    *found,
                    grams,
                    steam=event.product in steamed,
                    pouch=named.get(event.product),
                )
            except CannotBeMade:
                made[key] = None
        process = made[key]
        if process is not None:
            yield event, process


def _shrunk(paces: list[float], evenings: int, towards: float = 1.0, *, usual: float = 1.0) -> Pace:
    """The median of the evenings, drawn towards the book, or another pace, by the prior's weight.

    Median, so that one evening with guests tells nothing; on the logarithm, so that twice as
    slow and twice as fast weigh alike.
    """
    median = statistics.median(map(math.log, paces))
    prior = PRIOR_EVENINGS * math.log(towards)
    factor = math.exp((median * len(paces) + prior) / (len(paces) + PRIOR_EVENINGS))
    return Pace(round(bounded(factor, usual), 2), round(math.exp(median), 2), evenings)


def _sealing_seconds(process: Process, event: Froze, tries: Tries) -> float:
    """Seconds the machine ran: the pouches, and those sealed again, set as plans had it then;
    none for what hands close."""
    if process.packing.pouch.by_hand:
        return 0.0
    closings = cycles(event.portions + event.failed, process.packing.per_cycle)
    known = tries.get(process.name, ())
    cycle = own_settings(process.product, process.packing.pouch, known)
    return math.ceil(closings * cycle.machine_seconds())
