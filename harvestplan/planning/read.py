"""A season folder read as a household: what was written, what is known, when there is time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

from harvestplan.forecast.coming_days import coming_days
from harvestplan.forecast.past_years import Temperatures
from harvestplan.forecast.season_forecast import make_forecast
from harvestplan.household import Household
from harvestplan.inputs.load import Change, load_season
from harvestplan.inputs.weather.daily_record import WeatherRecord, gaps, season_weather
from harvestplan.inputs.windows import (
    free_times,
    keep_free,
)
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.file import sound_plan
from harvestplan.plan.models import Plan
from harvestplan.planning.broken_promises import (
    no_longer_possible,
    planned_anew,
)
from harvestplan.planning.hazard_notes import hazard_notes
from harvestplan.records.diary import Diary, read_diary
from harvestplan.records.held_sessions import finished, maybe_unpacked
from harvestplan.records.moved_sessions import (
    chosen_windows,
    read_wishes,
)
from harvestplan.records.pace import experience_from
from harvestplan.records.purchases import with_purchases
from harvestplan.records.unanswered import counted_on, unanswered_picks


def read_household(folder: Path, as_of: dt.date, change: Change | None = None) -> Household:
    """Reads the folder, with a change where one is asked about, and forecasts its crops.

    Raises
    ------
    FilesNeedMending
        With every flaw found in the files.
    """
    library = load_library(folder)
    season = load_season(folder, library, change).season
    free = free_times(season, folder)
    notes = free.warnings
    record = season_weather(folder, season.weather)
    weather = None if record is None else record.daily
    ahead = None if weather is None else coming_days(weather, as_of)
    if record is not None:
        notes = (*notes, *_weather_notes(record, ahead))
    diary = read_diary(folder)
    season = with_purchases(season, library, diary, today=as_of)
    notes = (*notes, *diary.warnings, *hazard_notes(season, library))
    published = sound_plan(folder)
    begun = _begun(published, diary, as_of) if published else {}
    forecast = make_forecast(
        season, library, weather, as_of=as_of, diary=diary, begun=begun, ahead=ahead
    )
    learned = experience_from(season, library, diary, as_of=as_of)
    wishes = read_wishes(diary, published, ZoneInfo(season.household.timezone), as_of=as_of)
    kept_free = [(event.day, event.time) for event in wishes.free]
    household = Household(
        season,
        library,
        folder=folder,
        weather=weather,
        forecast=forecast,
        notes=(*notes, *wishes.notes),
        experience=learned,
        diary=diary,
        wishes=wishes,
        usual=keep_free(free.windows, kept_free),
        usual_visits=keep_free(free.visits, kept_free),
    ).with_times(chosen_windows(wishes.moves, as_of))
    if published is None:
        return household
    impossible = no_longer_possible(published, household, as_of)
    told = (*household.notes, *planned_anew(published, impossible))
    told = (*told, *maybe_unpacked(published.sessions, diary, as_of))
    told = (*told, *counted_on(unanswered_picks(published, diary.events, as_of)))
    return replace(household, notes=told, impossible=impossible)


def _weather_notes(record: WeatherRecord, ahead: Temperatures | None) -> Iterator[str]:
    """What of the weather files is worth knowing in a plan."""
    name = record.sources[0].name
    if record.filled:
        yield f"{name}: {len(record.filled)} missing days were filled in."
    if open_gaps := gaps(record.daily):
        yield f"{name}: {len(open_gaps)} longer gaps stay open; harvestplan weather names them."
    yield from record.left_out
    if ahead is not None:
        yield f"The next {len(ahead)} days are as the weather forecast in your files has them."


def _begun(plan: Plan, diary: Diary, as_of: dt.date) -> dict[str, dt.date]:
    """Plantings that the published plan's past sessions drew on, with the date of their first pick
    there: they have been picked, whether or not the diary says so."""
    past = (s for s in finished(plan.sessions, diary, as_of) if s.start.date() < as_of)
    used = {share.lot for session in past for run in session.runs for share in run.lots}
    drawn = {lot.planting for lot in plan.lots if lot.id in used}
    first: dict[str, dt.date] = {}
    for lot in plan.lots:
        if lot.planting is not None and lot.planting in drawn:
            first[lot.planting] = min(first.get(lot.planting, lot.ready), lot.ready)
    return first
