"""What a household writes: the season folder as immutable models.

Quantities are floats in the fixed units of `quantity_types`. Cross-checks that need the crop
library (does this crop exist?) live in `inputs.checks`.
"""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Literal

from pydantic import (
    BeforeValidator,
    Field,
    PrivateAttr,
    ValidationInfo,
    model_validator,
)

from harvestplan.inputs.explain import not_among
from harvestplan.inputs.quantities import Quantity
from harvestplan.inputs.quantity_types import (
    Area,
    Duration,
    Length,
    Mass,
    MassOrVolume,
)
from harvestplan.inputs.reminders import USUAL_REMINDERS, RemindAt
from harvestplan.inputs.season_kitchen import (
    Bath,
    Cold,
    Dryer,
    Freezer,
    Name,
    Oven,
    Pot,
    Pouch,
    Sealer,
    SeasonTable,
    Stove,
)
from harvestplan.inputs.toil_words import PortionsWorth
from harvestplan.inputs.visit_times import USUAL_VISITS, VisitWords

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
Measures = Literal["US", "UK", "metric"]
Practised = Literal["beginner", "some", "practised"]
MonthDay = Annotated[str, Field(pattern=r"^\d\d-\d\d$")]


class Home(SeasonTable):
    """Who cooks: name, IANA time zone, altitude in m, how pints and cups are read, people, and how
    practised they are at putting food by, until the diary tells their own pace."""

    name: Name
    timezone: Name
    altitude: Length = 0.0
    measures: Measures = "US"
    hands: Annotated[int, Field(ge=1, le=8)] = 1
    practised: Practised = "some"
    cooks: Annotated[tuple[Name, ...], Field(max_length=8)] = ()
    """What those at work in the kitchen are called; so many hands there are where `hands` is not
    said."""
    currency: Annotated[str, Field(max_length=8)] = ""
    """What stands beside prices: "$", "€", "EUR"."""

    @model_validator(mode="before")
    @classmethod
    def _hands_of_the_cooks(cls, written: Any) -> Any:
        if isinstance(written, dict) and "hands" not in written:
            cooks = written.get("cooks")
            if isinstance(cooks, list | tuple) and 0 < len(cooks) <= 8:
                return {**written, "hands": len(cooks)}
        return written


class SeasonSpan(SeasonTable):
    """First and last day of the season, how many sessions there may be, the raw food in g for which
    it is worth getting out the pot, when a short visit to the kitchen suits, and what toil is worth
    in portions."""

    start: dt.date
    end: dt.date
    max_sessions: Annotated[int, Field(ge=0, le=400)] | None = None
    max_sessions_per_week: Annotated[int, Field(ge=1, le=21)] | None = None
    smallest_batch: Mass | None = None
    visits: VisitWords = USUAL_VISITS
    evening_is_worth: PortionsWorth = 2.0
    visit_is_worth: PortionsWorth = 0.5
    food_is_worth: PortionsWorth = 0.7
    late_hour_is_worth: PortionsWorth = 1.0
    """What toil is worth in portions (own judgement, as long as the household does not say): an
    evening in the kitchen, a visit, each food that is begun on an evening, and an hour of an extra
    window beside the evening."""


def _listed(value: Any) -> Any:
    """One name as a list of one."""
    return (value,) if isinstance(value, str) else value


class Weather(SeasonTable):
    """Files (or folders of files) of daily temperatures, past and coming; which of their stations,
    and the unit where a file does not tell; month-days of the usual last and first frost; the
    garden's latitude and longitude (degrees, north and east), from which a rough climate is taken
    where there is no weather."""

    daily: Annotated[tuple[Name, ...], BeforeValidator(_listed)] = ()
    station: Name | None = None
    unit: Literal["C", "F"] | None = None
    last_frost: MonthDay | None = None
    first_frost: MonthDay | None = None
    latitude: Annotated[float, Field(ge=-90, le=90)] | None = None
    longitude: Annotated[float, Field(ge=-180, le=180)] | None = None

    @model_validator(mode="after")
    def _both_or_none(self) -> Weather:
        if (self.latitude is None) != (self.longitude is None):
            raise ValueError("give latitude and longitude, or neither")
        return self


class Window(SeasonTable):
    """A stretch of free kitchen time that comes back every week, local times."""

    days: Annotated[tuple[Weekday, ...], Field(min_length=1)]
    start: dt.time
    end: dt.time
    hands: Annotated[int, Field(ge=1, le=8)] | None = None


class ExtraWindow(SeasonTable):
    """Free kitchen time on one date, beyond the usual hours."""

    date: dt.date
    start: dt.time
    end: dt.time
    hands: Annotated[int, Field(ge=1, le=8)] | None = None


class Away(SeasonTable):
    """Days nobody is there, both inclusive."""

    start: dt.date
    end: dt.date


class Calendars(SeasonTable):
    """Busy calendars to keep clear of, and time in s kept on each side of an event; when to be
    reminded of a session, where it is held, and the web address under which the run sheets are
    served, where they are."""

    busy: Annotated[tuple[Name, ...], Field(max_length=50)] = ()
    travel: Duration = 0.0
    remind: Annotated[tuple[RemindAt, ...], Field(max_length=5)] = USUAL_REMINDERS
    place: Name = "Kitchen"
    sheets: Annotated[str, Field(pattern=r"^https?://[^\s]+$", max_length=300)] | None = None


class Planting(SeasonTable):
    """One crop, sown or set out on one date in one place."""

    crop: Name
    id: Name | None = None
    plants: Annotated[int, Field(ge=1, le=10000)] | None = None
    row: Length | None = None
    area: Area | None = None
    sown: dt.date | None = None
    set_out: dt.date | None = None
    days_to_maturity: Annotated[int, Field(ge=10, le=400)] | None = None
    yield_: Mass | None = Field(default=None, alias="yield")
    under: Literal["fleece", "tunnel"] | None = None
    """What it grows under for the whole season."""
    habit: Name | None = None
    """Of the crop's habits the one that these plants have, where it is not the usual one."""
    fails: Annotated[float, Field(ge=0, le=0.5)] | None = None
    """Share of such plantings that bring nothing, where it is not what the crop file has."""
    first_pick: dt.date | None = None

    @model_validator(mode="after")
    def _one_of_each(self) -> Planting:
        if sum(value is not None for value in (self.plants, self.row, self.area)) != 1:
            raise ValueError("give exactly one of plants, row or area")
        if sum(value is not None for value in (self.sown, self.set_out)) != 1:
            raise ValueError("give exactly one of sown or set_out")
        return self


class Purchase(SeasonTable):
    """Food bought in bulk: amount g or mL, day, and how long it keeps in s."""

    item: Name
    amount: MassOrVolume
    on: dt.date
    keeps: Duration | None = None
    _made: bool = PrivateAttr(default=False)

    @property
    def made(self) -> bool:
        """Whether the diary says that it was bought; a season file cannot."""
        return self._made

    def as_made(self, amount: Quantity, on: dt.date) -> Purchase:
        """The purchase as it really was."""
        real = self.model_copy(update={"amount": amount, "on": on})
        real._made = True
        return real


class Want(SeasonTable):
    """How much of a product to put by: portions, their size, priority, and the weekly draw.

    With `steam` it is blanched over steam instead of in water; `pouch` names the [[pouch]] that it
    is packed in, where that is not left to the plan.
    """

    product: Name
    portions: Annotated[int, Field(ge=0, le=5000)]
    portion: MassOrVolume
    priority: Annotated[float, Field(gt=0, le=100)] = 1.0
    per_week: Annotated[float, Field(gt=0, le=500)] | None = None
    steam: bool = False
    pouch: Name | None = None
    from_: dt.date | None = Field(default=None, alias="from")
    until: dt.date | None = None


class Fresh(SeasonTable):
    """What is eaten fresh of a crop each week, g."""

    crop: Name
    per_week: Mass


class Stored(SeasonTable):
    """What lies in store when the season starts."""

    product: Name
    portions: Annotated[int, Field(ge=0, le=5000)]
    portion: MassOrVolume
    frozen_on: dt.date


def _by_hand(step: Any, info: ValidationInfo) -> Any:
    """A step whose time hands alone set, where the context of validation knows them."""
    known = (info.context or {}).get("by_hand")
    if known and step not in known:
        raise not_among(known)
    return step


HandStep = Annotated[str, BeforeValidator(_by_hand)]


class LearnedStep(SeasonTable):
    """Own minutes of a step per minute of the crop file, from so many timings."""

    pace: Annotated[float, Field(ge=0.1, le=10)]
    timings: Annotated[int, Field(ge=1, le=5000)]


class Learned(SeasonTable):
    """What earlier seasons taught of a product: own minutes of hand work per minute of the crop
    file, from so many evenings, and of `steps` timed by themselves; pouches sealed, and seals that
    failed."""

    product: Name
    pace: Annotated[float, Field(ge=0.1, le=10)] | None = None
    evenings: Annotated[int, Field(ge=0, le=5000)] = 0
    steps: dict[HandStep, LearnedStep] = Field(default_factory=dict)
    sealed: Annotated[int, Field(ge=0, le=1_000_000)] = 0
    failed: Annotated[int, Field(ge=0, le=1_000_000)] = 0


class Ripened(SeasonTable):
    """How much warmth the first picks of earlier seasons took, each over what the book has: 1.08 is
    8 % more. The book is the crop file, or the planting's `days_to_maturity`."""

    crop: Name
    took: Annotated[
        tuple[Annotated[float, Field(ge=0.4, le=2.5)], ...], Field(min_length=1, max_length=50)
    ]


class Season(SeasonTable):
    """Everything the household wrote, merged."""

    household: Home
    season: SeasonSpan
    weather: Weather = Weather()
    window: tuple[Window, ...] = ()
    extra_window: tuple[ExtraWindow, ...] = ()
    away: tuple[Away, ...] = ()
    calendars: Calendars = Calendars()
    stove: tuple[Stove, ...] = ()
    pot: tuple[Pot, ...] = ()
    bath: tuple[Bath, ...] = ()
    oven: tuple[Oven, ...] = ()
    dryer: tuple[Dryer, ...] = ()
    sealer: Sealer | None = None
    pouch: tuple[Pouch, ...] = ()
    freezer: tuple[Freezer, ...] = ()
    cold: Cold = Cold()
    planting: tuple[Planting, ...] = ()
    bought: tuple[Purchase, ...] = ()
    want: tuple[Want, ...] = ()
    fresh: tuple[Fresh, ...] = ()
    stored: tuple[Stored, ...] = ()
    learned: tuple[Learned, ...] = ()
    ripened: tuple[Ripened, ...] = ()

    @property
    def machine(self) -> Sealer | None:
        """The sealing machine; None where all packs are closed by hand."""
        return None if self.sealer is None or self.sealer.kind == "none" else self.sealer
