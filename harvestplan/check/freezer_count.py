"""The freezers counted anew, day by day: what they open with, in, drawn; and their freezing."""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from harvestplan.check.facts import Facts, Sitting, number, portion_grams
from harvestplan.inputs.crops import Product
from harvestplan.inputs.season import Season, Want
from harvestplan.kitchen.ice import COOLED, freezing_load, ice_grams, ice_space
from harvestplan.kitchen.pouches import BOX, GAPS, choose_packing, content_volume, space
from harvestplan.kitchen.refusals import judge
from harvestplan.kitchen.soaked import water_share
from harvestplan.kitchen.steps.all_steps import kind_of
from harvestplan.kitchen.steps.chill import CHILL_TO, HOT, ROOM, Chill
from harvestplan.kitchen.steps.cool import Cool
from harvestplan.kitchen.steps.freeze import Freeze
from harvestplan.kitchen.steps.settings import freezer_of
from harvestplan.kitchen.steps.tray_freeze import TrayFreeze
from harvestplan.kitchen.water import boiling_point
from harvestplan.plan.models import OpeningRow
from harvestplan.plan.spans import DAY

LONGEST = 3 * 366
"""Days after which the count ends, even if something is never eaten."""
ROUNDING = 2
"""Grams of ice by which a batch may differ for its mass being rounded."""
MOST_POUCHES = 100_000
"""No freeze task is counted with more; a plan that says so is wrong elsewhere."""


@dataclass(frozen=True)
class Day:
    """One freezer on one date, before that day's draw: contents in mL, food frozen in g."""

    used: int
    load: int


@dataclass(frozen=True)
class _Arrival:
    day: dt.date
    freezer: str
    product: str
    pouches: int
    space: int


@dataclass(frozen=True)
class Freezing:
    """Food, or ice as fresh food, that a freezer has to freeze from a time on; it counts for the
    household's date `day`. `space` is what ice takes up, in mL."""

    start: dt.datetime
    day: dt.date
    freezer: str
    grams: int
    space: int = 0


@dataclass(frozen=True)
class _Draw:
    """Portions a week drawn from `first` to `last` (None: until it is gone)."""

    per_week: float
    first: dt.date
    last: dt.date | None

    def due(self, day: dt.date) -> int:
        return self._target(day) - self._target(day - DAY)

    def _target(self, day: dt.date) -> int:
        until = day if self.last is None else min(day, self.last)
        days = (until - self.first).days + 1
        return math.floor(self.per_week * days / 7 + 1e-9) if days > 0 else 0


Stock = dict[tuple[str, str], list[int]]
"""By product and freezer the space in mL of each pouch, oldest first."""


def recount(facts: Facts) -> dict[tuple[dt.date, str], Day]:
    """Every freezer on every date from as_of to the last draw, arrival or the season's end.

    The count begins on as_of with what the plan says it opened with; a plan that says nothing is
    counted from the season's start, or from as_of where that is earlier. A portion that is not
    there when it is due is not drawn later.
    """
    names = [freezer.name for freezer in facts.season.freezer]
    if not names:
        return {}
    kept = day = facts.plan.as_of
    arrivals = list(_arrivals(facts))
    if facts.plan.opening is None:
        stock, fixed = _at_season_start(facts, names[0])
        day = min(day, facts.season.season.start)
    else:
        stock, fixed = _as_opened(facts, facts.plan.opening)
    draws = _draws(facts)
    loads = freezing_loads(facts)
    due_end = max([facts.season.season.end, *(a.day for a in arrivals)])
    rows: dict[tuple[dt.date, str], Day] = {}
    for _ in range(LONGEST):
        came = [a for a in arrivals if a.day == day]
        for arrival in came:
            stock[arrival.product, arrival.freezer] += [arrival.space] * arrival.pouches
        for name in names:
            used = fixed[name] + sum(sum(p) for (_, where), p in stock.items() if where == name)
            froze = [load for load in loads if (load.freezer, load.day) == (name, day)]
            used += sum(load.space for load in froze)
            rows[day, name] = Day(used, sum(load.grams for load in froze))
        if _draw(draws, stock, names, day=day) or day <= due_end:
            kept = day
        if day >= due_end and not _more_to_draw(draws, stock, day):
            break
        day += DAY
    first = facts.plan.as_of
    return {(date, name): row for (date, name), row in rows.items() if first <= date <= kept}


def freezing_loads(facts: Facts) -> list[Freezing]:
    """What has to be frozen: loose food on its trays, all other food in its pouches, own ice."""
    found = list(_ice_loads(facts))
    for sitting in facts.sittings:
        steps = [step.step for step in sitting.product.steps]
        first = TrayFreeze.name if TrayFreeze.name in steps else Freeze.name
        for task in sitting.tasks_of(first):
            freezer = facts.freezer(freezer_of(task))
            if freezer is not None:
                found.append(
                    Freezing(task.start, facts.day(task.start), freezer.name, grams=task.grams)
                )
    return found


def _ice_loads(facts: Facts) -> Iterator[Freezing]:
    """Ice the household makes in its first freezer, on the day before each session after as_of."""
    if facts.season.cold.ice != "make" or not facts.season.freezer:
        return
    for session in facts.sessions:
        date = facts.day(session.start)
        mine = (s for s in facts.sittings if s.session is session)
        grams = sum(_ice_grams(facts, sitting) for sitting in mine)
        if grams and date > facts.plan.as_of:
            yield Freezing(
                session.start - DAY,
                date - DAY,
                facts.season.freezer[0].name,
                grams=math.ceil(freezing_load(grams)),
                space=ice_space(grams),
            )


def _ice_grams(facts: Facts, sitting: Sitting) -> int:
    """Ice that a sitting's cooling and chilling take, batch by batch: as the tasks say where that
    agrees with the mass they state, which is rounded to the gram."""
    cooked = any(kind_of(step.step).cooks for step in sitting.product.steps)
    boiling = boiling_point(facts.season.household.altitude)
    spans = {Cool.name: (boiling, COOLED), Chill.name: (HOT if cooked else ROOM, CHILL_TO)}
    total = 0
    for task in sitting.tasks:
        if task.step in spans:
            start, end = spans[task.step]
            water = water_share(sitting.crop, sitting.product, task.step)
            ice = ice_grams(max(0, task.grams), water, start, end=end)
            said = number(task, "ice_g")
            total += int(said) if said is not None and abs(said - ice) <= ROUNDING else ice
    return total


def _as_opened(facts: Facts, rows: Sequence[OpeningRow]) -> tuple[Stock, dict[str, int]]:
    """Pouches and other contents by freezer as the plan's opening says."""
    stock: Stock = defaultdict(list)
    fixed = {freezer.name: int(freezer.used) for freezer in facts.season.freezer}
    spaces = opened_spaces(facts)
    for row in rows:
        if row.product in spaces:
            count = min(row.portions, MOST_POUCHES)
            stock[row.product, row.freezer] += [spaces[row.product]] * count
        elif row.freezer in fixed:
            fixed[row.freezer] += row.volume_ml
    return stock, fixed


def opened_spaces(facts: Facts) -> dict[str, int]:
    """Space of a pouch in mL by product, of the frozen wants that this kitchen can make."""
    return {name: each for name, _, each in _made_here(facts)}


def _at_season_start(facts: Facts, first: str) -> tuple[Stock, dict[str, int]]:
    """Pouches in store at the start, in the first freezer, and other contents by freezer."""
    stock: Stock = defaultdict(list)
    fixed = {freezer.name: int(freezer.used) for freezer in facts.season.freezer}
    spaces = opened_spaces(facts)
    for item in facts.season.stored:
        found = facts.library.find_product(item.product)
        if found is None or found[1].storage != "freezer":
            continue
        name = facts.product_name(item.product)
        if name in spaces:
            stock[name, first] += [spaces[name]] * item.portions
        else:
            grams = portion_grams(found[1], item.portion)
            bare = round(content_volume(found[1], grams) / BOX * GAPS)
            fixed[first] += item.portions * bare
    return stock, fixed


def _made_here(facts: Facts) -> Iterator[tuple[str, Want, int]]:
    """Frozen wants that this kitchen can make: name, want, space of a pouch in mL."""
    for want in facts.season.want:
        found = facts.library.find_product(want.product)
        if found is None or found[1].storage != "freezer":
            continue
        crop, product = found
        grams, raw = portion_grams(product, want.portion), judge(product, crop) is not None
        named = (p for p in facts.season.pouch if want.pouch in (None, p.name))
        fitting = [pouch for pouch in named if pouch.by_hand or not raw]
        packing = choose_packing(product, grams, fitting, sealer=facts.season.machine)
        if packing is not None and _equipped(facts.season, found[1]):
            yield facts.product_name(want.product), want, packing.space


def _equipped(season: Season, product: Product) -> bool:
    """Whether the kitchen has what a frozen product is made in; what dries is none."""
    missing = {"dryer"}
    missing |= {name for name in ("pot", "bath", "oven") if not getattr(season, name)}
    return not missing & {kind_of(step.step).vessel for step in product.steps}


def _draws(facts: Facts) -> dict[str, _Draw]:
    after = facts.season.season.end + DAY
    return {
        name: _Draw(want.per_week, want.from_ or after, want.until)
        for name, want, _ in _made_here(facts)
        if want.per_week is not None
    }


def _arrivals(facts: Facts) -> Iterator[_Arrival]:
    """What sessions put away; what a done one did is in the plan's opening, where it has one."""
    for sitting in facts.sittings:
        if facts.plan.opening is not None and sitting.session.status == "done":
            continue
        pouch = facts.pouch(sitting.run.pouch)
        grams = sitting.run.portion_grams
        for task in sitting.tasks_of(Freeze.name):
            freezer = facts.freezer(freezer_of(task))
            if freezer is None:
                continue
            count = int(max(0, number(task, "pouches") or 0))
            yield _Arrival(
                day=facts.day(task.start),
                freezer=freezer.name,
                product=sitting.name,
                pouches=min(count, MOST_POUCHES),
                space=space(pouch, sitting.product, grams) if pouch else 0,
            )


def _draw(draws: dict[str, _Draw], stock: Stock, names: list[str], *, day: dt.date) -> bool:
    drew = False
    for product, draw in draws.items():
        due = draw.due(day)
        for name in names:
            taken = min(due, len(stock[product, name]))
            del stock[product, name][:taken]
            due -= taken
            drew = drew or taken > 0
    return drew


def _more_to_draw(draws: dict[str, _Draw], stock: Stock, day: dt.date) -> bool:
    """Whether anything can still be drawn after `day`."""
    return any(
        pouches and product in draws and _runs_on(draws[product], day)
        for (product, _), pouches in stock.items()
    )


def _runs_on(draw: _Draw, day: dt.date) -> bool:
    return draw.last is None or draw.last > day
