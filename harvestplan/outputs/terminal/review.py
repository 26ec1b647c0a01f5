"""The season's end: what was expected beside what came, and what to do otherwise next year."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TypeVar

from harvestplan.forecast.season_forecast import PlantingForecast
from harvestplan.inputs.ids import called
from harvestplan.inputs.quantities import Quantity
from harvestplan.kitchen.experience import SPARE_FAILED, SPARE_SEALED, Pace, pace_words
from harvestplan.planning.look_back import (
    Hindsight,
    PlantingSeen,
    days_seen,
    raw_per_portion,
    raw_put_by,
    written_out,
)
from harvestplan.records.events import Ate, Event, Froze, Gave, Lost
from harvestplan.records.put_by import put_by
from harvestplan.words import crop_many, day, food_name, joined, mass, plural

MUCH_GONE = 0.25
"""From this share of a crop given away or lost on, less of it would do (own judgement)."""
OFF_PACE = 0.1
"""Paces nearer to the book's than this are no news (own judgement)."""
FEW_SEALS = 20
"""A machine's or a product's seals are judged from so many on (own judgement)."""

E = TypeVar("E", bound=Event)


@dataclass(frozen=True)
class PlantingReview:
    """A planting: first pick and grams expected (P10, P50, P90) and seen, None where unwritten."""

    planting: str
    crop: str
    expected_first: tuple[dt.date, dt.date, dt.date]
    first: dt.date | None
    expected_grams: tuple[float, float, float]
    grams: float | None
    over: bool


@dataclass(frozen=True)
class ProductReview:
    """A product: portions wanted, planned and put by this season, what became of them, seals that
    failed, and minutes of hand work beside the crop file's for the same pouches."""

    product: str
    wanted: int
    planned: int | None
    put_by: int
    eaten: int
    given: int
    lost: int
    in_store: int
    failed: int
    minutes: float | None
    book_minutes: float | None
    pace: Pace | None


@dataclass(frozen=True)
class Review:
    """All of it; `given` and `lost` are grams of fresh food by crop, `next_year` sentences."""

    as_of: dt.date
    begun: bool
    season_over: bool
    plantings: tuple[PlantingReview, ...]
    products: tuple[ProductReview, ...]
    given: dict[str, float]
    lost: dict[str, float]
    evenings_planned: int
    evenings_written: int
    written: bool
    """Whether anything is written in the diary at all."""
    next_year: tuple[str, ...]


def review_season(back: Hindsight) -> Review:
    """Sets planned against real, and says what follows for next year."""
    plantings = tuple(map(_planting, back.plantings))
    products = _products(back)
    given, lost = _gone(back, Gave), _gone(back, Lost)
    planned, written = _evenings(back)
    said = [
        *_first_picks(back.plantings),
        *_amounts(back, products, given, lost=lost),
        *_paces(products),
        *_seals(back),
        *_store(back, products),
    ]
    return Review(
        as_of=back.as_of,
        begun=back.as_of >= back.season.season.start,
        season_over=back.as_of > back.season.season.end,
        plantings=plantings,
        products=products,
        given=given,
        lost=lost,
        evenings_planned=planned,
        evenings_written=written,
        written=any(event.date <= back.as_of for event in back.diary.events),
        next_year=tuple(said),
    )


def _planting(seen: PlantingSeen) -> PlantingReview:
    e = seen.expected
    return PlantingReview(
        planting=e.planting_id,
        crop=e.crop,
        expected_first=(e.first_pick_p10, e.first_pick_p50, e.first_pick_p90),
        first=seen.first,
        expected_grams=(e.total_g_p10, e.total_g_p50, e.total_g_p90),
        grams=seen.picked if seen.first else None,
        over=seen.over,
    )


def _products(back: Hindsight) -> tuple[ProductReview, ...]:
    made = put_by(back.done, back.library, back.diary, today=back.as_of)
    planned = {line.product: line.planned for line in back.plan.wants} if back.plan else {}
    shelves = {shelf.product: shelf for shelf in back.shelves}
    wanted = {want.product: want.portions for want in back.season.want}
    names = dict.fromkeys([*wanted, *(put.product for put in made), *shelves])
    found = []
    for name in names:
        timed = [each for each in back.timed if each.product == name]
        frozen = [e for e in _told(back, Froze) if e.product == name]
        found.append(
            ProductReview(
                product=name,
                wanted=wanted.get(name, 0),
                planned=planned.get(name),
                put_by=sum(put.portions for put in made if put.product == name),
                eaten=sum(e.portions for e in _told(back, Ate) if e.product == name),
                given=sum(e.portions or 0 for e in _told(back, Gave) if e.name == name),
                lost=sum(e.portions or 0 for e in _told(back, Lost) if e.name == name),
                in_store=shelves[name].portions if name in shelves else 0,
                failed=sum(event.failed for event in frozen),
                minutes=sum(each.real for each in timed) if timed else None,
                book_minutes=sum(each.book for each in timed) if timed else None,
                pace=back.experience.paces.get(name),
            )
        )
    return tuple(found)


def _told(back: Hindsight, kind: type[E]) -> list[E]:
    """Events of one kind up to the day."""
    return [e for e in back.diary.events if isinstance(e, kind) and e.date <= back.as_of]


def _gone(back: Hindsight, kind: type[Gave] | type[Lost]) -> dict[str, float]:
    found: dict[str, float] = {}
    for event in _told(back, kind):
        if event.amount is not None:
            grams = _grams(back, event.name, event.amount)
            found[event.name] = found.get(event.name, 0.0) + grams
    return found


def _grams(back: Hindsight, name: str, amount: Quantity) -> float:
    crop = back.library.find_crop(name)
    return amount.grams(crop.raw_density.value if crop else 1.0)


def _evenings(back: Hindsight) -> tuple[int, int]:
    """Sessions without visits that the plan had until now, and those of which a `froze` line tells,
    be it of the day after, when their trays were packed."""
    evenings = [session for session in back.done if not session.is_visit]
    frozen = [(e.product, e.date) for e in _told(back, Froze)]
    written = sum(
        any(
            run.product == product and abs((date - session.start.date()).days) <= 1
            for run in session.runs
            for product, date in frozen
        )
        for session in evenings
    )
    return len(evenings), written


def _first_picks(plantings: tuple[PlantingSeen, ...]) -> Iterator[str]:
    """Plantings whose first pick fell outside what was expected."""
    for seen in plantings:
        e = seen.expected
        if seen.first is None or e.first_pick_p10 <= seen.first <= e.first_pick_p90:
            continue
        late = (seen.first - e.first_pick_p50).days
        weather = (seen.by_weather - e.first_pick_p50).days
        yield (
            f"The first pick of {_called(e)} was on {day(seen.first)}, "
            f"{_days(late)} than likely. "
            f"{f'By the weather it would be {_days(weather)}. ' if weather else ''}"
            f"Reckon with days_to_maturity = {days_seen(seen)}."
        )


def _days(days: int) -> str:
    return f"{plural(abs(days), 'day')} {'later' if days > 0 else 'earlier'}"


def _amounts(
    back: Hindsight,
    products: tuple[ProductReview, ...],
    given: dict[str, float],
    *,
    lost: dict[str, float],
) -> Iterator[str]:
    """Crops of which more or less should be sown, by what was wanted of them this year."""
    for crop in dict.fromkeys(seen.crop.name for seen in back.plantings):
        grown = [seen for seen in back.plantings if seen.crop.name == crop and seen.picked]
        if not grown or not all(seen.over for seen in grown):
            continue
        gone = given.get(crop, 0.0) + lost.get(crop, 0.0)
        own = [p for p in products if p.product.startswith(f"{crop}, ")]
        yield from _yield(back, crop, grown)
        yield from _more_or_less(back, crop, own, gone=gone)


def _yield(back: Hindsight, crop: str, grown: list[PlantingSeen]) -> Iterator[str]:
    """What came outside of what was expected, of the plantings with picks written down."""
    measures = back.season.household.measures
    picked, foods = sum(seen.picked for seen in grown), crop_many(crop)
    if not written_out(back, crop):
        yield (
            f"Of {foods} {mass(picked, measures)} are written down as picked, but what was put by "
            f"took {mass(raw_put_by(back, crop), measures)}: write down every pick, and the "
            "forecast learns from it."
        )
        return
    low, likely, high = (
        sum(getattr(seen.expected, f"total_g_{p}") for seen in grown) for p in ("p10", "p50", "p90")
    )
    if not low <= picked <= high:
        yield (
            f"{_capital(foods)} gave {mass(picked, measures)}, "
            f"{'more' if picked > high else 'less'} than was to be expected "
            f"({mass(likely, measures)}, from {mass(low, measures)} to {mass(high, measures)})."
        )


def _more_or_less(
    back: Hindsight, crop: str, products: list[ProductReview], *, gone: float
) -> Iterator[str]:
    """How much to sow, where something was short or much was not needed."""
    measures, foods = back.season.household.measures, crop_many(crop)
    picked = sum(seen.picked for seen in back.plantings if seen.crop.name == crop)
    had = max(picked, raw_put_by(back, crop) + gone)
    lacking = {p.product: count for p in products if (count := _short(p))}
    raw = sum(count * raw_per_portion(back, name) for name, count in lacking.items())
    named = joined(
        [f"{plural(count, 'portion')} of {food_name(name)}" for name, count in lacking.items()]
    )
    short = f"{named} {'is' if sum(lacking.values()) == 1 else 'are'} short"
    spare = max(gone, had - raw_put_by(back, crop) - _eaten_fresh(back, crop))
    if lacking and raw <= spare:
        yield (
            f"{short}, but about {mass(spare, measures)} {foods} came that was neither put by nor "
            "meant to be eaten fresh: time or room lacked, not the garden."
        )
    elif lacking:
        yield (
            f"{short}. They take {mass(raw, measures)} {foods}; this year {mass(had, measures)} "
            f"came: sow {_times((had + raw - spare) / had)} as much."
        )
    elif gone > MUCH_GONE * had:
        yield (
            f"Of {mass(had, measures)} {foods} {mass(gone, measures)} were given away or lost, and "
            f"nothing you wanted is short: {_times(1 - gone / had)} as much would have done."
        )


def _eaten_fresh(back: Hindsight, crop: str) -> float:
    """Grams meant to be eaten fresh while the crop was picked."""
    picked = [
        seen for seen in back.plantings if seen.crop.name == crop and seen.first and seen.last
    ]
    if not picked:
        return 0.0
    first = min(seen.first for seen in picked if seen.first)
    last = max(seen.last for seen in picked if seen.last)
    per_week = sum(fresh.per_week for fresh in back.season.fresh if fresh.crop == crop)
    return per_week * ((last - first).days + 7) / 7


def _short(product: ProductReview) -> int:
    """Portions of the want that are neither in store nor were used."""
    had = product.in_store + product.eaten + product.given
    return max(0, product.wanted - had) if product.put_by or product.in_store else product.wanted


def _times(factor: float) -> str:
    return f"{factor:.1f} times" if factor >= 0.95 else f"{max(1, round(10 * factor))} tenths"


def _paces(products: tuple[ProductReview, ...]) -> Iterator[str]:
    for product in products:
        pace = product.pace
        told = () if pace is None else (pace, *pace.steps.values())
        if pace is not None and any(abs(each.median - 1) > OFF_PACE for each in told):
            yield pace_words(_capital(food_name(product.product)), pace)


def _seals(back: Hindsight) -> Iterator[str]:
    """The share of seals that failed, and the products that stand out."""
    seals = back.experience.seals
    failed, tried = sum(f for _, f in seals.values()), sum(map(sum, seals.values()))
    if tried < FEW_SEALS:
        return
    spares, machine = back.experience.spares(100), back.season.machine is not None
    seals_failed = plural(failed, "seal") if machine else plural(failed, "zip")
    yield (
        f"{seals_failed} of {tried} failed, {100 * failed / tried:.0f} in a hundred; "
        f"{100 * SPARE_FAILED / SPARE_SEALED:.0f} are usual. Buy {spares} spare "
        f"{'pouches' if machine else 'bags'} to a hundred."
    )
    for product, (sealed, spoiled) in seals.items():
        usual = max(0.1, 2 * failed / tried)
        if sealed + spoiled >= FEW_SEALS / 2 and spoiled > usual * (sealed + spoiled):
            remedy = (
                "Try a shorter pump-down, or chill it more: harvestplan settings"
                if machine
                else "Keep the zips dry and clean, or pack it in boxes."
            )
            name = food_name(product)
            yield f"Most trouble was with {name}: {spoiled} of {sealed + spoiled}. {remedy}"


def _store(back: Hindsight, products: tuple[ProductReview, ...]) -> Iterator[str]:
    """Products that spoiled, and those eaten more slowly than meant."""
    due = {shelf.product: shelf.due for shelf in back.shelves}
    for product in products:
        if product.lost:
            yield f"{plural(product.lost, 'portion')} of {food_name(product.product)} spoiled."
        meant = due.get(product.product)
        if meant and product.eaten and product.eaten < 0.7 * meant and product.in_store:
            share = product.eaten / meant
            yield (
                f"Of {food_name(product.product)} you meant to have eaten {meant} portions by now, "
                f"and ate {product.eaten}: {math.ceil(product.wanted * share)} instead of "
                f"{product.wanted} may be enough."
            )


def _called(planting: PlantingForecast) -> str:
    """The planting by its own name, else by its crop's to people."""
    name = called(planting.planting_id, planting.crop)
    return crop_many(planting.crop) if name == planting.crop else name


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
