"""From a planting and its crop to the question the weather answers: how much warmth, from when?"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.forecast.climate import Climate
from harvestplan.forecast.ensemble import MOST_UNEXPLAINED, P90, UNEXPLAINED
from harvestplan.forecast.learning import Lesson, PlotNeed, learned
from harvestplan.forecast.thermal import ThermalTime, show_degree_days
from harvestplan.inputs.crops import Crop
from harvestplan.inputs.dates import anniversary, say
from harvestplan.inputs.figures import Figure
from harvestplan.inputs.growing import Growth, Picking
from harvestplan.inputs.season import Planting, Season

DAY = 86400.0

RAISE_DAYS = 42
"""Days from sowing under cover to setting out where the crop file has none; common practice,
no source."""

POT_DAYS = 21
"""Days in a pot of a crop that is usually sown in place; common practice, no source."""

INDOORS = 18.0
"""Mean temperature (°C) where plants are raised; common practice, no source."""

PACKET_START = {"tender": 7, "half-hardy": 0, "hardy": 0}
"""Days from the last frost to the sowing or setting out that days to maturity are told for: the
growing weather of late spring, also for what may go out earlier; own judgement."""

PACKET_WARMTH = {"tender": 14.0, "half-hardy": 10.0, "hardy": 10.0}
"""Normal mean temperature (°C) of the day that days to maturity are told for, at the least: by the
sea frost ends in March, long before anything grows as a packet says; own judgement."""

OVER_WINTER = 200
"""A crop with more days to maturity stands over a winter, whenever that begins; own judgement."""

WORTH_SAYING = 0.02
"""A need that own plants moved by a smaller share is not spoken of; own judgement."""

MOST_CREDIT = 0.3
"""A plant that was set out has at most this share of its way behind it; own judgement."""


@dataclass(frozen=True)
class Clock:
    """Thermal time counts from `start` (that day included); `needed` is None without weather.

    `days` is the same way in calendar days, `basis` says in plain words what it rests on. `spread`
    is the SD of the logarithm of the need, and `book` the need before anything was learned of it.
    """

    start: dt.date
    days: int
    needed: ThermalTime | None
    basis: str
    spread: float = UNEXPLAINED
    book: PlotNeed | None = None


def as_days(figure: Figure[float]) -> int:
    """A duration in whole days, at least one."""
    return max(round(figure.value / DAY), 1)


def set_clock(planting: Planting, crop: Crop, season: Season, *, climate: Climate | None) -> Clock:
    """When the planting's clock starts and what it needs from then to the first pick.

    The need is, in this order: what calendar days the planting's own seed packet promises, run on
    the local normals; the crop file's thermal time; the crop file's days, run on the normals.

    A crop whose clock starts at setting out, but for which only the sowing is known, is set out
    `raise_days` later. A crop whose clock starts at sowing, but which was set out as a plant,
    starts at setting out with its time in the pot (at 18 °C) taken off, at most 30 %.
    Raises FilesNeedMending if the crop cannot be grown.
    """
    growth, picking = _grown(crop)
    days = planting.days_to_maturity or as_days(growth.days_to_maturity)
    if growth.clock == "biofix":
        start = _biofix(growth, days + 7 * len(picking.weekly.value), season, climate=climate)
    else:
        start = _start(planting, growth)
    pot_days = _pot_days(planting, growth)
    left = days - round(min(pot_days, MOST_CREDIT * days))
    if climate is None:
        return Clock(start, left, None, basis=f"{left} days from {say(start)}")
    whole, basis = _whole_need(planting, growth, start, days=days, climate=climate)
    credit = min(pot_days * max(INDOORS - whole.base, 0.0), MOST_CREDIT * whole.amount)
    needed = whole.scaled(1 - credit / whole.amount)
    warmth = show_degree_days(needed.amount, season.household.measures)
    spread = need_spread(growth, planting.days_to_maturity)
    book = PlotNeed(needed, spread)
    basis = f"{warmth} from {say(start)}{basis}"
    return Clock(start, left, needed, basis=basis, spread=spread, book=book)


def taught(clock: Clock, lessons: Sequence[Lesson], measures: str) -> Clock:
    """The clock with what own seasons teach of its need, told in its `basis`."""
    if clock.book is None or not lessons:
        return clock
    need = learned(clock.book, lessons)
    more = need.amount.amount / clock.book.amount.amount - 1
    warmth = show_degree_days(need.amount.amount, measures)
    side = "more" if more > 0 else "less"
    own = f"{warmth} from {say(clock.start)}, by your own plants {abs(more) * 100:.0f} % {side} "
    told = f"{own}than the book's {clock.basis}" if abs(more) >= WORTH_SAYING else clock.basis
    return replace(clock, needed=need.amount, spread=need.spread, basis=told)


def need_spread(growth: Growth, packet_days: int | None) -> float:
    """SD of the logarithm of a crop's need: by the crop file's range, read as P10 to P90, within
    bounds. The days on a packet are those of the variety, so that no range of varieties counts."""
    book = growth.thermal_time or growth.days_to_maturity
    if packet_days is not None or book.low is None or book.high is None:
        return UNEXPLAINED
    widest = math.log(book.high / book.low) / (2 * P90)
    return min(max(widest, UNEXPLAINED), MOST_UNEXPLAINED)


def _grown(crop: Crop) -> tuple[Growth, Picking]:
    if crop.growth is None or crop.picking is None:
        message = f"{crop.name} is bought, not grown, so it cannot be a planting."
        raise FilesNeedMending([Flaw("season folder", None, crop.name, message=message)])
    return crop.growth, crop.picking


def _start(planting: Planting, growth: Growth) -> dt.date:
    if planting.set_out is not None:
        return planting.set_out
    assert planting.sown is not None  # the planting's own rule: one of the two
    if growth.clock == "sown":
        return planting.sown
    raised = RAISE_DAYS if growth.raise_days is None else as_days(growth.raise_days)
    return planting.sown + dt.timedelta(days=raised)


def _pot_days(planting: Planting, growth: Growth) -> int:
    if growth.clock != "sown" or planting.set_out is None:
        return 0
    return POT_DAYS if growth.raise_days is None else as_days(growth.raise_days)


def _biofix(growth: Growth, days: int, season: Season, *, climate: Climate | None) -> dt.date:
    """The first biofix whose crop is not over when the season starts.

    Crop files give the northern month-day; in the south it lies half a year later.
    """
    assert growth.biofix is not None
    month, day = (int(part) for part in growth.biofix.split("-"))
    if _southern(season, climate):
        month = (month + 5) % 12 + 1
    day = min(day, 28) if month == 2 else min(day, 30)
    begin = season.season.start
    candidates = (dt.date(begin.year + shift, month, day) for shift in (-2, -1, 0, 1))
    return next(c for c in candidates if c + dt.timedelta(days=days) >= begin)


def _southern(season: Season, climate: Climate | None) -> bool:
    """Whether it is warmest from October to March."""
    if climate is not None:
        return not 91 <= climate.warmest_day() < 274
    last = season.weather.last_frost
    return last is not None and int(last[:2]) >= 7


def _whole_need(
    planting: Planting, growth: Growth, start: dt.date, *, days: int, climate: Climate
) -> tuple[ThermalTime, str]:
    upper = None if growth.upper is None else growth.upper.value
    unit = ThermalTime(1.0, growth.method, growth.base.value, upper=upper)
    if growth.thermal_time is not None and planting.days_to_maturity is None:
        return unit.scaled(growth.thermal_time.value), ""
    usual = start if growth.clock == "biofix" else _usual_start(growth, start, days, climate)
    first = max(climate.index(usual), 0)
    total = float(climate.warmth(unit).normal[first : first + days].sum())
    whose = "crop file" if planting.days_to_maturity is None else "packet"
    when = f" from {say(usual)}" if usual != start else ""
    return unit.scaled(max(total, 1.0)), f", the {whose}'s {days} days{when} in a normal year here"


def _usual_start(growth: Growth, start: dt.date, days: int, climate: Climate) -> dt.date:
    """The day of sowing or setting out that days to maturity are told for, nearest to `start`: the
    last frost, or so long after it, or when it is warm enough where that is later. `start` itself
    for what grows over a winter, and where it hardly ever freezes."""
    last, hardiness = climate.last_frost(), growth.frost.value
    if last is None or days > OVER_WINTER:
        return start
    warmest, warm = climate.warmest_day(), climate.warm_from(PACKET_WARMTH[hardiness])
    free = (warmest - last) % 366 - PACKET_START[hardiness]
    usual = warmest - min(free, (warmest - warm) % 366)
    off = (usual - int(climate.calendar_day[climate.index(start)])) % 366
    return start + dt.timedelta(days=off if off <= 183 else off - 366)


def next_month_day(month_day: str, after: dt.date) -> dt.date:
    """The first date with that month and day ("10-05") on or after `after`.

    Raises FilesNeedMending for a day no year has.
    """
    month, day = (int(part) for part in month_day.split("-"))
    try:
        leap = dt.date(2000, month, day)
    except ValueError:
        message = f'"{month_day}" is no day of the year; write month-day, as in "10-05".'
        raise FilesNeedMending([Flaw("season folder", None, month_day, message=message)]) from None
    this_year = anniversary(leap, after.year)
    return this_year if this_year >= after else anniversary(leap, after.year + 1)
