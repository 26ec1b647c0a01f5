"""What lies in store: the season file's start, finished sessions and the diary.

Nothing counts as eaten that is not written. Only plans made while the diary says nothing at all of
the store take the household to eat as it meant to, week by week.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from harvestplan.inputs.crops import Crop, Library, Product
from harvestplan.inputs.draws import draw_of
from harvestplan.inputs.season import Season, Want
from harvestplan.kitchen.best_before import keeps_for
from harvestplan.kitchen.pouches import choose_packing
from harvestplan.plan.models import Session
from harvestplan.records.diary import Diary
from harvestplan.records.events import Ate, Count, Event, Froze, Gone, Lost, LostAll
from harvestplan.records.put_by import PutBy, portion_grams, put_by

DAY, WEEK = dt.timedelta(days=1), dt.timedelta(days=7)


@dataclass(frozen=True)
class StoredBatch:
    """Portions of a product put by on one day; `best_before` is quality, not safety.

    `freezer` is None for what is not frozen; `grams` the portion's size where it is known.
    """

    put_by: dt.date
    portions: int
    best_before: dt.date
    freezer: str | None = None
    grams: int | None = None


@dataclass(frozen=True)
class StoredProduct:
    """A product in store, oldest batch first.

    `eaten` are the portions eaten; `due` those the household meant to have drawn by now, or None
    where it named no weekly draw. `corrected` are the portions by which the diary differs from the
    plan in what is put by: frozen beyond the plan, less what was frozen short of it, less what
    spoiled. Eaten and given portions were put by all the same; a count tells nothing of it.
    `unknown` are portions eaten, given or lost of which nothing was known, since the last count.
    """

    product: str
    batches: tuple[StoredBatch, ...]
    eaten: int
    due: int | None
    corrected: int = 0
    unknown: int = 0

    @property
    def portions(self) -> int:
        return sum(batch.portions for batch in self.batches)


def stock(
    season: Season,
    library: Library,
    diary: Diary,
    *,
    today: dt.date,
    done: Iterable[Session] = (),
    as_meant: bool = False,
) -> tuple[StoredProduct, ...]:
    """Every product that is or was in store up to and including `today`, in the library's names.

    `done` are the finished sessions of the published plan; the diary's `froze` lines count in
    place of what they planned. What is eaten, given or lost is taken from the oldest portions. A
    count sets the number: what is too many is taken from the oldest, what is too few is put down
    to the day of the count. With `as_meant`, where the diary says nothing of the store, the weekly
    draws up to the day before are taken to have happened.
    """
    store = _Store(season, library)
    for item in season.stored:
        grams = portion_grams(library, item.product, item.portion)
        name = library.full_name(item.product)
        store.add(name, item.frozen_on, item.portions, freezer=None, grams=grams)
    wants = {library.full_name(want.product): want for want in season.want}
    assumed = as_meant and not speaks_of_store(diary, today)
    meant = _meant(wants, season, today) if assumed else ()
    for happened in _in_order(put_by(done, library, diary, today=today), diary, meant, today=today):
        _apply(store, happened)
    return tuple(
        _shelf(store, product, wants.get(product), today=today) for product in store.products()
    )


def in_freezers(shelves: Iterable[StoredProduct]) -> dict[tuple[str, str], int]:
    """Frozen portions by product and freezer."""
    found: dict[tuple[str, str], int] = defaultdict(int)
    for shelf in shelves:
        for batch in shelf.batches:
            if batch.freezer is not None:
                found[shelf.product, batch.freezer] += batch.portions
    return dict(found)


def speaks_of_store(diary: Diary, today: dt.date) -> bool:
    """Whether the diary says anything of what lies in store, up to and including `today`."""
    return any(event.date <= today and is_of_store(event) for event in diary.events)


def is_of_store(event: Event) -> bool:
    """Whether the event is one of the store."""
    if isinstance(event, Gone):
        return event.portions is not None
    return isinstance(event, Froze | Ate | Count | LostAll)


@dataclass
class _Pile:
    """Portions of one day in one place."""

    day: dt.date
    freezer: str | None
    grams: int | None
    portions: int


class _Store:
    """The piles of each product, and what became of them."""

    def __init__(self, season: Season, library: Library) -> None:
        self.season = season
        self.library = library
        self.season_end = season.season.end
        self.freezers = [freezer.name for freezer in season.freezer]
        self.piles: dict[str, list[_Pile]] = {}
        self.eaten: dict[str, int] = defaultdict(int)
        self.corrected: dict[str, int] = defaultdict(int)
        self.unknown: dict[str, int] = defaultdict(int)

    def products(self) -> list[str]:
        return sorted(self.piles)

    def add(
        self, product: str, day: dt.date, portions: int, *, freezer: str | None, grams: int | None
    ) -> None:
        """Adds portions; frozen ones of which nobody says where lie in the first freezer."""
        place = None
        if is_frozen(self.library, product) and self.freezers:
            place = freezer if freezer in self.freezers else self.freezers[0]
        piles = self.piles.setdefault(product, [])
        for pile in piles:
            if (pile.day, pile.freezer, pile.grams) == (day, place, grams):
                pile.portions += portions
                return
        piles.append(_Pile(day, place, grams, portions=portions))
        piles.sort(key=lambda pile: (pile.day, self._rank(pile)))

    def take(self, product: str, portions: int) -> int:
        """Takes the oldest portions, as many as there are; how many that was."""
        taken = _take(self.piles.setdefault(product, []), portions)
        self.unknown[product] += portions - taken
        return taken

    def draw(self, product: str, portions: int) -> int:
        """Takes portions from the freezers in their order, as plans reckon."""
        return _take(sorted(self.piles.get(product, ()), key=self._rank), portions)

    def there(self, product: str) -> int:
        return sum(pile.portions for pile in self.piles.get(product, ()))

    def _rank(self, pile: _Pile) -> int:
        return self.freezers.index(pile.freezer) if pile.freezer in self.freezers else -1


def _take(piles: Iterable[_Pile], portions: int) -> int:
    left = portions
    for pile in piles:
        taken = min(left, pile.portions)
        pile.portions -= taken
        left -= taken
    return portions - left


@dataclass(frozen=True)
class _Due:
    """Portions that were meant to be drawn at the end of a day."""

    day: dt.date
    product: str
    portions: int


def _meant(wants: Mapping[str, Want], season: Season, today: dt.date) -> Iterator[_Due]:
    """What was meant to be drawn since the season's start, up to the day before `today`."""
    for product, want in wants.items():
        draw = draw_of(want, season.season.end)
        if draw is not None:
            for day, portions in draw.events(season.season.start, today - DAY):
                yield _Due(day, product, portions)


_Happened = PutBy | Event | _Due


def _in_order(
    put: Iterable[PutBy], diary: Diary, meant: Iterable[_Due], *, today: dt.date
) -> Iterator[_Happened]:
    """All that happened, by day: what was planned, then the lines as they stand, then the draw."""
    found: list[tuple[dt.date, float, _Happened]] = [(each.day, each.place, each) for each in put]
    found += [
        (event.date, place, event)
        for place, event in enumerate(diary.events)
        if event.date <= today and not isinstance(event, Froze)
    ]
    found += [(due.day, math.inf, due) for due in meant]
    return (happened for _, _, happened in sorted(found, key=lambda each: each[:2]))


def _apply(store: _Store, happened: _Happened) -> None:
    match happened:
        case PutBy():
            for freezer, portions in happened.parts:
                store.add(
                    happened.product,
                    happened.day,
                    portions,
                    freezer=freezer,
                    grams=happened.grams,
                )
            store.corrected[happened.product] += happened.portions - happened.planned
        case _Due():
            store.eaten[happened.product] += store.draw(happened.product, happened.portions)
        case Ate():
            store.take(happened.product, happened.portions)
            store.eaten[happened.product] += happened.portions
        case Gone(portions=int(portions)):
            gone = store.take(happened.name, portions)
            if isinstance(happened, Lost):
                store.corrected[happened.name] -= gone
        case LostAll():
            for product in store.products():
                if is_frozen(store.library, product):
                    store.corrected[product] -= store.take(product, store.there(product))
        case Count():
            more = happened.portions - store.there(happened.product)
            if more > 0:
                store.add(happened.product, happened.date, more, freezer=None, grams=None)
            else:
                store.take(happened.product, -more)
            store.unknown[happened.product] = 0
        case _:
            pass


def is_frozen(library: Library, product: str) -> bool:
    """Whether the product is kept in the freezer."""
    found = library.find_product(product)
    return found is not None and found[1].storage == "freezer"


def _shelf(store: _Store, product: str, want: Want | None, *, today: dt.date) -> StoredProduct:
    season_end = store.season_end
    draw = draw_of(want, season_end) if want else None
    found = store.library.find_product(product)
    named = want.pouch if want else None
    return StoredProduct(
        product=product,
        batches=tuple(
            StoredBatch(
                pile.day,
                pile.portions,
                pile.day + _keeps(store, found, pile, named=named),
                freezer=pile.freezer,
                grams=pile.grams,
            )
            for pile in store.piles[product]
            if pile.portions
        ),
        eaten=store.eaten[product],
        # Portions meant to be drawn up to and including today, as the planner counts them.
        due=draw.target(today) if draw else None,
        corrected=store.corrected[product],
        unknown=store.unknown[product],
    )


def _keeps(
    store: _Store, found: tuple[Crop, Product] | None, pile: _Pile, *, named: str | None
) -> dt.timedelta:
    """As long as in the container that this kitchen packs such a portion in."""
    if found is None:
        return dt.timedelta()
    pouches, machine = store.season.pouch, store.season.machine
    fitting = [pouch for pouch in pouches if named in (None, pouch.name)]
    packing = choose_packing(found[1], pile.grams or 1, fitting, sealer=machine)
    return keeps_for(found[1], store.library, packing.pouch if packing else None)


def use_first(
    shelves: Iterable[StoredProduct], today: dt.date, weeks: int = 4
) -> tuple[StoredProduct, ...]:
    """Shelves whose oldest portions pass their best-before date within so many weeks."""
    return tuple(
        shelf
        for shelf in shelves
        if shelf.batches and shelf.batches[0].best_before <= today + weeks * WEEK
    )
