"""The plan: what `out/plan.json` holds, as immutable models.

Grams, millilitres and seconds are integers; times carry their offset; dates are dates.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from typing import Annotated, Any, Literal

from pydantic import Field, field_validator

from harvestplan.plan.immutable import Count, Grams, Record
from harvestplan.plan.remedy import Remedy
from harvestplan.plan.spans import overlap

OwnMinutes = Annotated[float, Field(ge=0.1, le=10)]
"""A household's minutes of hand work per minute of the crop file."""


class SeasonHead(Record):
    """Whose season it is, where, from when to when."""

    name: str
    timezone: str
    start: dt.date
    end: dt.date


class Lot(Record):
    """Food of one pick or purchase. Used between `ready` and `keep_until`, both inclusive.

    `picked`: it was brought in on `ready`, as the diary says; else it stands until it is wanted.
    """

    id: str
    crop: str
    planting: str | None
    bought: str | None
    ready: dt.date
    keep_until: dt.date
    grams: Grams
    low_grams: Grams
    high_grams: Grams
    picked: bool = False


class LotShare(Record):
    """Raw grams a run takes of a lot."""

    lot: str
    grams: Grams


class BeforeCut(Record):
    """What a run was before an evening was cut short: raw grams and pouches (a first sitting's are
    those of its second), and how many of its packing groups were begun then."""

    grams: Grams
    pouches: Count
    groups: Count


class Run(Record):
    """One product made in one session. `pace` is the household's own minutes of hand work per
    minute of the crop file, as they were reckoned with; `step_paces` those of steps that differ,
    timed by themselves or by how practised the household says it is. `cuts` is what it was before
    each cut in the middle of the evening.

    A first sitting packs nothing (pouches 0); its second sitting names it, takes no lots, and its
    grams_in is what the first put to chill.
    """

    id: str
    product: str
    crop: str
    lots: tuple[LotShare, ...]
    grams_in: Grams
    grams_packed: Grams
    pouch: str | None
    pouches: Count
    portion_grams: Grams
    second_sitting_of: str | None = None
    pace: OwnMinutes = 1.0
    step_paces: dict[str, OwnMinutes] = Field(default_factory=dict)
    cuts: tuple[BeforeCut, ...] = ()


class AddedItem(Record):
    """Something added to food, by the name that crop files use."""

    item: str
    grams: Grams


class Task(Record):
    """One step on one batch, or a step of the whole run (`batch` null), or of the session
    (`run` null). `equipment` names units of the season file, `cooks` those whose hands it takes
    (none in a plan of old); settings are per step; `ingredients` are added in it."""

    id: str
    run: str | None
    step: str
    batch: int | None
    equipment: tuple[str, ...]
    hands: Count
    start: dt.datetime
    end: dt.datetime
    grams: Grams
    settings: dict[str, Any] = Field(default_factory=dict)
    cooks: tuple[str, ...] = ()
    ingredients: tuple[AddedItem, ...] = ()


class Session(Record):
    """One stretch of kitchen work; an aware start and end inside its window.

    One of kind "visit" is a short one outside the windows: it packs what froze on trays.
    `cut_at` is when, in the middle of it, the rest was laid out again: what began before stands,
    `behind` seconds later than it was planned where the session was late.
    """

    uid: str
    sequence: Count
    status: Literal["planned", "firm", "done", "cancelled"]
    start: dt.datetime
    end: dt.datetime
    window_start: dt.datetime
    window_end: dt.datetime
    hands: Count
    runs: tuple[Run, ...]
    tasks: tuple[Task, ...]
    cut_at: dt.datetime | None = None
    behind: Count = 0
    kind: Literal["session", "visit"] = "session"

    @property
    def live(self) -> bool:
        """Whether it was held or is to be held; it is not where it was cancelled."""
        return self.status != "cancelled"

    @property
    def is_visit(self) -> bool:
        """Whether it is no evening's work."""
        return self.kind == "visit"


class Pick(Record):
    """A harvest from a planting, for a session or to be eaten fresh or given away."""

    planting: str
    crop: str
    date: dt.date
    grams: Grams
    session: str | None


class OpeningRow(Record):
    """What lay in a freezer when the plan was made: portions of a product as the season file, the
    sessions done and the diary say up to and including `as_of`, and the space they take in mL."""

    product: str
    freezer: str
    portions: Count
    volume_ml: Count


class FreezerDay(Record):
    """A freezer on a date: contents before the day's draw in mL, food frozen that day in g."""

    date: dt.date
    name: str
    used_ml: Count
    capacity_ml: Count
    load_grams: Grams
    load_limit_grams: Grams


def fullest(rows: Iterable[FreezerDay]) -> FreezerDay | None:
    """The day on which the largest share of a freezer is filled, the first of several; None where
    no row has any room at all."""
    roomy = [row for row in rows if row.capacity_ml]
    return max(
        roomy, key=lambda row: (row.used_ml / row.capacity_ml, -row.date.toordinal()), default=None
    )


class Balance(Record):
    """Where every gram of a crop goes; `grams` is the sum of the other three."""

    crop: str
    grams: Grams
    preserved_grams: Grams
    fresh_grams: Grams
    surplus_grams: Grams


class WantLine(Record):
    """Portions wanted, planned in sessions (those done included), in store at the start, and short.

    `corrected` is what the diary adds or takes off: frozen beyond what a session planned, less what
    was frozen short of it, less what spoiled. Short = wanted - planned - stored - corrected, at
    least 0; what was eaten or given away was put by all the same.
    """

    product: str
    wanted: Count
    planned: Count
    stored: Count
    short: Count
    corrected: int = 0

    @property
    def counted(self) -> int:
        """Portions that count towards the want: in store at the start, done and planned."""
        return max(0, self.planned + self.stored + self.corrected)


class ShoppingLine(Record):
    """Something to buy. `packs` of `pack` pieces each cover `buy`; `price` is for all packs.
    `volume_ml` is what `buy` takes up, of what is measured with spoon and cup or bought so."""

    item: str
    kind: str
    need: Count
    in_stock: Count
    buy: Count
    packs: Count
    pack: Count | None
    price: float | None
    order_by: dt.date
    volume_ml: Count | None = None


PartName = Literal[
    "portions",
    "freshness",
    "evenings",
    "visits",
    "foods started",
    "extra hours",
    "moving",
    "left to spoil",
]
COUNTED: dict[PartName, str] = {
    "portions": "portions put by, each by its priority",
    "freshness": "freshness that food loses while it waits",
    "evenings": "evenings in the kitchen",
    "visits": "visits to the kitchen",
    "foods started": "foods begun on an evening",
    "extra hours": "hours of extra windows",
    "moving": "what moves against the plan before",
    "left to spoil": "food in the house left to spoil",
}
"""What each part of a plan's worth counts, in plain words."""


class WorthPart(Record):
    """A part of the plan's worth in portions; what it takes off stands below nought."""

    part: PartName
    portions: float


class Proof(Record):
    """What the plan is worth, in portions, and that no plan can be worth more than `bound`: of what
    was still to be decided when it was made, by its goal (`parts`). `gap` is the difference as a
    share of the worth."""

    worth: float
    bound: float
    gap: float
    status: Literal["optimal", "feasible"]
    seconds: float
    parts: tuple[WorthPart, ...]


class Advice(Record):
    """Something worth knowing, with a code for programs."""

    code: str
    message: str


class Wish(Record):
    """A session that the household itself moved, as its diary says.

    `seconds` and `hands` are those of the session when it was moved; `session` is its uid, empty
    where none stood at `moved_from`. `why` tells why it is not where it was put, empty where it is.
    """

    session: str
    moved_from: dt.datetime
    moved_to: dt.datetime
    seconds: Count
    hands: Count
    why: str = ""
    given_up: bool = False
    """Whether the household took it back: moved the session again, or keeps the time free."""
    kind: Literal["session", "visit"] = "session"


class Held(Record):
    """Kitchen time held: a session stands there, or it is kept free should the weather turn."""

    start: dt.datetime
    end: dt.datetime


class PouchesFor(Record):
    """Pouches of a size that the plan may come to need from the day it was made sturdier."""

    pouch: str
    count: Count


class Fared(Record):
    """How past years fared on so many `evenings`, planned anew each Monday: the share of them that
    was `met`, which is as well as on every free evening, and portions `short` on average."""

    evenings: Count
    met: float
    short: float


class Sturdy(Record):
    """The evenings held so that wants are met in a `share` of past years as far as any plan could.

    `years` were judged, none of them by evenings ranked with it (0 where nothing was judged): on
    the evenings of the `plain` plan's sessions, with those kept free beside them, and on every free
    evening. `used` is how many of those held are used on average. In a `share` of the years
    `pouches` suffice and the freezer is no fuller than `fullest` (0 to 1).
    """

    on: dt.date
    share: Annotated[float, Field(gt=0, lt=1)]
    seed: Count
    years: Count
    plain: Fared
    sturdier: Fared
    every: Fared
    used: float
    fullest: float | None
    pouches: tuple[PouchesFor, ...]
    held: tuple[Held, ...]


class TooMuchOf(Record):
    """So many pouches of a product in one sitting."""

    product: str
    sitting: Literal["whole", "first", "second"]
    pouches: Count


class TooMuch(Record):
    """Runs that were proven not to fit together between the setting up and the cleaning of an
    evening with so many seconds and hands, nor more of them. `fingerprint` is of their tasks:
    where those have changed it says nothing any more."""

    room_s: Count
    hands: Count
    runs: tuple[TooMuchOf, ...]
    fingerprint: str


class PrintedLabels(Record):
    """The labels of what is packed on `day` are printed, as the diary says since `told_on`."""

    day: dt.date
    told_on: dt.date


class Plan(Record):
    """All that was decided, and on what. Without `opening` (a plan of old) the freezers are counted
    from the season's start; without `proof` nothing is known of how good it is."""

    format: Literal[1] = 1
    made_at: dt.datetime
    as_of: dt.date
    season: SeasonHead
    lots: tuple[Lot, ...]
    sessions: tuple[Session, ...]
    picks: tuple[Pick, ...]
    freezer: tuple[FreezerDay, ...]
    balance: tuple[Balance, ...]
    wants: tuple[WantLine, ...]
    shopping: tuple[ShoppingLine, ...]
    proof: Proof | None
    warnings: tuple[Advice, ...]
    opening: tuple[OpeningRow, ...] | None = None
    wishes: tuple[Wish, ...] = ()
    sturdy: Sturdy | None = None
    printed: tuple[PrintedLabels, ...] = ()
    too_much: tuple[TooMuch, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    """What would help where something falls short, the most worth first."""
    basis: str = ""
    """A digest of what it was made from; empty in plans of old."""

    @field_validator("proof", mode="before")
    @classmethod
    def _of_old(cls, written: Any) -> Any:
        """Plans of old had a proof level by level, which says nothing of a plan's worth."""
        return None if isinstance(written, list | tuple) else written

    @property
    def kept_free(self) -> tuple[Held, ...]:
        """Times held from `as_of` on in which no session stands."""
        held = self.sturdy.held if self.sturdy else ()
        live = [session for session in self.sessions if session.live]
        return tuple(
            time
            for time in held
            if time.start.date() >= self.as_of and not any(overlap(s, time) for s in live)
        )
