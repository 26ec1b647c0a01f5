"""The garden's calendar: what to pick, and what to give away, as few entries as will do.

A pick that feeds a session stands on its day; all other picks, and what is to be given away, are
one entry a week each.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from functools import partial

from harvestplan.inputs.crops import Library
from harvestplan.inputs.ids import called
from harvestplan.inputs.season import Season
from harvestplan.outputs.calendar.entry import Entry, Uid, all_day, entry_uid, food_first
from harvestplan.outputs.calendar.session_entries import OUNCE
from harvestplan.outputs.surplus import surplus_by_lot
from harvestplan.plan.models import Pick, Plan, Session
from harvestplan.words import about, clock, crop_many, day, in_pieces, one_line

WORTH_GIVING = 453.59237
"""g of a crop in a week, a pound; less is eaten (common practice, no source)."""
ByDay = dict[dt.date, dict[str, int]]
"""Grams by day and crop."""


def garden_entries(
    plan: Plan, season: Season, library: Library, *, seed: str | None = None
) -> list[Entry]:
    """Everything of the garden that the plan puts in a calendar."""
    uid = partial(entry_uid, plan, seed)
    return [
        *_picks_for_sessions(plan, season, library, uid=uid),
        *_other_picks(plan, season, uid),
        *_gifts(plan, season, library, uid=uid),
    ]


def _picks_for_sessions(plan: Plan, season: Season, library: Library, *, uid: Uid) -> list[Entry]:
    """One entry for each date with picks for a session; named after the session, so that it moves
    with it."""
    sessions = {session.uid: session for session in plan.sessions}
    by_date: dict[dt.date, list[Pick]] = defaultdict(list)
    keys: dict[dt.date, list[str]] = defaultdict(list)
    days: dict[str, list[dt.date]] = defaultdict(list)
    for pick in sorted(plan.picks, key=lambda each: (each.date, each.planting, each.crop)):
        if pick.session is None or pick.grams < OUNCE:
            continue
        if pick.date not in days[pick.session]:
            days[pick.session].append(pick.date)
            keys[pick.date].append(f"pick for|{pick.session}|{len(days[pick.session])}")
        by_date[pick.date].append(pick)
    found = []
    for date, picks in by_date.items():
        amounts = _amounts(((pick.crop, pick.grams) for pick in picks), season)
        lines = [_pick_line(pick, sessions, season, library) for pick in picks]
        title = food_first(amounts, ": pick")
        found.append(all_day(uid(min(keys[date])), date, summary=title, lines=lines))
    return found


def _pick_line(pick: Pick, sessions: dict[str, Session], season: Season, library: Library) -> str:
    measures = season.household.measures
    line = f"{called(pick.planting, pick.crop)}: about {about(pick.grams, measures)}"
    line += in_pieces(pick.grams, library.counted(pick.crop), measures)
    session = sessions.get(pick.session or "")
    if session is None:
        return line
    time = clock(session.start, measures)
    return f"{line}, for the session on {day(session.start.date())} at {time}"


def _other_picks(plan: Plan, season: Season, uid: Uid) -> list[Entry]:
    grams: ByDay = defaultdict(lambda: defaultdict(int))
    for pick in plan.picks:
        if pick.session is None:
            grams[pick.date][pick.crop] += pick.grams
    found = []
    for week, days in _by_week(grams).items():
        kept = _worth_telling(days, OUNCE)
        if kept:
            lines = _day_lines(kept, season)
            title = food_first(_amounts(_all(kept), season), ": pick this week")
            key = uid(f"pick week|{week}")
            found.append(all_day(key, min(kept), summary=title, lines=lines))
    return found


def _gifts(plan: Plan, season: Season, library: Library, *, uid: Uid) -> list[Entry]:
    grams: ByDay = defaultdict(lambda: defaultdict(int))
    for surplus in surplus_by_lot(plan, season, library):
        grams[surplus.lot.keep_until][surplus.lot.crop] += surplus.grams
    found = []
    for week, days in _by_week(grams).items():
        kept = _worth_telling(days, WORTH_GIVING)
        if kept:
            lines = ["More than is wanted or can be put by; to give away by:"]
            lines += _day_lines(kept, season)
            title = food_first(_amounts(_all(kept), season), ": give away")
            found.append(all_day(uid(f"gift week|{week}"), min(kept), summary=title, lines=lines))
    return found


def _by_week(grams: ByDay) -> dict[str, ByDay]:
    weeks: dict[str, ByDay] = defaultdict(dict)
    for date in sorted(grams):
        year, week, _ = date.isocalendar()
        weeks[f"{year}-{week:02d}"][date] = grams[date]
    return weeks


def _worth_telling(days: ByDay, least: float) -> ByDay:
    """Without crops of which the whole week has less."""
    total: dict[str, int] = defaultdict(int)
    for crop, grams in _all(days):
        total[crop] += grams
    kept = {
        date: {crop: grams for crop, grams in crops.items() if total[crop] >= least and grams}
        for date, crops in days.items()
    }
    return {date: crops for date, crops in kept.items() if crops}


def _all(days: ByDay) -> list[tuple[str, int]]:
    return [pair for crops in days.values() for pair in crops.items()]


def _day_lines(days: ByDay, season: Season) -> list[str]:
    return [
        f"{day(date)}: {'; '.join(_amounts(crops.items(), season, least=OUNCE) or ['a little'])}"
        for date, crops in days.items()
    ]


def _amounts(grams: Iterable[tuple[str, int]], season: Season, least: float = 0) -> list[str]:
    """Like "snap beans 3 1/2 lb", the most first."""
    total: dict[str, int] = defaultdict(int)
    for crop, each in grams:
        total[crop] += each
    measures = season.household.measures
    most_first = sorted(total.items(), key=lambda pair: (-pair[1], pair[0]))
    return [
        one_line(f"{crop_many(crop)} {about(g, measures)}") for crop, g in most_first if g >= least
    ]
