"""Sessions as calendar entries: the food first, what to have ready, where the sheet is."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from functools import partial
from zoneinfo import ZoneInfo

from harvestplan.foresight.worth_file import NO_WORTHS, Worths, worth_words
from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.outputs.as_asked import packed_words, raw_food
from harvestplan.outputs.calendar.entry import (
    MOST_LINES,
    Entry,
    Ring,
    Uid,
    all_day,
    entry_uid,
    food_first,
    minute,
    shortened,
)
from harvestplan.outputs.calendar.merging import NOTES
from harvestplan.outputs.food_notes import eat_or_freeze
from harvestplan.outputs.pack_words import pack_kind
from harvestplan.outputs.paper.runsheet import in_order, safe_stops, soaked_lines
from harvestplan.outputs.paper.step_words import task_hazards
from harvestplan.outputs.session_names import sheet_names
from harvestplan.plan.file_names import RUNSHEETS
from harvestplan.plan.models import Pick, Plan, Run, Session
from harvestplan.planning.shopping import ice_grams
from harvestplan.words import (
    clock,
    crop_many,
    food_name,
    ice_mass,
    joined,
    one_line,
    packs_called,
    plural,
)

PICKING = dt.time(7)
"""When one is reminded of what is to be picked that day."""
OUNCE = 28.349523125
"""g; less than this of a crop is nothing to tell of."""


def session_entries(
    plan: Plan,
    season: Season,
    library: Library,
    *,
    worths: Worths = NO_WORTHS,
    seed: str | None = None,
) -> list[Entry]:
    """Sessions, cancelled ones until their date is past, and evenings kept free."""
    names = {session.uid: name for name, session in sheet_names(plan).items()}
    picks: dict[str, list[Pick]] = defaultdict(list)
    for pick in plan.picks:
        if pick.session and pick.grams >= OUNCE:
            picks[pick.session].append(pick)
    found = []
    for session in plan.sessions:
        if session.live:
            lines = _lines(session, season, library, worths=worths, sheet=names[session.uid])
            rings = _rings(session, plan, season, picks=picks[session.uid])
            found.append(_entry(session, season, lines=lines, rings=rings))
        elif session.start.date() >= plan.as_of:
            found.append(_cancelled(session))
    uid = partial(entry_uid, plan, seed)
    return [*found, *_eat_entries(plan, library, uid), *_kept_free_entries(plan, uid)]


def _entry(session: Session, season: Season, *, lines: list[str], rings: tuple[Ring, ...]) -> Entry:
    return Entry(
        uid=one_line(session.uid),
        start=minute(session.start),
        end=minute(session.end, up=True),
        summary=title(session),
        description="\n".join(lines),
        status="CONFIRMED",
        busy=True,
        rings=rings,
        place=one_line(season.calendars.place),
        sequence=session.sequence,
    )


def _cancelled(session: Session) -> Entry:
    return Entry(
        uid=one_line(session.uid),
        start=minute(session.start),
        end=minute(session.end, up=True),
        summary="Cancelled: session in the kitchen",
        description="",
        status="CANCELLED",
        busy=False,
        sequence=session.sequence,
    )


def title(session: Session) -> str:
    """Like "Snap beans and sweet corn, 14 bags"."""
    crops = list(dict.fromkeys(one_line(crop_many(run.crop)) for run in session.runs))
    bags = sum(run.pouches for run in session.runs)
    if not crops:
        return "Work in the kitchen"
    if session.is_visit:
        return food_first(crops, f": pack {plural(bags, 'bag')}")
    return food_first(crops, f", {plural(bags, 'bag')}" if bags else ", first sitting")


def _lines(
    session: Session, season: Season, library: Library, *, worths: Worths, sheet: str
) -> list[str]:
    worth = [one_line(worth_words(worths[session.uid]))] if session.uid in worths else []
    first = [*worth, *_to_have(session, season, library)]
    last = [*_stops(session, season), *_cautions(session, season, library)]
    last += [_where(season, sheet), NOTES]
    runs = [_run_words(run, season, library) for run in _runs_in_order(session)]
    return [*first, *shortened(runs, max(1, MOST_LINES - len(first) - len(last))), *last]


def _to_have(session: Session, season: Season, library: Library) -> list[str]:
    """What must be in the house: food, pouches, ice, a line for each kind."""
    measures = season.household.measures
    raw: dict[str, int] = defaultdict(int)
    pouches: dict[str, int] = defaultdict(int)
    for run in session.runs:
        raw[run.crop] += run.grams_in if run.lots else 0
        if run.pouch and run.pouches:
            pouches[run.pouch] += run.pouches
    food = [raw_food(crop, grams, season, library) for crop, grams in raw.items() if grams >= OUNCE]
    cold = [food_name(run.product) for run in session.runs if run.second_sitting_of]
    bags = [packs_called(count, pack_kind(name, season), name) for name, count in pouches.items()]
    lines = [f"Raw food: {'; '.join(food)}"] if food else []
    lines += [f"From the last sitting: {joined(list(dict.fromkeys(cold)))}"] if cold else []
    lines += [f"To pack in: {'; '.join(bags)}, and a few spare"] if bags else []
    if ice := ice_grams(session, measures):
        lines.append(f"Ice to have ready: {ice_mass(ice, measures)}")
    return [one_line(line) for line in (*soaked_lines(session, measures), *lines)]


def _runs_in_order(session: Session) -> list[Run]:
    first: dict[str | None, dt.datetime] = {}
    for task in in_order(session):
        first.setdefault(task.run, task.start)
    return sorted(session.runs, key=lambda run: (first.get(run.id, session.end), run.id))


def _run_words(run: Run, season: Season, library: Library) -> str:
    if not run.pouches:
        return one_line(f"{food_name(run.product)}: first sitting, packed another day")
    portion = packed_words(run.product, run.portion_grams, season, library)
    return one_line(f"{food_name(run.product)}: {plural(run.pouches, 'bag')} of {portion}")


def _stops(session: Session, season: Season) -> list[str]:
    times = [clock(time, season.household.measures) for time in safe_stops(session)]
    return [f"Safe stopping places: {joined(times)}"] if times else []


def _cautions(session: Session, season: Season, library: Library) -> list[str]:
    """The hazards by name; what to do about each stands at its step of the sheet."""
    hazards = dict.fromkeys(
        hazard
        for task in in_order(session)
        for hazard in task_hazards(task, session, season, library=library)
    )
    return [f"Take care (the sheet says how): {'; '.join(hazards)}."] if hazards else []


def _where(season: Season, sheet: str) -> str:
    served = season.calendars.sheets
    page = sheet.removesuffix(".txt") + ".html"
    if served:
        return f"Every step: {served.rstrip('/')}/{page}"
    return f"Every step: out/{RUNSHEETS}/{page}, or harvestplan open"


def _rings(session: Session, plan: Plan, season: Season, *, picks: list[Pick]) -> tuple[Ring, ...]:
    """The household's reminders, and one for each morning on which food for it is picked."""
    if not season.calendars.remind:
        return ()
    start = minute(session.start).astimezone(ZoneInfo(plan.season.timezone))
    rings = [(remind.moment(start), title(session)) for remind in season.calendars.remind]
    by_day: dict[dt.date, list[str]] = defaultdict(list)
    for pick in picks:
        by_day[pick.date].append(one_line(crop_many(pick.crop)))
    for day, crops in by_day.items():
        when = dt.datetime.combine(day, PICKING, start.tzinfo)
        foods = sorted(set(crops))
        rings.append((when, food_first(foods, ": pick this morning")))
    begins = start.astimezone(dt.UTC)
    before = {begins - when.astimezone(dt.UTC): text for when, text in rings}
    return tuple(Ring(span, text) for span, text in sorted(before.items()) if span > dt.timedelta())


def _eat_entries(plan: Plan, library: Library, uid: Uid) -> list[Entry]:
    """One entry for each day on which food in the refrigerator must be eaten or frozen, named after
    what is packed first of it."""
    found = []
    for by, foods in eat_or_freeze(plan, library).items():
        words = [food.words for food in foods]
        crops = [one_line(crop_many(food.product.partition(",")[0])) for food in foods]
        key = uid(f"eat|{min(f'{food.made}|{food.product}' for food in foods)}")
        summary = food_first(list(dict.fromkeys(crops)), ": eat or freeze by today")
        found.append(all_day(key, by, summary=summary, lines=words))
    return found


def _kept_free_entries(plan: Plan, uid: Uid) -> list[Entry]:
    """One entry for each evening held in which no session stands, named after its date and hour:
    the same in every plan as long as it is kept."""
    return [
        Entry(
            uid=uid(f"kept free|{time.start:%Y-%m-%d %H:%M}"),
            start=minute(time.start),
            end=minute(time.end, up=True),
            summary="Kept free, should the weather turn",
            description="Nothing is planned yet. Should food ripen early, late or plentifully, a "
            "new plan finds this time.",
            status="TENTATIVE",
            busy=False,
        )
        for time in plan.kept_free
    ]
