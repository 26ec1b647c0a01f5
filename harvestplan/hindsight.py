"""A season looked back on: what its start let expect, beside what the diary says came of it.

"Expected" is the forecast as it stood on the season's first day, made anew from the files and the
weather known then: the plan in the out folder only ever holds the latest news.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

from harvestplan.errors import FilesNeedMending
from harvestplan.forecast.forecast import PlantingForecast, make_forecast, seen_plantings
from harvestplan.inputs.crops import Crop, Library
from harvestplan.inputs.library import load_library
from harvestplan.inputs.load import load_season
from harvestplan.inputs.season import Planting, Season
from harvestplan.inputs.weather import load_weather
from harvestplan.kitchen.experience import Experience
from harvestplan.outputs.plan_json import read_plan
from harvestplan.plan import Plan, Session
from harvestplan.records.diary import Diary, read_diary
from harvestplan.records.events import Froze
from harvestplan.records.pace import Timed, experience_from, timed_evenings
from harvestplan.records.put_by import finished
from harvestplan.records.stock import Shelf, stock

DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class PlantingSeen:
    """A planting as it was expected at the season's start, and as it was seen.

    `by_weather` is the first pick that the weather since then would let expect; `first` the first
    that is written down; `picked` in g; `over` says that no more is to come.
    """

    planting: Planting
    crop: Crop
    expected: PlantingForecast
    by_weather: dt.date
    first: dt.date | None
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
    shelves: tuple[Shelf, ...]
    experience: Experience
    timed: tuple[Timed, ...]


def look_back(folder: Path, as_of: dt.date) -> Hindsight:
    """Reads the folder and sets side by side what was expected and what was.

    Raises FilesNeedMending with every flaw found in the files.
    """
    library = load_library(folder)
    season = load_season(folder, library).season
    diary = read_diary(folder)
    plan = _published(folder / "out" / "plan.json")
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
        plantings=_plantings(folder, season, library, as_of, diary),
        shelves=stock(season, library, diary, as_of, done),
        experience=experience_from(season, library, diary, as_of + DAY),
        timed=timed_evenings(season, library, frozen),
    )


def _published(path: Path) -> Plan | None:
    """The plan last written, or None where there is none that can be read."""
    try:
        return read_plan(path) if path.exists() else None
    except FilesNeedMending:
        return None


def _plantings(
    folder: Path, season: Season, library: Library, as_of: dt.date, diary: Diary
) -> tuple[PlantingSeen, ...]:
    weather = load_weather(folder / season.weather.daily) if season.weather.daily else None
    start = min(season.season.start, as_of)
    at_start = make_forecast(season, library, weather, start).plantings
    later = make_forecast(season, library, weather, as_of).plantings
    now = make_forecast(season, library, weather, as_of, diary).plantings
    seen = seen_plantings(season, library, weather, as_of, diary)
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
                picked=sum(picks.values()),
                over=not any(pick.date > as_of for pick in now[number].picks),
            )
        )
    return tuple(found)
