"""What would help: a standard list of one thing more, each solved, ranked by what it brings."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from harvestplan.foresight.answers import Help, Outlook, WhatHelps
from harvestplan.foresight.asking import Say
from harvestplan.foresight.changes import read_variant
from harvestplan.foresight.compare import solve_each
from harvestplan.inputs.load import load_season
from harvestplan.inputs.season import Season, Window
from harvestplan.inputs.windows import WEEKDAYS
from harvestplan.kitchen.crop_library import load_library
from harvestplan.planning.remedies import EASIEST_DAYS, EVENING

LONGER_BAR = 0.4064
"""A sealing bar in m as longer machines have it, 16 in (common practice, no source)."""
MOST_CROPS = 5
"""Crops for which more of the harvest is tried."""


@dataclass(frozen=True)
class OneMore:
    """One thing more: what a unit of it is, and the change as people write it."""

    unit: str
    change: str


def what_helps(folder: Path, as_of: dt.date, say: Say, *, on: str | None = None) -> WhatHelps:
    """The standard list solved against the season as it stands, best first; after Ctrl-C what of it
    was solved by then.

    Pouches and ice are bought as needed and never limit a plan, so they are not on the list.
    Raises what `solve_each` raises.
    """
    season = load_season(folder, load_library(folder)).season
    ideas = list(one_more(season))
    variants = [read_variant(idea.change) for idea in ideas]
    base, found = solve_each(folder, as_of, variants, say=say, on=on)
    helps = [
        _help(idea, base, each) for idea, each in zip(ideas, found, strict=True) if each is not None
    ]
    helps.sort(key=lambda each: (-each.gain, -each.most, each.unit))
    return WhatHelps(base=base, helps=tuple(helps))


def _help(idea: OneMore, base: Outlook, found: Outlook) -> Help:
    if found.trouble is not None:
        return Help(
            unit=idea.unit,
            change=idea.change,
            portions=0,
            gain=0.0,
            least=0.0,
            most=0.0,
            trouble=found.trouble,
        )
    # The plan as it stands is one for more as well, where the search has not come back to it.
    least = round(max(0.0, found.worth - base.bound), 4)
    return Help(
        unit=idea.unit,
        change=idea.change,
        portions=found.planned - base.planned,
        gain=max(least, round(found.worth - base.worth, 4)),
        least=least,
        most=round(max(0.0, found.bound - base.worth), 4),
    )


def one_more(season: Season) -> Iterator[OneMore]:
    """The standard list for this season: only what it could have more of."""
    yield from _more_time(season)
    yield from _more_hands(season)
    yield from _more_kitchen(season)
    yield from _more_space(season)
    yield from _more_food(season)


def _more_time(season: Season) -> Iterator[OneMore]:
    per_week = season.season.max_sessions_per_week
    more = "season.max_sessions_per_week=+1"
    taken = {day for window in season.window for day in window.days}
    free = [day for day in EASIEST_DAYS if day not in taken]
    if free:
        start, end = _usual_hours(season.window)
        window = f"window.{free[0]}={start}-{end}"
        both = f"{window} and {more}" if per_week else window
        yield OneMore(f"an evening more a week ({free[0]})", both)
    if per_week:
        yield OneMore("a session more a week in the windows there are", more)
    if season.season.max_sessions is not None:
        yield OneMore("a session more in the season", "season.max_sessions=+1")
    longer = [f"window.{day}.end=+30 min" for day in WEEKDAYS if day in taken]
    if longer and all(window.end < dt.time(23, 30) for window in season.window):
        yield OneMore("half an hour more in every window", " and ".join(longer))


def _usual_hours(windows: Sequence[Window]) -> tuple[str, str]:
    """The hours of the first window in the evening."""
    late = [(window.start, window.end) for window in windows if window.start >= dt.time(16)]
    start, end = late[0] if late else EVENING
    return f"{start:%H:%M}", f"{end:%H:%M}"


def _more_hands(season: Season) -> Iterator[OneMore]:
    if season.household.hands < 8:
        changes = ["household.hands=+1"]
        days = [day for w in season.window if w.hands and w.hands < 8 for day in w.days]
        changes += [f"window.{day}.hands=+1" for day in dict.fromkeys(days)]
        yield OneMore("a pair of hands in every window", " and ".join(changes))


def _more_kitchen(season: Season) -> Iterator[OneMore]:
    if season.pot:
        largest = max(season.pot, key=lambda pot: (pot.volume, pot.power))
        yield OneMore(f'a pot like "{largest.name}"', f"pot.{largest.name}=+1")
    if season.bath:
        bath = max(season.bath, key=lambda each: each.volume)
        yield OneMore(f'a cooling bath like "{bath.name}"', f"bath.{bath.name}=+1")
    if season.machine is not None and season.machine.bar < LONGER_BAR - 1e-6:
        yield OneMore("a sealing bar of 16 in", "sealer.bar=16 in")
    for oven in season.oven[:1]:
        if oven.trays < 12:
            yield OneMore("a tray in the oven", f"oven.{oven.name}.trays=+1")
    for dryer in season.dryer[:1]:
        if dryer.trays <= 38:
            yield OneMore("two trays in the dryer", f"dryer.{dryer.name}.trays=+2")
    if not season.dryer:
        change = "dryer.dryer=trays 6, tray_area 1.5 ft2"
        yield OneMore("a dryer of six trays", change)


def _more_space(season: Season) -> Iterator[OneMore]:
    if season.freezer:
        freezer = max(season.freezer, key=lambda each: each.volume)
        yield OneMore("100 L of freezer", f"freezer.{freezer.name}.volume=+100 L")
        if freezer.tray_area is not None:
            change = f"freezer.{freezer.name}.tray_area=+50 %"
            yield OneMore("half as much again of freezing trays", change)
    if season.cold.fridge is not None:
        yield OneMore("30 L of fridge", "cold.fridge=+30 L")


def _more_food(season: Season) -> Iterator[OneMore]:
    """Half as much again of the first planting or purchase behind each of the dearest wants."""
    wants = sorted(season.want, key=lambda want: -want.priority)
    crops = dict.fromkeys(want.product.partition(",")[0] for want in wants if want.portions)
    for crop in list(crops)[:MOST_CROPS]:
        for planting in [p for p in season.planting if p.crop == crop][:1]:
            size = "plants" if planting.plants else "row" if planting.row else "area"
            change = f"planting.{planting.id}.{size}=+50 %"
            yield OneMore(f"half as much again of {planting.id}", change)
        for bought in [b for b in season.bought if b.item == crop][:1]:
            change = f"bought.{bought.item}.amount=+50 %"
            yield OneMore(f"half as much again of {bought.item} bought", change)
