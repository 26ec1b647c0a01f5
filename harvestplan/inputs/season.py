"""What a household writes: the season folder as immutable models.

Quantities are floats in the fixed units of `quantity_types`. Cross-checks that need the crop
library (does this crop exist?) live in `inputs.checks`.
"""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
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
    Power,
    Size,
    Volume,
)
from harvestplan.inputs.reminders import USUAL_REMINDERS, RemindAt

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
Measures = Literal["US", "UK", "metric"]
Name = Annotated[str, Field(min_length=1, max_length=80)]
MonthDay = Annotated[str, Field(pattern=r"^\d\d-\d\d$")]


class SeasonTable(BaseModel):
    """A table in a season file: nothing unknown, nothing changed after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class Home(SeasonTable):
    """Who cooks: name, IANA time zone, altitude in m, how pints and cups are read, people."""

    name: Name
    timezone: Name
    altitude: Length = 0.0
    measures: Measures = "US"
    hands: Annotated[int, Field(ge=1, le=8)] = 1


class SeasonSpan(SeasonTable):
    """First and last day of the season, how many sessions there may be, and the raw food in g for
    which it is worth getting out the pot."""

    start: dt.date
    end: dt.date
    max_sessions: Annotated[int, Field(ge=0, le=400)] | None = None
    max_sessions_per_week: Annotated[int, Field(ge=1, le=21)] | None = None
    smallest_batch: Mass | None = None


class Weather(SeasonTable):
    """File of past daily temperatures; month-days of the usual last and first frost."""

    daily: Name | None = None
    last_frost: MonthDay | None = None
    first_frost: MonthDay | None = None


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

    busy: tuple[Name, ...] = ()
    travel: Duration = 0.0
    remind: Annotated[tuple[RemindAt, ...], Field(max_length=5)] = USUAL_REMINDERS
    place: Name = "Kitchen"
    sheets: Annotated[str, Field(pattern=r"^https?://[^\s]+$", max_length=300)] | None = None


class Stove(SeasonTable):
    """What all burners of a stove draw together at most, W."""

    name: Name
    power: Power


class Pot(SeasonTable):
    """A pot on its burner: volume mL, the burner's power W; `batch` is the household's own, g.

    `stove` names the [[stove]] whose power it shares; `basket` is the area in m² of a basket in
    which it steams.
    """

    name: Name
    volume: Volume
    power: Power
    kind: Literal["gas", "electric", "induction"] = "electric"
    efficiency: Annotated[float, Field(gt=0.05, le=1.0)] | None = None
    batch: Mass | None = None
    one_minute: bool = False
    stove: Name | None = None
    basket: Area | None = None


class Bath(SeasonTable):
    """A cooling bath: volume mL."""

    name: Name
    volume: Volume


class Oven(SeasonTable):
    """An oven: trays, and the load of one tray in g."""

    name: Name
    trays: Annotated[int, Field(ge=1, le=12)]
    tray_load: Mass


class Dryer(SeasonTable):
    """A dryer: trays, and the area of one tray in m²."""

    name: Name
    trays: Annotated[int, Field(ge=1, le=40)]
    tray_area: Area


class Sealer(SeasonTable):
    """The sealing machine, or `count` equal ones: bar and chamber in m, times in s.

    `run_so_far` is that of each machine.
    """

    name: Name = "sealer"
    count: Annotated[int, Field(ge=1, le=20)] = 1
    kind: Literal["chamber", "external"]
    bar: Length
    chamber: Size | None = None
    handling: Duration = 20.0
    service_after: Duration | None = None
    run_so_far: Duration = 0.0

    @property
    def units(self) -> tuple[str, ...]:
        """What each machine is called: by number where there are several."""
        if self.count == 1:
            return (self.name,)
        return tuple(f"{self.name} {number}" for number in range(1, self.count + 1))


class Pouch(SeasonTable):
    """A bag size: width (the open mouth), length and film in m; pieces and price of a pack."""

    name: Name
    width: Length
    length: Length
    film: Length
    pack: Annotated[int, Field(ge=1, le=5000)] | None = None
    price: Annotated[float, Field(ge=0, le=1_000_000)] | None = None
    in_stock: Annotated[int, Field(ge=0, le=1_000_000)] = 0


class Freezer(SeasonTable):
    """A freezer: volume and what is taken of it in mL, freezing per day in g, trays in m²."""

    name: Name
    volume: Volume
    used: Volume = 0.0
    freezing_per_day: Mass | None = None
    tray_area: Area | None = None


class Cold(SeasonTable):
    """Room for waiting food: how much of the fridge it may take in mL (as much as it likes where
    nothing is said), and whether there is a cellar; whether ice is bought or made in the first
    freezer, on the day before it is needed."""

    fridge: Volume | None = None
    cellar: bool = False
    ice: Literal["buy", "make"] = "buy"


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

    With `steam` it is blanched over steam instead of in water.
    """

    product: Name
    portions: Annotated[int, Field(ge=0, le=5000)]
    portion: MassOrVolume
    priority: Annotated[float, Field(gt=0, le=100)] = 1.0
    per_week: Annotated[float, Field(gt=0, le=500)] | None = None
    steam: bool = False
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
    steps: dict[HandStep, LearnedStep] = {}
    sealed: Annotated[int, Field(ge=0, le=1_000_000)] = 0
    failed: Annotated[int, Field(ge=0, le=1_000_000)] = 0


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
