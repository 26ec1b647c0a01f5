"""The forecast of one planting: its dates, its picks, and why."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from harvestplan.forecast import frost, hot_days, reasons
from harvestplan.forecast.amounts import (
    WARMTH_RANGE,
    YieldSpread,
    picking_days,
    season_yield,
    weekly_warmth,
)
from harvestplan.forecast.case import Case
from harvestplan.forecast.clock import DAY, as_days
from harvestplan.forecast.ensemble import HORIZON, FirstPick, told_days
from harvestplan.forecast.outlook import NEVER, Ripening, frost_days, outlook, reckoned
from harvestplan.forecast.picks import Learnt, Rhythm, learn, rhythm_of
from harvestplan.forecast.seen import BEFORE_BIOFIX, Expected, Picks, Seen
from harvestplan.forecast.summers import (
    FAILS,
    SUMMERS,
    Chances,
    Summers,
    Whole,
    factors,
    first_days,
    share_by,
)
from harvestplan.forecast.thermal import Floats
from harvestplan.inputs.dates import say

TENTHS = (0.1, 0.9)
FROST_WORTH_SAYING = 0.05


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
    """When a planting is first picked and how much it gives; `reason` says why, in plain words.

    Picks and the likely total are those of the middle summer; their lows and highs, like those of
    the total, are taken from all `summers`, whose days count from `start`. What `failed` brings
    nothing more.
    """

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
    failed: bool = False
    start: dt.date = field(default=dt.date.min, repr=False)
    summers: Summers | None = field(default=None, compare=False, repr=False)

    def weekly(self) -> dict[int, Floats]:
        """Grams of each summer by week, as `Summers.weekly` has them, with the picks made."""
        found = {} if self.summers is None else self.summers.weekly(self.start.toordinal())
        for pick in self.picks:
            if pick.made:
                week = (pick.date.toordinal() - 1) // 7
                found[week] = found.get(week, np.zeros(SUMMERS)) + pick.likely_g
        return found


def forecast_planting(
    case: Case, seen: Seen, begun: dt.date | None = None, *, watched: bool = False
) -> PlantingForecast:
    """The planting in the light of what was seen of it.

    `begun` is the date of a first pick of which nothing else is known; `watched` says that any
    other pick would have been written down. Raises FilesNeedMending for a crop
    without a usable yield.
    """
    unpicked = case.as_of if watched else seen.unpicked
    first = reckoned(case, seen, unpicked=unpicked)
    ripening = outlook(case, seen, first, begun=begun, unpicked=unpicked)
    ends = _ends(case, first, ripening)
    rhythm = _rhythm(case, ripening.origin, ends)
    rhythm = replace(rhythm, daily=rhythm.daily * _usually_set(case, first, ripening, rhythm))
    total = season_yield(case.planting, case.crop)
    picked = {case.day(date) - ripening.origin: g for date, g in seen.picks.items()}
    learnt = learn(rhythm, picked, total)
    coming = rhythm.coming(ripening.begin - ripening.origin, learnt.covered)
    if seen.failed is not None:
        coming = []
    if ripening.state in ("due", "untold") and not _more_to_come(case, ripening, coming, rhythm):
        ripening = replace(ripening, state="over")
    made = [ForecastPick(date, g, g, high_g=g, made=True) for date, g in sorted(seen.picks.items())]
    summers = _summers(case, first, ripening, learnt=learnt, total=total, picked=bool(picked))
    likely_picks = [
        (case.date(ripening.origin + day), learnt.rest(total, share).p50) for day, share in coming
    ]
    picks = made + _picks(likely_picks, summers.grams)
    early, likely, late = (case.date(day) for day in ripening.days)
    likely_g = sum(p.likely_g for p in picks)
    low, high = np.quantile(summers.totals() + sum(p.likely_g for p in made), TENTHS)
    if seen.failed is not None:
        low = high = likely_g
    return PlantingForecast(
        case.id,
        case.crop.name,
        early,
        first_pick_p50=likely,
        first_pick_p90=late,
        total_g_p10=min(float(low), likely_g),
        total_g_p50=likely_g,
        total_g_p90=max(float(high), likely_g),
        picks=tuple(picks),
        reason=_reason(
            case,
            seen,
            first,
            ripening=ripening,
            ends=ends,
            learnt=learnt if coming else replace(learnt, factor=1),
        ),
        failed=seen.failed is not None,
        start=case.clock.start,
        summers=summers if coming else None,
    )


def _more_to_come(
    case: Case, ripening: Ripening, coming: Sequence[tuple[int, float]], rhythm: Rhythm
) -> bool:
    """Whether a pick may still be made today or later."""
    return any(ripening.origin + day + rhythm.stands >= case.today for day, _ in coming)


def expect(case: Case, seen: Seen) -> Expected:
    """What tells this planting from others of its crop, given the stages seen so far."""
    growth = case.crop.growth
    assert growth is not None  # set_clock has refused crops that are not grown
    begins = case.planting.sown or case.planting.set_out or case.clock.start
    if growth.clock == "biofix":
        begins = case.clock.start - dt.timedelta(days=BEFORE_BIOFIX)
    after = growth.days_after_flower.value if growth.days_after_flower else case.emerges * DAY
    stages = Seen(seen.emerged, seen.flowering, failed=seen.failed)

    def reckon() -> tuple[dt.date, Picks]:
        found = forecast_planting(case, stages)
        flowers = found.first_pick_p50 - dt.timedelta(seconds=after)
        return flowers, tuple((pick.date, pick.likely_g) for pick in found.picks)

    return Expected(case.id, case.crop.name, begins, case.date(round(case.emerges)), reckon)


def _picks(coming: Sequence[tuple[dt.date, float]], grams: Floats) -> list[ForecastPick]:
    """Picks still to come: of the middle summer, with what the same pick brings in all."""
    coming = coming[: len(grams)]
    low, high = np.quantile(grams[: len(coming)], TENTHS, axis=1)
    return [
        ForecastPick(date, min(float(least), likely), likely, high_g=max(float(most), likely))
        for (date, likely), least, most in zip(coming, low, high, strict=True)
    ]


def _summers(
    case: Case,
    first: FirstPick,
    ripening: Ripening,
    *,
    learnt: Learnt,
    total: YieldSpread,
    picked: bool,
) -> Summers:
    """What each of the summers brings from now on."""
    origin, moved = first_days(ripening.possible or first, case.id)
    if ripening.possible is None:
        origin = np.full(SUMMERS, ripening.origin, dtype=np.int64)
    rhythm = _rhythm(case, ripening.origin, None)
    stretches = rhythm.stretches(ripening.begin - ripening.origin, learnt.covered)
    if not stretches:
        return Summers(np.zeros((0, SUMMERS), dtype=np.int64), np.zeros((0, SUMMERS)))
    day, reach, stop = np.array(stretches, dtype=np.int64).T
    ripe = _ripe_by(case, origin, moved)
    shares = share_by(ripe, stop) - share_by(ripe, reach)
    begun = picked or ripening.state in ("picked", "begun")
    luck = Chances(total, math.sqrt(1 - learnt.weight), 0.0 if begun else _fails(case))
    days = origin + day[:, None]
    there = (days < frost_days(case, moved)) & ((origin < HORIZON) | begun)
    grams = shares * factors(luck, case.id) * (total.p50 * learnt.factor)
    return Summers(days, np.where(there, grams, 0.0))


def _fails(case: Case) -> float:
    if case.planting.fails is not None:
        return case.planting.fails
    told = None if case.crop.yields is None else case.crop.yields.fails
    return FAILS if told is None else told.value


def _ripe_by(case: Case, origin: Whole, moved: Whole) -> Floats:
    """The share of each summer's yield that is ripe by the end of each week, (weeks + 1, SUMMERS):
    its weeks as warm as those of its past year, or of this one as far as that is known."""
    picking, climate, clock = case.crop.picking, case.climate, case.clock
    assert picking is not None
    weekly = np.array(picking.weekly.value)
    warmth: Floats = np.ones((len(weekly), SUMMERS))
    if climate is not None and clock.needed is not None:
        warm = climate.warmth(clock.needed)
        known = told_days(climate, clock.start, case.as_of)
        ends = 7 * np.arange(1, len(weekly) + 1)[:, None] + origin
        begin = climate.index(clock.start) + ends - 7 + np.where(ends <= known, 0, moved)
        inside = (begin >= 0) & (begin + 7 < len(warm.daily))
        begin = np.where(inside, begin, 0)
        sums, usual = (
            np.concatenate([[0.0], np.cumsum(days)]) for days in (warm.daily, warm.normal)
        )
        of_week, normal = sums[begin + 7] - sums[begin], usual[begin + 7] - usual[begin]
        warmth = np.where(inside & (normal > 7.0), of_week / np.maximum(normal, 7.0), 1.0)
    shares = weekly[:, None] * np.clip(warmth, *WARMTH_RANGE)
    shares = shares / shares.sum(axis=0) * _set(case, origin, moved, len(weekly))
    ripe = np.cumsum(shares, axis=0)
    return np.concatenate([np.zeros((1, SUMMERS)), ripe])


def _set(case: Case, origin: Whole, moved: Whole, weeks: int) -> Floats | float:
    """The share of the flowers behind each week's picks that set."""
    growth, climate = case.crop.growth, case.climate
    if growth is None or climate is None or not (growth.hot_night and growth.days_after_flower):
        return 1.0
    flowered = 7 * np.arange(weeks)[:, None] + origin - as_days(growth.days_after_flower)
    begin = climate.index(case.clock.start) + flowered + moved
    return hot_days.setting(climate, growth.hot_night.value, begin)


def _usually_set(case: Case, first: FirstPick, ripening: Ripening, rhythm: Rhythm) -> Floats:
    """The share of the flowers that set behind each day's picks in the middle of the years."""
    _, moved = first_days(first, case.id)
    weeks = -(-len(rhythm.daily) // 7)
    origin = np.full(SUMMERS, ripening.origin, dtype=np.int64)
    found = np.broadcast_to(_set(case, origin, moved, weeks), (weeks, SUMMERS))
    if not weeks:
        return np.ones(0)
    return np.repeat(np.median(found, axis=1), 7)[: len(rhythm.daily)]


def _ends(case: Case, first: FirstPick, ripening: Ripening) -> int | None:
    """The day at which picking is cut off, or None; a crop that never ripens is not picked."""
    assert case.crop.growth is not None
    if ripening.origin >= HORIZON and ripening.state not in ("picked", "begun"):
        return ripening.origin
    ends = frost.picking_ends(
        case.crop.growth.frost.value,
        case.clock.start,
        ripening.origin,
        as_of=case.as_of,
        climate=case.climate,
        season=case.season,
    )
    if case.crop.growth.bolts_above is None or case.climate is None or first.moved is None:
        return ends
    seeds = int(np.median(frost_days(case, first.moved)))
    found = min(seeds, NEVER if ends is None else ends)
    return None if found >= NEVER else found


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
    if seen.failed is not None:
        failed = f"it failed on {say(seen.failed)}"
        return "; ".join([failed, *reasons.of_picks(seen, learnt, measures)])
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
    enemy = "heat or frost" if case.crop.growth.bolts_above else "frost"
    if ripening.frosted >= FROST_WORTH_SAYING:
        years = max(round(10 * ripening.frosted), 1)
        parts.append(f"in {years} of 10 years {enemy} comes before it is ripe")
    elif ends is not None and ends < ripening.origin:
        parts.append(f"{enemy}, about {say(case.date(ends))}, comes before it is ripe")
    elif ends is not None and case.crop.growth.bolts_above and ripening.days[1] < HORIZON:
        parts.append(f"it runs to seed, or freezes, about {say(case.date(ends))}")
    if case.climate is not None and case.crop.growth.clock != "biofix":
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
                "stands is not counted on"
            )
