"""What can happen in a season, one record each."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from harvestplan.inputs.quantities import Quantity


@dataclass(frozen=True)
class Event:
    """Something that happened on `date`; `code` is its short name in the diary, empty for a line
    typed by hand that has none yet; `line` is where it stands (1-based), `text` what is written
    there between date and code."""

    date: dt.date
    code: str
    line: int
    text: str


@dataclass(frozen=True)
class Picked(Event):
    """Food brought in; `amount` is a mass, or a volume of the loose raw food."""

    crop: str
    amount: Quantity
    planting: str | None


@dataclass(frozen=True)
class Bought(Event):
    """Food bought in bulk; `amount` is a mass, or a volume of the loose food."""

    crop: str
    amount: Quantity


@dataclass(frozen=True)
class OfPlanting(Event):
    """Something that was seen of a crop, or of one planting of it."""

    crop: str
    planting: str | None


@dataclass(frozen=True)
class Flowering(OfPlanting):
    """The first flowers, or the silk, of a crop were seen."""


@dataclass(frozen=True)
class Emerged(OfPlanting):
    """The seedlings came up."""


@dataclass(frozen=True)
class NoneYet(OfPlanting):
    """Nothing has been picked of a crop up to this day, which silence alone would not say."""


@dataclass(frozen=True)
class Failed(OfPlanting):
    """A planting came to nothing, or to nothing more; without its id, all that the crop has."""


InGarden = Picked | OfPlanting
"""What is seen of a planting."""


@dataclass(frozen=True)
class Froze(Event):
    """Pouches that went into the freezer; `failed` of them had to be sealed again; `minutes` of
    hand work, all people's together, from washing to the freezer, where they were noted."""

    product: str
    portions: int
    portion: Quantity | None
    failed: int
    minutes: float | None = None


@dataclass(frozen=True)
class TimedStep(Event):
    """`minutes` of hand work, all people's together, that one step of a product took for an
    `amount` of food as it went into that step."""

    product: str
    step: str
    minutes: float
    amount: Quantity


@dataclass(frozen=True)
class Ate(Event):
    """Portions taken from the store and eaten."""

    product: str
    portions: int


@dataclass(frozen=True)
class Gone(Event):
    """What left without being eaten here: `portions` of a stored product, or an `amount` of a
    fresh crop; the other is None."""

    name: str
    portions: int | None
    amount: Quantity | None


@dataclass(frozen=True)
class Gave(Gone):
    """Given away."""


@dataclass(frozen=True)
class Lost(Gone):
    """Spoiled, or eaten by something else."""


@dataclass(frozen=True)
class LostAll(Event):
    """All that was frozen is spoiled."""


@dataclass(frozen=True)
class PowerCut(Event):
    """The power was off for `hours`; `opened` where the freezer was opened meanwhile."""

    hours: float
    opened: bool


@dataclass(frozen=True)
class Count(Event):
    """The store was counted: so many portions of a product lie there."""

    product: str
    portions: int


@dataclass(frozen=True)
class Setting(Event):
    """How the sealer was set for a product and how it went, in the household's own words."""

    product: str
    words: str


@dataclass(frozen=True)
class ColdReading(Event):
    """What a thermometer read in a product that was put to chill, in °C, and how many `minutes`
    after it came into the ice water, where that was noted."""

    product: str
    celsius: float
    minutes: float | None


@dataclass(frozen=True)
class Serviced(Event):
    """The sealing machine's oil was changed, after that day's work."""


@dataclass(frozen=True)
class LabelsPrinted(Event):
    """The labels of what is packed on `day` were printed."""

    day: dt.date


@dataclass(frozen=True)
class Moved(Event):
    """The household moved the session planned for `session` to `to`; times by its own clock."""

    session: dt.datetime
    to: dt.datetime


@dataclass(frozen=True)
class KeepFree(Event):
    """No session shall be on `day`; with `time` only the free window around that time is lost."""

    day: dt.date
    time: dt.time | None


@dataclass(frozen=True)
class Undo(Event):
    """Takes the event with the code `target` back."""

    target: str
