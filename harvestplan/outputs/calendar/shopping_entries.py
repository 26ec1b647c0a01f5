"""What to buy, and by when, as calendar entries."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import partial

from harvestplan.inputs.season import Season
from harvestplan.outputs.calendar.entry import Entry, Ring, all_day, entry_uid, food_first
from harvestplan.outputs.calendar.record import Ticked
from harvestplan.outputs.calendar.to_get import to_get
from harvestplan.outputs.pack_words import pack_kind
from harvestplan.outputs.shopping_words import buy_words, food_amount
from harvestplan.plan.models import Plan, ShoppingLine
from harvestplan.words import crop_many, ice_mass, one_line, pack_name, plural

LASTS = ("pouch", "staple")
"""What may as well be bought earlier."""
AHEAD = dt.timedelta(days=7)
SOON = dt.timedelta(days=5)
"""Salt and the like are listed a week before they are wanted, and may be bought so much later."""
EVENING_BEFORE = dt.timedelta(hours=5)
"""Before midnight: at 19:00."""


def shopping_entries(
    plan: Plan, season: Season, ticked: Mapping[str, Ticked], *, seed: str | None = None
) -> list[Entry]:
    """One entry for each day by which something is to be bought or ordered, what lasts together
    with what is bought in the days before; what was ticked is left out."""
    uid = partial(entry_uid, plan, seed)
    by_date: dict[dt.date, list[tuple[str, ShoppingLine]]] = defaultdict(list)
    things = [(key, line) for key, _, line in to_get(plan, seed, ticked)]
    for key, line in things:
        if line.kind not in LASTS:
            by_date[line.order_by].append((key, line))
    errands = sorted(by_date)
    for key, line in things:
        if line.kind in LASTS:
            by_date[_with_errand(line, errands)].append((key, line))
    found = []
    for date, things in sorted(by_date.items()):
        title = food_first([short_words(line, season) for _, line in things], ": buy")
        rings = (Ring(EVENING_BEFORE, title),) if season.calendars.remind else ()
        lines = [buy_words(line, season) for _, line in things]
        # What lasts may go with another errand tomorrow: the entry is named by the rest.
        named = [key for key, line in things if line.kind not in LASTS]
        key = uid(f"order|{min(named or [key for key, _ in things])}")
        found.append(all_day(key, date, summary=title, lines=lines, rings=rings))
    return found


def _with_errand(line: ShoppingLine, errands: Sequence[dt.date]) -> dt.date:
    """The last of the errands in the week up to its day, or else for what need not be ordered the
    next one soon after; its own day where there is none."""
    day = line.order_by
    before = [errand for errand in errands if day - AHEAD <= errand <= day]
    soon = [errand for errand in errands if day < errand <= day + SOON and line.kind == "staple"]
    return max(before, default=min(soon, default=day))


def short_words(line: ShoppingLine, season: Season) -> str:
    """What it is, then how much: "ice 12 lb", "pouches 8x10, 1 pack of 50"."""
    if line.kind == "staple":
        return one_line(line.item)  # by spoon and cup, and mostly in the house: see its lines
    measures = season.household.measures
    if line.kind == "ice":
        item = line.item.partition(" for the week")[0]
        return one_line(f"{item} {ice_mass(line.buy, measures)}")
    if line.kind != "pouch":
        return one_line(f"{crop_many(line.item)} {food_amount(line, measures)}")
    named = pack_name(2, pack_kind(line.item, season), line.item)
    if line.pack is None:
        return one_line(f"{named}, {line.buy}")
    return one_line(f"{named}, {plural(line.packs, 'pack')} of {line.pack}")
