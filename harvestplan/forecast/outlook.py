"""When a planting is first picked, in the light of all that was seen of it."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from harvestplan.forecast import ensemble, frost, hot_days, reasons, stages
from harvestplan.forecast.case import Case
from harvestplan.forecast.clock import Clock
from harvestplan.forecast.ensemble import HORIZON, FirstPick
from harvestplan.forecast.seen import Seen

MOST_RIPEN = 0.5
"""Where frost comes first in more years than this, it comes before the crop is ripe."""
NEVER = 10 * HORIZON
"""The day on which frost ends the picking of what no frost ends."""


@dataclass(frozen=True)
class Ripening:
    """First pick at P10, P50 and P90, the day the ripening begins, and from which day on picks may
    still be made; `state` says what that rests on. `possible` are the first picks there may be,
    None where it is made; in the share `frosted` of them frost comes first."""

    days: tuple[int, int, int]
    origin: int
    begin: int
    state: reasons.State
    possible: FirstPick | None = None
    frosted: float = 0.0


def reckoned(case: Case, seen: Seen, *, unpicked: dt.date | None) -> FirstPick:
    """The first pick reckoned from the clock, from emergence where it was seen, and from flower.

    Needs that were reached before the day `unpicked`, on which nothing had been picked, are cut
    off.
    """
    clock, growth = case.clock, case.crop.growth
    assert growth is not None
    first = _by_warmth(case, clock, unpicked=unpicked)
    if seen.emerged is not None and growth.clock == "sown" and case.planting.sown is not None:
        shift = case.day(seen.emerged)
        again = stages.restart(clock, case.crop, seen.emerged)
        if case.climate is None or again.needed is None:
            first = stages.counted_from_emergence(shift, again.days, clock.days)
        else:
            later = _by_warmth(case, again, unpicked=unpicked)
            first = replace(first, days=later.days + shift, moved=later.moved)
    if seen.flowering is not None and growth.days_after_flower is not None:
        first = _in_light_of_flowers(case, first, seen.flowering, unpicked=unpicked)
    return first


def _by_warmth(case: Case, clock: Clock, *, unpicked: dt.date | None) -> FirstPick:
    """By thermal time from the clock's start, or in calendar days without weather."""
    if case.climate is None or clock.needed is None:
        return ensemble.days_without_weather(clock.days)
    return ensemble.first_pick(
        case.climate,
        clock.start,
        clock.needed,
        as_of=case.as_of,
        spread=clock.spread,
        unpicked=unpicked,
    )


def _in_light_of_flowers(
    case: Case, first: FirstPick, flowered: dt.date, *, unpicked: dt.date | None
) -> FirstPick:
    """The stretch from flower to pick has a need of its own, with its own spread."""
    assert case.crop.growth is not None and case.crop.growth.days_after_flower is not None
    after = case.crop.growth.days_after_flower
    day = case.day(flowered)
    if case.climate is None or case.clock.needed is None:
        return stages.narrowed(first, stages.counted_from_flower(after, day))
    stretch = stages.from_flower(case.clock, after, flowered, case.climate)
    found = _by_warmth(case, stretch, unpicked=unpicked)
    return stages.narrowed(first, replace(found, days=found.days + day))


def outlook(
    case: Case, seen: Seen, first: FirstPick, *, begun: dt.date | None, unpicked: dt.date | None
) -> Ripening:
    """Where the planting stands on the day it is looked at; `first` is what was reckoned with
    nothing picked by the day `unpicked`.

    Silence moves nothing: where no pick is told of, they are taken to come, and to have come, as
    forecast; but from the day `begun` on where that is earlier, and nothing said speaks against it.
    """
    known = [date for date in (case.planting.first_pick, *seen.picks) if date is not None]
    if known:
        day = case.day(min(known))
        return Ripening((day, day, day), day, case.today if seen.picks else day, state="picked")
    left = first if unpicked is None else stages.not_before(first, case.day(unpicked))
    ripe, frosted = _before_frost(case, left)
    days = ripe.quantiles()
    _, likely, late = days
    if begun is not None and case.day(begun) < likely and (unpicked is None or unpicked < begun):
        day = case.day(begun)
        return Ripening((day, day, day), day, day, state="begun")
    due: reasons.State = "due" if case.today <= late else "untold"
    state = "ahead" if case.today <= likely else due
    return Ripening(days, likely, likely, state=state, possible=left, frosted=frosted)


def frost_days(case: Case, moved: NDArray[np.int64]) -> NDArray[np.int64]:
    """The day at which frost, or running to seed, ends the picking in each of the past years,
    `NEVER` for neither."""
    assert case.crop.growth is not None
    climate, hardiness = case.climate, case.crop.growth.frost.value
    own = case.season.weather.first_frost is not None
    if climate is None or (climate.rough and own):
        ends = frost.picking_ends(
            hardiness, case.clock.start, 0, as_of=case.as_of, climate=climate, season=case.season
        )
        return np.full(moved.shape, NEVER if ends is None else ends, dtype=np.int64)
    by_year = frost.ends_by_year(
        hardiness, case.clock.start, moved, as_of=case.as_of, climate=climate
    )
    bolts = case.crop.growth.bolts_above
    if bolts is not None:
        up = round(case.emerges)
        begin = climate.index(case.clock.start) + moved + up
        latitude = case.season.weather.latitude
        runs = hot_days.bolting_day(climate, bolts.value, latitude, begin, days=HORIZON - up)
        by_year = np.minimum(by_year, runs + up)
    return np.where(by_year >= HORIZON, NEVER, by_year)


def _before_frost(case: Case, first: FirstPick) -> tuple[FirstPick, float]:
    """Those first picks that come before the frost of their year, and the share of the others; all
    of them where most come too late."""
    if first.moved is None:
        return first, 0.0
    ripe = first.days < frost_days(case, first.moved)
    if ripe.all() or ripe.mean() < MOST_RIPEN:
        return first, 0.0
    left = replace(first, days=first.days[ripe], moved=first.moved[ripe])
    return left, 1 - float(ripe.mean())
