"""V5: batches fit their vessels, and each step takes at least the time the crop file asks for."""

from __future__ import annotations

import math
from collections.abc import Iterator

from harvestplan.check.facts import (
    PACK_STEPS,
    Facts,
    Finding,
    Sitting,
    disagreements,
    number,
    seconds,
    work_seconds,
)
from harvestplan.inputs.crops import Step
from harvestplan.kitchen.closing import WAYS
from harvestplan.kitchen.own_pace import BOOK_PACE, pace_of
from harvestplan.kitchen.pot import Blancher, blanch_seconds, cooked_limit
from harvestplan.kitchen.steaming import over_steam
from harvestplan.kitchen.steps.all_steps import kind_of
from harvestplan.kitchen.steps.blanch import STEAM, Blanch, is_over_steam
from harvestplan.kitchen.steps.chill import CHILL_SHARE, Chill, chill_seconds
from harvestplan.kitchen.steps.cool import Cool
from harvestplan.kitchen.steps.dry import Dry
from harvestplan.kitchen.steps.roast import Roast
from harvestplan.kitchen.steps.simmer import Simmer
from harvestplan.kitchen.steps.soak import AHEAD, LONGEST_HERE, Soak
from harvestplan.plan.models import Task

ONE_MINUTE = 60.0
PACE_SLACK = 0.85
"""What was written down since a plan was made may move a pace a little; a plan that allows less
than this share of the household's own minutes is too short (own judgement)."""
HALF_GRAM = 0.5
"""Tasks state whole grams; a batch may be this much lighter or heavier."""
LEAST_CHILL = {cooked: chill_seconds(cooked) for cooked in (True, False)}
"""Seconds from the heat, or from the room, in a shallow pan stirred in ice water."""


def check_potfuls(facts: Facts) -> Iterator[Finding]:
    """V5."""
    for message in _messages(facts):
        yield Finding("V5", message)


def _messages(facts: Facts) -> Iterator[str]:
    slow: dict[str, float] = {}
    for sitting in facts.ahead:
        steps: dict[str, Step] = {step.step: step for _, step in sitting.steps}
        for task in sitting.tasks:
            step = steps.get(task.step)
            if step is None:
                continue
            where = f"{sitting.where}, batch {task.batch}" if task.batch else sitting.where
            yield from _time(facts, where, task, step=step, sitting=sitting)
            if step.step == Blanch.name:
                yield from _blanch(facts, sitting, where, task=task, step=step, slow=slow)
            elif step.step == Cool.name:
                yield from _cool(facts, sitting, where, task=task, step=step)
            else:
                yield from _load(facts, where, task, step=step)
        yield from _packing_time(sitting)
        yield from _pace(facts, sitting)
        yield from _dryer_load(facts, sitting)
        yield from _worth_the_pot(facts, sitting)
    said = " ".join(w.message for w in facts.plan.warnings if w.code == "one-minute")
    for product, back in slow.items():
        if product not in said:
            yield (
                f"{product}: a potful takes {back:.0f} s to boil again, over one minute, and no "
                "warning says so."
            )


def _pace(facts: Facts, sitting: Sitting) -> Iterator[str]:
    """Evenings ahead allow for the household's own pace; those behind were planned without it."""
    if sitting.session.status != "planned":
        return
    own, planned = facts.experience.own_paces().get(sitting.name, BOOK_PACE), pace_of(sitting.run)
    for step in {step.step: None for _, step in sitting.steps if step.hands}:
        if planned.of(step) < PACE_SLACK * own.of(step):
            yield (
                f"{sitting.where}: {planned.of(step):g} times the crop file's minutes are planned "
                f"to {step}, but this kitchen takes {own.of(step):g} times."
            )
            return


def _dryer_load(facts: Facts, sitting: Sitting) -> Iterator[str]:
    """What is in a dryer at once lies in a single layer on its trays."""
    for _, step in sitting.steps:
        if step.step != Dry.name or step.tray_load is None:
            continue
        grams = sum(task.grams for task in sitting.tasks_of(Dry.name))
        for name in {name for task in sitting.tasks_of(Dry.name) for name in task.equipment}:
            room = sum(
                dryer.trays * dryer.tray_area * step.tray_load.value
                for dryer in facts.season.dryer
                if dryer.name == name
            )
            if grams > room + len(sitting.tasks):
                yield f"{sitting.where}: {grams} g are laid in {name}; it holds {room:.0f} g."


def _worth_the_pot(facts: Facts, sitting: Sitting) -> Iterator[str]:
    """A run ahead takes no less raw food than the household's smallest batch, or makes all that is
    still wanted. A last pouch in part counts as full."""
    least = facts.season.season.smallest_batch
    if least is None or sitting.kind == "second" or sitting.session.status != "planned":
        return
    raw_portion = math.ceil(sitting.run.portion_grams / sitting.product.packed_share - 1e-9)
    portions = math.ceil(sitting.raw / max(1, raw_portion))
    if portions * raw_portion < least - HALF_GRAM and portions < _still_wanted(facts, sitting):
        yield (
            f"{sitting.where}: {sitting.raw} g are put by; your smallest_batch is {least:.0f} g, "
            "and more of it is wanted."
        )


def _still_wanted(facts: Facts, sitting: Sitting) -> int:
    """Portions of the sitting's product to be made beside what is done and promised."""
    lines = (line for line in facts.plan.wants if line.product == sitting.name)
    wanted = sum(line.wanted - line.stored - line.corrected for line in lines)
    return wanted - sum(
        other.run.pouches
        for other in facts.sittings
        if other.product.form == sitting.product.form
        and other.crop.name == sitting.crop.name
        and other.session.status != "planned"
    )


def _time(facts: Facts, where: str, task: Task, *, step: Step, sitting: Sitting) -> Iterator[str]:
    """At least the crop file's work (what is packed together is judged by the run)."""
    if step.step in PACK_STEPS or [s.step for _, s in sitting.steps].count(step.step) > 1:
        return
    least = work_seconds(step, max(0.0, task.grams - HALF_GRAM))
    if kind_of(step.step).cooks and step.time is not None:
        least += step.time.value
        expected: dict[str, object] = {"minutes": step.time.value / 60}
        if step.heat_to is not None:
            expected["to_c"] = round(step.heat_to.value, 1)
        yield from disagreements(where, task, expected)
        pot = facts.pot(task.equipment[0]) if task.equipment else None
        if step.step == Simmer.name and pot is not None:
            grams = max(0.0, task.grams - HALF_GRAM)
            least += pot.cook_up_seconds(step, grams, sitting.crop.water_share.value)
    elif step.step == Soak.name and step.time is not None:
        yield from _soak_settings(where, task, step)
        ahead = step.time.value > LONGEST_HERE
        least += 0.0 if ahead else step.time.value * _fillings(facts, task, step)
    elif step.step == Chill.name:
        cooked = any(kind_of(s.step).cooks for s in sitting.product.steps)
        least = max(least, LEAST_CHILL[cooked])
    if seconds(task) < least - 1:
        yield (
            f"{where}: {task.id} lasts {seconds(task):.0f} s; {task.grams} g need "
            f"{least:.0f} s to {task.step}."
        )


def _soak_settings(where: str, task: Task, step: Step) -> Iterator[str]:
    """How long, in how much water, and whether before the session."""
    assert step.time is not None and step.water is not None
    expected: dict[str, object] = {"minutes": step.time.value / 60}
    if step.time.value > LONGEST_HERE:
        expected["ahead"] = AHEAD
    yield from disagreements(where, task, expected)
    water, wanted = number(task, "water_ml"), step.water.value * task.grams
    if water is None or abs(water - wanted) > step.water.value + 1:
        yield f"{where}: {task.id} soaks in {water} mL of water; {wanted:.0f} mL are wanted."


def _fillings(facts: Facts, task: Task, step: Step) -> int:
    """How often the basin must be filled for all that soaks: food in its water."""
    rooms = [bath.volume for bath in facts.season.bath if bath.name in task.equipment]
    water = step.water.value if step.water else 0.0
    return math.ceil(task.grams * (1 + water) / min(rooms)) if rooms else 1


def _packing_time(sitting: Sitting) -> Iterator[str]:
    """The run's packing groups share out the fixed part of a step; of a session cut short some of
    them are never begun."""
    for _, step in sitting.steps:
        if step.step not in PACK_STEPS or step.step in WAYS:
            continue  # containers set their time, not grams
        tasks = sitting.tasks_of(step.step)
        least = work_seconds(step, sitting.run.grams_packed)
        if sitting.session.cut_at is not None:
            least -= work_seconds(step, 0.0)
        planned = sum(seconds(task) for task in tasks)
        if tasks and planned < least - 1:
            yield (
                f"{sitting.where}: {planned:.0f} s are planned to {step.step}, "
                f"{sitting.run.grams_packed} g need {least:.0f} s."
            )


def _blanch(
    facts: Facts, sitting: Sitting, where: str, *, task: Task, step: Step, slow: dict[str, float]
) -> Iterator[str]:
    least = blanch_seconds(step, facts.season.household.altitude)
    yield from disagreements(where, task, {"clock": step.clock, "blanch_s": round(least)})
    pot = facts.pot(task.equipment[0]) if task.equipment else None
    if pot is None:
        yield f"{where}: {task.id} names no pot of the kitchen to blanch in."
        return
    yield from _wrong_way(facts, sitting, where, task=task, step=step)
    water_share = sitting.crop.water_share.value
    limit = pot.limit_grams(step, sitting.crop, sitting.product)
    if task.grams > limit + HALF_GRAM:
        yield f"{where}: {task.grams} g go into {pot.name}; {limit:.0f} g are its limit."
    back = 0.0
    if not over_steam(step):
        back = pot.return_seconds(max(0.0, task.grams - HALF_GRAM), water_share, step.piece)
    yield from _blanch_settings(where, task, step, limit=limit, back=back, pot=pot)
    if step.clock == "return to boil":
        least += back
    if seconds(task) < least - 1:
        yield (
            f"{where}: {task.id} lasts {seconds(task):.0f} s; {task.grams} g in {pot.name} "
            f"need {least:.0f} s, return to the boil and altitude included."
        )
    if back > ONE_MINUTE + 0.01:
        slow[sitting.run.product] = max(back, slow.get(sitting.run.product, 0.0))
        if pot.one_minute:
            yield (
                f"{where}: {task.grams} g take {back:.0f} s to boil again in {pot.name}, which "
                "must be back in one minute."
            )


def _wrong_way(
    facts: Facts, sitting: Sitting, where: str, *, task: Task, step: Step
) -> Iterator[str]:
    """A run is blanched in one way: evenings ahead as the household wants it."""
    if is_over_steam(task) != over_steam(step):
        yield f"{where}: {task.id} and the other batches are not all blanched in one way."
    ways = {w.steam for w in facts.season.want if facts.product_name(w.product) == sitting.name}
    if sitting.session.status == "planned" and ways and over_steam(step) not in ways:
        planned, wanted = ("over steam", "in water") if over_steam(step) else ("in water", STEAM)
        yield f"{where}: it is blanched {planned}, and {wanted} is wanted."


def _blanch_settings(
    where: str, task: Task, step: Step, *, limit: float, back: float, pot: Blancher
) -> Iterator[str]:
    """The written return may be a slower pot's, its water and limit a smaller pot's."""
    bounds = {
        "pot_limit_g": (task.grams, limit + HALF_GRAM),
        "water_ml": (0.0, (pot.steam_water if over_steam(step) else pot.water) + 1),
    }
    if not over_steam(step):
        bounds["return_s"] = (math.floor(back), math.inf)
    for key, (low, high) in bounds.items():
        value = number(task, key)
        if value is None:
            yield f'{where}: {task.id} does not name "{key}".'
        elif not low <= value <= high:
            wanted = f"at least {low:.0f}" if value < low else f"at most {high:.0f}"
            yield f"{where}: {task.id} says {key} = {value:g}; it must be {wanted}."
    written = number(task, "return_s")
    if step.clock == "return to boil" and written is not None and step.time is not None:
        least = written + step.time.value
        if seconds(task) < least - 1:
            yield (
                f"{where}: {task.id} lasts {seconds(task):.0f} s, less than its own return to "
                f"the boil and blanching time, {least:.0f} s."
            )


def _cool(facts: Facts, sitting: Sitting, where: str, *, task: Task, step: Step) -> Iterator[str]:
    blanch = next((s for s in sitting.product.steps if s.step == Blanch.name), None)
    if step.ratio is None or blanch is None:
        return
    least = step.ratio.value * blanch_seconds(blanch, facts.season.household.altitude)
    yield from disagreements(where, task, {"cool_s": round(least)})
    if seconds(task) < least - 1:
        yield f"{where}: {task.id} cools for {seconds(task):.0f} s; {least:.0f} s are needed."


def _load(facts: Facts, where: str, task: Task, *, step: Step) -> Iterator[str]:
    """What an oven, a pot to cook in or a pan in the bath holds, in g."""
    name = task.equipment[0] if task.equipment else None
    limits: dict[str, dict[str, float]] = {
        Roast.name: {oven.name: oven.trays * oven.tray_load for oven in facts.season.oven},
        Simmer.name: {pot.name: cooked_limit(pot.volume, step) for pot in facts.season.pot},
        Chill.name: {bath.name: CHILL_SHARE * bath.volume for bath in facts.season.bath},
    }
    limit = limits.get(step.step, {}).get(name or "", math.inf)
    if task.grams - HALF_GRAM > limit:
        yield f"{where}: {task.grams} g to {step.step} are more than {name} holds, {limit:.0f} g."
