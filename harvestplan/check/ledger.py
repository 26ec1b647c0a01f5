"""The freezers counted anew, day by day: at the start, in, drawn."""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from harvestplan.check.facts import Facts, number, portion_grams
from harvestplan.inputs.crops import Product
from harvestplan.inputs.season import Season, Want
from harvestplan.kitchen.pouches import BOX, GAPS, choose_packing, content_volume, space

DAY = dt.timedelta(days=1)
LONGEST = 3 * 366
"""Days after which the count ends, even if something is never eaten."""
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
    grams: int


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

    The count begins with the season, or on as_of where that is earlier; a portion that is not
    there when it is due is not drawn later.
    """
    names = [freezer.name for freezer in facts.season.freezer]
    if not names:
        return {}
    stock, fixed = _opening(facts, names[0])
    draws = _draws(facts)
    arrivals = list(_arrivals(facts))
    due_end = max([facts.season.season.end, *(a.day for a in arrivals)])
    rows: dict[tuple[dt.date, str], Day] = {}
    kept = facts.plan.as_of
    day = min(facts.plan.as_of, facts.season.season.start)
    for _ in range(LONGEST):
        came = [a for a in arrivals if a.day == day]
        for arrival in came:
            stock[arrival.product, arrival.freezer] += [arrival.space] * arrival.pouches
        for name in names:
            used = fixed[name] + sum(sum(p) for (_, where), p in stock.items() if where == name)
            rows[day, name] = Day(used, sum(a.grams for a in came if a.freezer == name))
        if _draw(draws, stock, names, day) or day <= due_end:
            kept = day
        if day >= due_end and not _more_to_draw(draws, stock, day):
            break
        day += DAY
    first = facts.plan.as_of
    return {(date, name): row for (date, name), row in rows.items() if first <= date <= kept}


def _opening(facts: Facts, first: str) -> tuple[Stock, dict[str, int]]:
    """Pouches in store at the start, in the first freezer, and other contents by freezer."""
    stock: Stock = defaultdict(list)
    fixed = {freezer.name: int(freezer.used) for freezer in facts.season.freezer}
    spaces = {name: each for name, _, each in _made_here(facts)}
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
        sealer = facts.season.sealer
        if found is None or found[1].storage != "freezer" or sealer is None:
            continue
        grams = portion_grams(found[1], want.portion)
        packing = choose_packing(found[1], grams, facts.season.pouch, sealer)
        if packing is not None and _equipped(facts.season, found[1]):
            yield facts.product_name(want.product), want, packing.space


def _equipped(season: Season, product: Product) -> bool:
    steps = {step.step for step in product.steps}
    return not (
        (steps & {"blanch", "simmer"} and not season.pot)
        or (steps & {"cool", "chill"} and not season.bath)
        or ("roast" in steps and not season.oven)
        or "dry" in steps
    )


def _draws(facts: Facts) -> dict[str, _Draw]:
    after = facts.season.season.end + DAY
    return {
        name: _Draw(want.per_week, want.from_ or after, want.until)
        for name, want, _ in _made_here(facts)
        if want.per_week is not None
    }


def _arrivals(facts: Facts) -> Iterator[_Arrival]:
    for sitting in facts.sittings:
        pouch = facts.pouch(sitting.run.pouch)
        grams = sitting.run.portion_grams
        for task in sitting.tasks_of("freeze"):
            freezer = facts.freezer(task.settings.get("freezer"))
            if freezer is None:
                continue
            count = int(max(0, number(task, "pouches") or 0))
            yield _Arrival(
                day=facts.day(task.start),
                freezer=freezer.name,
                product=f"{sitting.crop.name}, {sitting.product.form}",
                pouches=min(count, MOST_POUCHES),
                space=space(pouch, sitting.product, grams) if pouch else 0,
                grams=task.grams,
            )


def _draw(draws: dict[str, _Draw], stock: Stock, names: list[str], day: dt.date) -> bool:
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
