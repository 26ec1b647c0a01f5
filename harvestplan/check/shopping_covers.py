"""V12: the shopping list covers the plan, and the machine's running time adds up."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Iterator

from harvestplan.check.facts import Facts, Finding, Sitting, disagreements, number
from harvestplan.inputs.ingredients import TAP
from harvestplan.kitchen.steps.seal import Seal
from harvestplan.plan.models import ShoppingLine


def check_purchases(facts: Facts) -> Iterator[Finding]:
    """V12."""
    for message in (*_pouches(facts), *_food(facts), *_staples(facts), *_machine(facts)):
        yield Finding("V12", message)


def _ahead(facts: Facts) -> Iterator[Sitting]:
    return (s for s in facts.sittings if s.session.status in ("planned", "firm"))


def _pouches(facts: Facts) -> Iterator[str]:
    used: Counter[str] = Counter()
    for sitting in _ahead(facts):
        if sitting.run.pouch:
            used[sitting.run.pouch] += sitting.run.pouches
    lines = [line for line in facts.plan.shopping if line.kind == "pouch"]
    listed = Counter(line.item for line in lines)
    for name, count in sorted(used.items()):
        if count and listed[name] != 1:
            yield (
                f"{count} pouches {name} are used; the shopping list has {listed[name]} lines "
                "for them."
            )
    for line in lines:
        yield from _pouch_line(facts, line, used[line.item])


def _pouch_line(facts: Facts, line: ShoppingLine, used: int) -> Iterator[str]:
    pouch = facts.pouch(line.item)
    # A lid does not fail as a seal does.
    spares = 0 if pouch is not None and pouch.kind == "box" else facts.experience.spares(used)
    if line.need < used + spares:
        yield (
            f"{line.item}: {used} pouches and their spares are {used + spares}; the list counts "
            f"{line.need}."
        )
    if pouch is None:
        yield f'The shopping list has "{line.item}", which is no pouch of the kitchen.'
        return
    if (line.in_stock, line.pack) != (pouch.in_stock, pouch.pack):
        yield (
            f"{line.item}: the list has {line.in_stock} in stock and packs of {line.pack}, the "
            f"kitchen {pouch.in_stock} and {pouch.pack}."
        )
    if line.buy < line.need - pouch.in_stock:
        yield f"{line.item}: {line.buy} are bought, {line.need - pouch.in_stock} are lacking."
    if line.packs * (line.pack or 1) < line.buy:
        yield f"{line.item}: {line.packs} packs of {line.pack or 1} are fewer than {line.buy}."
    if pouch.price is not None:
        price = line.packs * pouch.price
        if line.price is None or abs(line.price - price) > 0.006:
            yield f"{line.item}: {line.packs} packs cost {price:.2f}, the list says {line.price}."


def _food(facts: Facts) -> Iterator[str]:
    needed: Counter[str] = Counter()
    for bought in facts.season.bought:
        if bought.on < facts.plan.as_of or bought.made:
            continue
        crop = facts.library.find_crop(bought.item.partition(",")[0])
        by_volume = bought.amount.kind == "volume" and crop is not None
        density = crop.raw_density.value if crop and by_volume else 1.0
        needed[bought.item] += round(bought.amount.value * density)
    listed: Counter[str] = Counter()
    for line in facts.plan.shopping:
        if line.kind == "food":
            listed[line.item] += line.buy
    for item, grams in needed.items():
        if listed[item] < grams:
            yield f"{item}: {grams} g are to be bought, the shopping list has {listed[item]} g."


def _staples(facts: Facts) -> Iterator[str]:
    """What the sessions ahead add to their food is on the list, each thing once, in time."""
    needed: Counter[str] = Counter()
    first: dict[str, dt.date] = {}
    for session in facts.sessions:
        if session.status in ("planned", "firm"):
            for added in (each for task in session.tasks for each in task.ingredients):
                needed[added.item] += added.grams
                day = facts.day(session.start)
                first[added.item] = min(day, first.get(added.item, day))
    lines = [line for line in facts.plan.shopping if line.kind == "staple"]
    del needed[TAP]  # nobody buys it
    for item, grams in sorted(needed.items()):
        found = [line for line in lines if line.item == item]
        if len(found) != 1:
            yield f"{grams} g of {item} are added; the shopping list has {len(found)} lines for it."
        elif found[0].in_stock + found[0].buy < grams:
            yield f"{item}: {grams} g are added, the shopping list has {found[0].buy} g."
        elif found[0].order_by > max(first[item], facts.plan.as_of):
            yield f"{item}: it is ordered by {found[0].order_by}, after it is first wanted."


def _machine(facts: Facts) -> Iterator[str]:
    sealer = facts.season.machine
    if sealer is None:
        return
    running = facts.experience.running_seconds(sealer, facts.sessions)
    for sitting in facts.sittings:
        pouch = facts.pouch(sitting.run.pouch)
        for task in sitting.tasks_of(Seal.name):
            closings = number(task, "cycles")
            if pouch is not None and closings is not None:
                each = facts.cycle(sitting, pouch, task).machine_seconds()
                expected: dict[str, object] = {"machine_s": math.ceil(closings * each)}
                yield from disagreements(sitting.where, task, expected)
    warned = any(warning.code == "service" for warning in facts.plan.warnings)
    if sealer.service_after is not None and running > sealer.service_after and not warned:
        yield (
            f"{sealer.name} runs {running / 3600:.2f} h by the end of the plan, past its service "
            f"at {sealer.service_after / 3600:.2f} h, and no warning says so."
        )
