"""The forecast of one planting: its dates, its picks, and why."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from harvestplan.forecast import ensemble, frost, reasons, stages
from harvestplan.forecast.amounts import YieldSpread, picking_days, season_yield, weekly_warmth
from harvestplan.forecast.climate import Climate
from harvestplan.forecast.clock import DAY, Clock, as_days, set_clock, taught
from harvestplan.forecast.ensemble import HORIZON, FirstPick
from harvestplan.forecast.learning import Lesson
from harvestplan.forecast.picks import Learnt, Rhythm, learn, rhythm_of
from harvestplan.forecast.seen import BEFORE_BIOFIX, Expected, Seen
from harvestplan.forecast.thermal import Floats
from harvestplan.inputs.crops import Crop
from harvestplan.inputs.dates import say
from harvestplan.inputs.season import Planting, Season


@dataclass(frozen=True)
class ForecastPick:
    """One harvest: grams at P10, P50 and P90; all three the same for one that was made."""

    date: dt.date
    low_g: float
    likely_g: float
    high_g: float
    made: bool = field(default=False, kw_only=True)


@dataclass(frozen=True)
class PlantingForecast:
    """When a planting is first picked and how much it gives; `reason` says why, in plain words."""

    planting_id: str
    crop: str
    first_pick_p10: dt.date
    first_pick_p50: dt.date
    first_pick_p90: dt.date
    total_g_p10: float
    total_g_p50: float
    total_g_p90: float
    picks: tuple[ForecastPick, ...]
    reason: str


@dataclass(frozen=True)
class Case:
    """A planting with all that is known of it beforehand. Days count from `clock.start`."""

    planting: Planting
    id: str
    crop: Crop
    season: Season
    climate: Climate | None
    as_of: dt.date
    clock: Clock

    @property
    def today(self) -> int:
        return self.day(self.as_of)

    @property
    def emerges(self) -> float:
        """Days to the seedlings of a crop sown in place, as a rule."""
        return stages.EMERGENCE_SHARE * self.clock.days

    def day(self, date: dt.date) -> int:
        return (date - self.clock.start).days

    def date(self, day: int) -> dt.date:
        return self.clock.start + dt.timedelta(days=day)


@dataclass(frozen=True)
class Ripening:
    """First pick at P10, P50 and P90, the day the ripening begins, and from which day on picks may
    still be made; `state` says what that rests on."""

    days: tuple[int, int, int]
    origin: int
    begin: int
    state: reasons.State


def set_case(
    planting: Planting,
    planting_id: str,
    crop: Crop,
    *,
    season: Season,
    climate: Climate | None,
    as_of: dt.date,
) -> Case:
    """Raises FilesNeedMending if the crop cannot be grown."""
    clock = set_clock(planting, crop, season, climate=climate)
    clock = taught(clock, lessons_before(season, crop), season.household.measures)
    return Case(
        planting, planting_id, crop, season=season, climate=climate, as_of=as_of, clock=clock
    )


def lessons_before(season: Season, crop: Crop) -> list[Lesson]:
    """What the first picks of earlier seasons took, as the season file has them."""
    names = {name.lower() for name in (crop.name, *crop.also)}
    told = [each.took for each in season.ripened if each.crop.lower() in names]
    return [Lesson(ratio) for took in told for ratio in took]


def taught_by(case: Case, lessons: Sequence[Lesson]) -> Case:
    """The planting in the light of this season's other plantings of its crop."""
    if not lessons:
        return case
    whole = [*lessons_before(case.season, case.crop), *lessons]
    return replace(case, clock=taught(case.clock, whole, case.season.household.measures))


def forecast_planting(
    case: Case, seen: Seen, begun: dt.date | None = None, *, watched: bool = False
) -> PlantingForecast:
    """The planting in the light of what was seen of it.

    `begun` is the date of a first pick of which nothing else is known; `watched` says that any
    other pick would have been written down. Raises FilesNeedMending for a crop
    without a usable yield.
    """
    first = _first_pick(case, seen, unpicked=False)
    ripening = _outlook(case, seen, first, begun=begun, watched=watched)
    ends = _ends(case, ripening)
    rhythm = _rhythm(case, ripening.origin, ends)
    total = season_yield(case.planting, case.crop)
    picked = {case.day(date) - ripening.origin: g for date, g in seen.picks.items()}
    learnt = learn(rhythm, picked, total)
    coming = rhythm.coming(ripening.begin - ripening.origin, learnt.covered)
    if not coming and ripening.state == "overdue":
        ripening = replace(ripening, days=first.quantiles(), state="over")
    made = [ForecastPick(date, g, g, high_g=g, made=True) for date, g in sorted(seen.picks.items())]
    picks = made + [
        _pick(case.date(ripening.origin + day), learnt.rest(total, share)) for day, share in coming
    ]
    early, likely, late = (case.date(day) for day in ripening.days)
    return PlantingForecast(
        case.id,
        case.crop.name,
        early,
        first_pick_p50=likely,
        first_pick_p90=late,
        total_g_p10=sum(p.low_g for p in picks),
        total_g_p50=sum(p.likely_g for p in picks),
        total_g_p90=sum(p.high_g for p in picks),
        picks=tuple(picks),
        reason=_reason(
            case,
            seen,
            first,
            ripening=ripening,
            ends=ends,
            learnt=learnt if coming else replace(learnt, factor=1),
        ),
    )


def expect(case: Case, seen: Seen) -> Expected:
    """What tells this planting from others of its crop, given the stages seen so far."""
    growth = case.crop.growth
    assert growth is not None  # set_clock has refused crops that are not grown
    found = forecast_planting(case, Seen(seen.emerged, seen.flowering))
    begins = case.planting.sown or case.planting.set_out or case.clock.start
    if growth.clock == "biofix":
        begins = case.clock.start - dt.timedelta(days=BEFORE_BIOFIX)
    after = growth.days_after_flower.value if growth.days_after_flower else case.emerges * DAY
    return Expected(
        case.id,
        case.crop.name,
        begins,
        emerges=case.date(round(case.emerges)),
        flowers=found.first_pick_p50 - dt.timedelta(seconds=after),
        picks=tuple((pick.date, pick.likely_g) for pick in found.picks),
    )


def _first_pick(case: Case, seen: Seen, *, unpicked: bool) -> FirstPick:
    """The first pick reckoned from the clock, from emergence where it was seen, and from flower.

    `unpicked` cuts off needs that are reached already.
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
            first = replace(first, days=later.days + shift)
    if seen.flowering is not None and growth.days_after_flower is not None:
        first = _in_light_of_flowers(case, first, seen.flowering, unpicked=unpicked)
    return first


def _by_warmth(case: Case, clock: Clock, *, unpicked: bool) -> FirstPick:
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
    case: Case, first: FirstPick, flowered: dt.date, *, unpicked: bool
) -> FirstPick:
    """The stretch from flower to pick has a need of its own, with its own spread."""
    assert case.crop.growth is not None and case.crop.growth.days_after_flower is not None
    after = case.crop.growth.days_after_flower
    day = case.day(flowered)
    if case.climate is None or case.clock.needed is None:
        return stages.narrowed(first, day + stages.days_after_flower(after))
    stretch = stages.from_flower(case.clock, after, flowered, case.climate)
    return stages.narrowed(first, day + _by_warmth(case, stretch, unpicked=unpicked).days)


def _outlook(
    case: Case, seen: Seen, first: FirstPick, *, begun: dt.date | None, watched: bool
) -> Ripening:
    known = [date for date in (case.planting.first_pick, *seen.picks) if date is not None]
    if known or begun is not None:
        day = case.day(min(known) if known else begun or case.as_of)
        state: reasons.State = "picked" if known else "begun"
        return Ripening((day, day, day), day, case.today if seen.picks else day, state=state)
    early, likely, late = first.quantiles()
    if not watched or case.today <= early or likely >= HORIZON:
        return Ripening((early, likely, late), likely, likely, state="ahead")
    left = stages.not_before(_first_pick(case, seen, unpicked=True), case.today)
    days = left.quantiles()
    if case.today <= late:
        origin = days[1]
        return Ripening(days, origin, origin, state="due" if case.today > likely else "ahead")
    # Later than all the forecast allowed: it ripens unpicked, or nobody wrote its picks down.
    return Ripening(days, late, days[1], state="overdue")


def _pick(date: dt.date, grams: YieldSpread) -> ForecastPick:
    return ForecastPick(date, grams.p10, grams.p50, high_g=grams.p90)


def _ends(case: Case, ripening: Ripening) -> int | None:
    """The day at which picking is cut off, or None; a crop that never ripens is not picked."""
    assert case.crop.growth is not None
    if ripening.origin >= HORIZON and ripening.state not in ("picked", "begun"):
        return ripening.origin
    hardiness = case.crop.growth.frost.value
    return frost.picking_ends(
        hardiness,
        case.clock.start,
        ripening.origin,
        as_of=case.as_of,
        climate=case.climate,
        season=case.season,
    )


def _rhythm(case: Case, origin: int, ends: int | None) -> Rhythm:
    picking, climate, clock = case.crop.picking, case.climate, case.clock
    assert picking is not None
    warmth: Floats = np.ones(len(picking.weekly.value))
    if climate is not None and clock.needed is not None:
        heat = climate.warmth(clock.needed)
        begin = climate.index(clock.start) + origin
        days = slice(begin, begin + picking_days(picking))
        if begin >= 0 and days.stop <= len(heat.daily):
            warmth = weekly_warmth(heat.daily[days], heat.normal[days])
    return rhythm_of(picking, warmth, None if ends is None else ends - origin)


def _reason(
    case: Case,
    seen: Seen,
    first: FirstPick,
    *,
    ripening: Ripening,
    ends: int | None,
    learnt: Learnt,
) -> str:
    assert case.crop.growth is not None
    likely, measures = ripening.days[1], case.season.household.measures
    origin = case.date(ripening.origin)
    parts = [
        reasons.of_date(
            case.clock,
            first,
            likely,
            state=ripening.state,
            origin=origin,
            measures=measures,
            rough=case.climate is not None and case.climate.rough,
        ),
        *reasons.of_stages(seen),
        *reasons.of_picks(seen, learnt, measures),
        *_lost_since(case, seen),
    ]
    if ends is not None and ends < ripening.origin:
        parts.append(f"frost, about {say(case.date(ends))}, comes before it is ripe")
    if case.climate is not None:
        cold = frost.early_frost(
            case.crop.growth.frost.value,
            case.clock.start,
            _above_ground(case, seen),
            first_pick=likely,
            as_of=case.as_of,
            climate=case.climate,
        )
        if cold is not None and cold <= case.as_of:
            parts.append(f"it froze on {say(cold)}: see whether the plants live")
        elif cold is not None:
            parts.append(f"the weather forecast has frost on {say(cold)}: cover the plants")
    return "; ".join(parts)


def _above_ground(case: Case, seen: Seen) -> int:
    """The day from which on frost can reach it: at once, but where it was sown in place."""
    assert case.crop.growth is not None
    if case.crop.growth.clock != "sown" or case.planting.sown is None or case.planting.set_out:
        return 0
    return round(case.emerges) if seen.emerged is None else case.day(seen.emerged)


def _lost_since(case: Case, seen: Seen) -> Iterator[str]:
    """That nothing is written down for longer than ripe food stands."""
    picking = case.crop.picking
    assert picking is not None
    if seen.picks:
        last = max(seen.picks)
        if (case.as_of - last).days > as_days(picking.every) + as_days(picking.stands):
            yield (
                f"nothing is written down since {say(last)}: what ripened and no longer "
                "stands is taken as lost"
            )
