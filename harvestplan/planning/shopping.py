"""What to buy, as lines of the plan: pouches with spares, ice, food, and what is added to food."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from harvestplan.inputs.crops import Library
from harvestplan.inputs.ingredients import TAP
from harvestplan.inputs.season import Measures, Purchase, Season
from harvestplan.inputs.season_kitchen import Pouch
from harvestplan.kitchen.experience import NOTHING_YET, Experience
from harvestplan.kitchen.ice import PER_BLANCHED, PER_CHILLED
from harvestplan.kitchen.steps.all_steps import ice_of
from harvestplan.kitchen.steps.blanch import Blanch
from harvestplan.kitchen.steps.chill import Chill
from harvestplan.plan.models import Session, ShoppingLine
from harvestplan.words import as_ice, day

LEAD = dt.timedelta(days=7)
"""Pouches and what stands on the shelf are ordered a week before they are needed (common practice,
no source)."""


def shopping_lines(
    plan_sessions: Sequence[Session],
    season: Season,
    library: Library,
    *,
    as_of: dt.date,
    experience: Experience = NOTHING_YET,
    at_least: Mapping[str, int] = MappingProxyType({}),
) -> tuple[ShoppingLine, ...]:
    """All there is to buy for the sessions still ahead, by date, kind and name.

    Spare pouches go by how many seals failed so far (`experience`). Pouches count in pieces, those
    in stock as they lie there on the day of planning; ice, food and what is added to food in grams,
    packs 0 where they are not sold in packs. `at_least` so many pouches of a size are reckoned
    with, where the sessions need fewer.
    """
    ahead = [s for s in plan_sessions if s.status in ("planned", "firm")]
    ahead.sort(key=lambda session: (session.start, session.uid))
    lines = [
        *_pouch_lines(ahead, season, as_of, experience=experience, at_least=at_least),
        *(_ice_lines(ahead, as_of, season.household.measures) if season.cold.ice == "buy" else ()),
        *(_food_line(b, library) for b in season.bought if b.on >= as_of and not b.made),
        *_staple_lines(ahead, library, as_of),
    ]
    return tuple(sorted(lines, key=by_date))


def with_spares(
    pouches: int, experience: Experience = NOTHING_YET, size: Pouch | None = None
) -> int:
    """Pouches and their spares, rounded up; the lid of a box does not fail."""
    box = size is not None and size.kind == "box"
    return pouches + (0 if box else experience.spares(pouches))


def ice_grams(session: Session, measures: Measures) -> int:
    """Ice in g that cools what a session blanches and chills, each batch's rounded up as it is told
    in these measures.

    As the tasks say; where none does, by the mass blanched and chilled.
    """
    said = sum(as_ice(ice_of(task), measures) for task in session.tasks)
    if said:
        return round(said)
    blanched = sum(task.grams for task in session.tasks if task.step == Blanch.name)
    chilled = sum(task.grams for task in session.tasks if task.step == Chill.name)
    return math.ceil(round(PER_BLANCHED * blanched + PER_CHILLED * chilled, 6))


def _pouch_lines(
    ahead: list[Session],
    season: Season,
    as_of: dt.date,
    *,
    experience: Experience,
    at_least: Mapping[str, int],
) -> list[ShoppingLine]:
    uses: dict[str, list[tuple[dt.date, int]]] = {}
    for session in ahead:
        for run in session.runs:
            if run.pouch and run.pouches:
                uses.setdefault(run.pouch, []).append((session.start.date(), run.pouches))
    for name, count in at_least.items():
        more = count - sum(pouches for _, pouches in uses.get(name, ()))
        if more > 0:
            last = max([date for date, _ in uses.get(name, ())], default=as_of)
            uses.setdefault(name, []).append((last, more))
    sizes = {pouch.name: pouch for pouch in season.pouch}
    return [
        _pouch_line(name, sizes.get(name), used, as_of=as_of, experience=experience)
        for name, used in uses.items()
    ]


def _pouch_line(
    name: str,
    size: Pouch | None,
    uses: list[tuple[dt.date, int]],
    *,
    as_of: dt.date,
    experience: Experience,
) -> ShoppingLine:
    need = with_spares(sum(count for _, count in uses), experience, size)
    in_stock = size.in_stock if size else 0
    pack = size.pack if size else None
    buy = max(0, need - in_stock)
    packs = math.ceil(buy / (pack or 1))
    price = None if size is None or size.price is None else round(packs * size.price, 2)
    return ShoppingLine(
        item=name,
        kind="pouch",
        need=need,
        in_stock=in_stock,
        buy=buy,
        packs=packs,
        pack=pack,
        price=price,
        order_by=max(as_of, _short_on(uses, size, experience) - LEAD),
    )


def _short_on(
    uses: list[tuple[dt.date, int]], size: Pouch | None, experience: Experience
) -> dt.date:
    """The first date that needs more than is in stock, else the first date of all."""
    used, in_stock = 0, size.in_stock if size else 0
    for date, count in uses:
        used += count
        if with_spares(used, experience, size) > in_stock:
            return date
    return uses[0][0]


def _ice_lines(ahead: list[Session], as_of: dt.date, measures: Measures) -> list[ShoppingLine]:
    """One line for each week with ice in it, to be had the day before its first such session."""
    weeks: dict[dt.date, tuple[dt.date, int]] = {}
    for session in ahead:
        date, grams = session.start.date(), ice_grams(session, measures)
        if grams:
            monday = date - dt.timedelta(days=date.weekday())
            first, before = weeks.get(monday, (date, 0))
            weeks[monday] = (first, before + grams)
    return [
        _loose(
            f"ice for the week of {day(monday)}",
            "ice",
            grams,
            order_by=max(as_of, first - dt.timedelta(days=1)),
        )
        for monday, (first, grams) in weeks.items()
    ]


def _food_line(bought: Purchase, library: Library) -> ShoppingLine:
    crop = library.find_crop(bought.item.partition(",")[0])
    # A volume of food weighs what its crop file says; water's density stands in for an unknown.
    grams = bought.amount.grams(crop.raw_density.value if crop else 1.0)
    line = _loose(bought.item, "food", round(grams), order_by=bought.on)
    if bought.amount.kind != "volume":
        return line
    return line.model_copy(update={"volume_ml": round(bought.amount.value)})


def _staple_lines(ahead: list[Session], library: Library, as_of: dt.date) -> list[ShoppingLine]:
    """One line for each thing that sessions add to their food, a week before the first of them."""
    first: dict[str, dt.date] = {}
    needed: dict[str, int] = {}
    for session in ahead:
        for added in (each for task in session.tasks for each in task.ingredients):
            first.setdefault(added.item, session.start.date())
            needed[added.item] = needed.get(added.item, 0) + added.grams
    lines = []
    needed.pop(TAP, None)
    for item, grams in needed.items():
        line = _loose(item, "staple", grams, order_by=max(as_of, first[item] - LEAD))
        if (staple := library.staples.get(item)) is not None:
            volume = max(1, round(grams / staple.density.value))
            line = line.model_copy(update={"volume_ml": volume})
        lines.append(line)
    return lines


def _loose(item: str, kind: str, grams: int, *, order_by: dt.date) -> ShoppingLine:
    return ShoppingLine(
        item=item,
        kind=kind,
        need=grams,
        in_stock=0,
        buy=grams,
        packs=0,
        pack=None,
        price=None,
        order_by=order_by,
    )


def by_date(line: ShoppingLine) -> tuple[dt.date, str, str]:
    """The order of the list: by date, then by kind and name."""
    return line.order_by, line.kind, line.item
