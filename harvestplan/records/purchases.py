"""What was really bought, in place of what was meant to be."""

from __future__ import annotations

import datetime as dt

from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Purchase, Season
from harvestplan.records.diary import Diary
from harvestplan.records.events import Bought

NEAR = 14
"""Days between a purchase that was meant and the line that tells of it, at most."""


def with_purchases(season: Season, library: Library, diary: Diary, *, today: dt.date) -> Season:
    """The season with its purchases as the diary tells of them, up to and including `today`.

    A `bought` line takes the place of the nearest purchase of that food in the season file, at most
    two weeks off; without one it is a purchase of its own. What no line tells of stays as meant.
    """
    bought = list(season.bought)
    for event in diary.events:
        if not isinstance(event, Bought) or event.date > today:
            continue
        near = [
            (abs((item.on - event.date).days), place)
            for place, item in enumerate(bought)
            if not item.made
            and abs((item.on - event.date).days) <= NEAR
            and _food(library, item.item) == event.crop
        ]
        if near:
            place = min(near)[1]
            bought[place] = bought[place].as_made(event.amount, event.date)
        else:
            plain = Purchase.model_construct(item=event.crop, amount=event.amount, on=event.date)
            bought.append(plain.as_made(event.amount, event.date))
    return season.model_copy(update={"bought": tuple(bought)})


def _food(library: Library, name: str) -> str:
    crop = library.find_crop(name)
    return crop.name if crop else name
