"""A season looked back on: what its start let expect, beside what the diary says came of it.

"Expected" is the forecast as it stood on the season's first day, made anew from the files and the
weather known then: the plan in the out folder only ever holds the latest news.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from harvestplan.errors import CannotBeMade
from harvestplan.forecast.clock import MOST_CREDIT, POT_DAYS, as_days
from harvestplan.forecast.learning import FARTHEST_RATIO
from harvestplan.forecast.season_forecast import (
    PlantingForecast,
    make_forecast,
    seen_plantings,
    warmth_taken,
)
from harvestplan.inputs.crops import Crop, Library
from harvestplan.inputs.load import load_season
from harvestplan.inputs.season import Planting, Season
from harvestplan.inputs.weather.daily_record import season_weather
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.experience import Experience
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.process import MILLI, portion_in_grams
from harvestplan.plan.file import sound_plan
from harvestplan.plan.models import Plan, Session
from harvestplan.plan.spans import DAY
from harvestplan.records.diary import Diary, read_diary
from harvestplan.records.events import Froze
from harvestplan.records.held_sessions import finished
from harvestplan.records.pace import TimedSession, experience_from, timed_sessions
from harvestplan.records.put_by import put_by
from harvestplan.records.stock import StoredProduct, stock

TRUST = 0.5
"""A single year's yield moves the next forecast halfway, on the logarithm (own judgement)."""
YIELD_BOUND, DAYS_BOUND = 2.0, 1.4
"""What one year may teach at most: twice or half the yield, 1.4 times the days or their inverse
(own judgement); beyond that something was not written down."""
WRITTEN = 0.8
"""Picks written down count as all that came where they cover this share of what was put by; cups
and kitchen scales differ by less (own judgement)."""


@dataclass(frozen=True)
class PlantingSeen:
    """A planting as it was expected at the season's start, and as it was seen.

    `by_weather` is the first pick that the weather since then would let expect; `first` and
    `last` are those written down; `picked` in g; `over` says that no more is to come.
    """

    planting: Planting
    crop: Crop
    expected: PlantingForecast
    by_weather: dt.date
    first: dt.date | None
    last: dt.date | None
    picked: float
    over: bool


@dataclass(frozen=True)
class Hindsight:
    """A season folder read for looking back on it, up to and including `as_of`."""

    as_of: dt.date
    season: Season
    library: Library
    diary: Diary
    plan: Plan | None
    done: tuple[Session, ...]
    plantings: tuple[PlantingSeen, ...]
    shelves: tuple[StoredProduct, ...]
    experience: Experience
    timed: tuple[TimedSession, ...]
    ripened: Mapping[str, Sequence[float]]


def look_back(folder: Path, as_of: dt.date) -> Hindsight:
    """Reads the folder and sets side by side what was expected and what was.

    Raises FilesNeedMending with every flaw found in the files.
    """
    library = load_library(folder)
    season = load_season(folder, library).season
    diary = read_diary(folder)
    plan = sound_plan(folder)
    done = finished(plan.sessions, diary, as_of) if plan else ()
    done = tuple(session.model_copy(update={"status": "done"}) for session in done)
    frozen = tuple(e for e in diary.events if isinstance(e, Froze) and e.date <= as_of)
    return Hindsight(
        as_of=as_of,
        season=season,
        library=library,
        diary=diary,
        plan=plan,
        done=done,
        plantings=_plantings(folder, season, library, as_of=as_of, diary=diary),
        shelves=stock(season, library, diary, today=as_of, done=done),
        experience=experience_from(season, library, diary, as_of=as_of + DAY),
        timed=timed_sessions(season, library, frozen),
        ripened=_ripened(folder, season, library, as_of=as_of, diary=diary),
    )


def _plantings(
    folder: Path, season: Season, library: Library, *, as_of: dt.date, diary: Diary
) -> tuple[PlantingSeen, ...]:
    record = season_weather(folder, season.weather)
    weather = None if record is None else record.daily
    start = min(season.season.start, as_of)
    at_start = make_forecast(season, library, weather, as_of=start).plantings
    later = make_forecast(season, library, weather, as_of=as_of).plantings
    now = make_forecast(season, library, weather, as_of=as_of, diary=diary).plantings
    seen = seen_plantings(season, library, weather, as_of=as_of, diary=diary)
    found = []
    for number, planting in enumerate(season.planting):
        crop = library.find_crop(planting.crop)
        assert crop is not None  # the loader has checked every name
        expected = at_start[number]
        told = seen.get(expected.planting_id)
        picks = told.picks if told else {}
        found.append(
            PlantingSeen(
                planting=planting,
                crop=crop,
                expected=expected,
                by_weather=later[number].first_pick_p50,
                first=min(picks, default=None),
                last=max(picks, default=None),
                picked=sum(picks.values()),
                over=not any(pick.date > as_of for pick in now[number].picks),
            )
        )
    return tuple(found)


def _ripened(
    folder: Path, season: Season, library: Library, *, as_of: dt.date, diary: Diary
) -> dict[str, list[float]]:
    """What first picks took over the book's warmth, by crop: earlier seasons', then this one's.

    The plantings of one season stand for it together, by their geometric mean.
    """
    record = season_weather(folder, season.weather)
    weather = None if record is None else record.daily
    found = {library.crop(each.crop).name: list(each.took) for each in season.ripened}
    now = warmth_taken(season, library, weather, as_of=as_of, diary=diary)
    for crop, ratios in now.items():
        mean = math.exp(math.fsum(math.log(ratio) for ratio in ratios) / len(ratios))
        found.setdefault(crop, []).append(min(max(mean, 1 / FARTHEST_RATIO), FARTHEST_RATIO))
    return found


def days_seen(seen: PlantingSeen) -> int:
    """Days to maturity by which the weather's forecast would have met the first pick seen.

    They are the book's, longer or shorter by as many days as the pick came after or before what
    the weather let expect: a warm year teaches nothing of the variety.
    """
    assert seen.first is not None
    growth = seen.crop.growth
    assert growth is not None
    book = seen.planting.days_to_maturity or as_days(growth.days_to_maturity)
    off = (seen.first - seen.by_weather).days
    if growth.clock == "sown" and seen.planting.set_out is not None:
        pot = POT_DAYS if growth.raise_days is None else as_days(growth.raise_days)
        # Of a long time in the pot only a share of all days is credited.
        off = round(off / (1 - MOST_CREDIT)) if pot > MOST_CREDIT * book else off
    return round(min(book * DAYS_BOUND, max(book / DAYS_BOUND, book + off)))


def yield_seen(seen: PlantingSeen) -> float:
    """Grams to expect next year: halfway between what was expected and what was picked."""
    expected = seen.expected.total_g_p50
    ratio = min(YIELD_BOUND, max(1 / YIELD_BOUND, seen.picked / expected))
    return float(expected * ratio**TRUST)


def raw_per_portion(back: Hindsight, product: str) -> float:
    """Raw grams behind a portion as wanted; 0 for what is not wanted or cannot be made here."""
    found = back.library.find_product(product)
    want = next((want for want in back.season.want if want.product == product), None)
    if found is None or want is None:
        return 0.0
    kitchen = Kitchen.from_season(back.season)
    try:
        process = make_process(
            kitchen, *found, portion_in_grams(found[1], want.portion), pouch=want.pouch
        )
    except CannotBeMade:
        return 0.0
    return process.raw_milligrams / MILLI


def raw_put_by(back: Hindsight, crop: str) -> float:
    """Raw grams behind all that was put by of a crop."""
    made = put_by(back.done, back.library, back.diary, today=back.as_of)
    of_crop = (put for put in made if put.product.startswith(f"{crop}, "))
    return sum(put.portions * raw_per_portion(back, put.product) for put in of_crop)


def written_out(back: Hindsight, crop: str) -> bool:
    """Whether the picks that are written down cover what was put by of a crop."""
    picked = sum(seen.picked for seen in back.plantings if seen.crop.name == crop)
    return picked >= WRITTEN * raw_put_by(back, crop)
