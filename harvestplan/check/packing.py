"""V6: portions fit their containers, pouches the machine, and the counts add up."""

from __future__ import annotations

import math
from collections.abc import Iterator

from harvestplan.check.facts import (
    Facts,
    Finding,
    Sitting,
    disagreements,
    number,
    portion_grams,
    seconds,
)
from harvestplan.inputs.season_kitchen import Pouch, Sealer
from harvestplan.kitchen.boxes import head_space
from harvestplan.kitchen.own_pace import pace_of
from harvestplan.kitchen.pouches import (
    ZIP_FILL,
    capacity,
    content_volume,
    fits_machine,
    per_cycle,
)
from harvestplan.kitchen.sealing import cycles
from harvestplan.kitchen.steps.close_pack import EACH, ClosePack
from harvestplan.kitchen.steps.freeze import Freeze
from harvestplan.kitchen.steps.portion import Portion
from harvestplan.kitchen.steps.seal import Seal
from harvestplan.plan.models import Task


def check_packing(facts: Facts) -> Iterator[Finding]:
    """V6."""
    for message in _messages(facts):
        yield Finding("V6", message)


def _messages(facts: Facts) -> Iterator[str]:
    for sitting in facts.ahead:
        yield from _portion(facts, sitting)
        if sitting.kind == "first":
            yield from _packs_nothing(sitting)
            continue
        yield from _counts(sitting)
        pouch, sealer = facts.pouch(sitting.run.pouch), facts.season.machine
        if pouch is None:
            yield f'{sitting.where}: the kitchen has no pouch "{sitting.run.pouch}".'
            continue
        yield from _chosen(facts, sitting, pouch)
        yield from _fit(sitting, pouch, sealer)
        for task in sitting.tasks_of(Portion.name):
            yield from disagreements(sitting.where, task, _filled(sitting, pouch))
        if pouch.by_hand:
            yield from _closed(sitting, pouch)
        elif sealer is None:
            yield f"{sitting.where}: pouches are sealed and the kitchen has no sealer."
        else:
            for task in sitting.tasks_of(Seal.name):
                yield from _seal(facts, sitting, task, pouch=pouch, sealer=sealer)


def _chosen(facts: Facts, sitting: Sitting, pouch: Pouch) -> Iterator[str]:
    """A want that names its container gets it."""
    wants = [w for w in facts.season.want if facts.product_name(w.product) == sitting.name]
    named = {want.pouch for want in wants if want.pouch is not None}
    if named and pouch.name not in named:
        yield f"{sitting.where}: {min(named)} is wanted, it is packed in {pouch.name}."


def _filled(sitting: Sitting, pouch: Pouch) -> dict[str, object]:
    """What the filling of a container has to say: head space where hands close it, to the mm."""
    expected: dict[str, object] = {"pouch": pouch.name, "portion_g": sitting.run.portion_grams}
    if pouch.by_hand:
        expected["kind"] = pouch.kind
    if pouch.by_hand and sitting.product.storage == "freezer":
        head = ZIP_FILL if pouch.kind == "zip bag" else head_space(pouch, sitting.product)
        expected["head_mm"] = round(head * 1000)
    return expected


def _portion(facts: Facts, sitting: Sitting) -> Iterator[str]:
    wants = [w for w in facts.season.want if facts.product_name(w.product) == sitting.name]
    wanted = {portion_grams(sitting.product, want.portion) for want in wants}
    if wanted and sitting.run.portion_grams not in wanted:
        yield (
            f"{sitting.where}: portions of {sitting.run.portion_grams} g are planned, "
            f"{min(wanted)} g are wanted."
        )


def _packs_nothing(sitting: Sitting) -> Iterator[str]:
    run = sitting.run
    if run.pouches or run.grams_packed:
        yield (
            f"{sitting.where}: a first sitting packs nothing, but {run.pouches} pouches with "
            f"{run.grams_packed} g are planned."
        )


def _counts(sitting: Sitting) -> Iterator[str]:
    run = sitting.run
    if run.portion_grams == 0:
        yield f"{sitting.where}: the portion weighs nothing."
        return
    needed = math.ceil(run.grams_packed / run.portion_grams)
    if run.pouches != needed or run.pouches == 0:
        yield (
            f"{sitting.where}: {run.grams_packed} g in portions of {run.portion_grams} g fill "
            f"{needed} pouches; {run.pouches} are planned."
        )
    for step in (Portion.name, Seal.name, ClosePack.name, Freeze.name):
        tasks = sitting.tasks_of(step)
        counts = [number(task, "pouches") for task in tasks]
        for task, count in zip(tasks, counts, strict=True):
            if count is None:
                yield f'{sitting.where}: {task.id} does not name "pouches".'
        total = sum(count for count in counts if count is not None)
        if tasks and total != run.pouches:
            yield (
                f"{sitting.where}: {total:g} pouches are planned to {step}, the run has "
                f"{run.pouches}."
            )


def _closed(sitting: Sitting, pouch: Pouch) -> Iterator[str]:
    """Hands close one container after another."""
    each = EACH[pouch.kind] * pace_of(sitting.run).of(ClosePack.name)
    for task in sitting.tasks_of(ClosePack.name):
        yield from disagreements(sitting.where, task, {"kind": pouch.kind})
        least = each * max(0.0, number(task, "pouches") or 0.0)
        if seconds(task) < least - 1:
            yield (
                f"{sitting.where}: {task.id} lasts {seconds(task):.0f} s; to close them takes "
                f"{least:.0f} s."
            )


def _fit(sitting: Sitting, pouch: Pouch, sealer: Sealer | None) -> Iterator[str]:
    volume = content_volume(sitting.product, sitting.run.portion_grams, pouch)
    room = capacity(pouch, sitting.product)
    if volume > room + 1e-6:
        yield (
            f"{sitting.where}: a portion takes {volume:.0f} mL; the {pouch.kind} {pouch.name} may "
            f"hold {room:.0f} mL."
        )
    if sealer is not None and not fits_machine(pouch, sealer):
        yield (
            f"{sitting.where}: the pouch {pouch.name} does not fit the bar or chamber of "
            f"{sealer.name}."
        )


def _seal(
    facts: Facts, sitting: Sitting, task: Task, *, pouch: Pouch, sealer: Sealer
) -> Iterator[str]:
    count = number(task, "pouches")
    if count is None or count < 0:
        return  # said with the counts
    cycle = facts.cycle(sitting, pouch, task)
    together = per_cycle(pouch, sealer)
    closings = cycles(math.ceil(count), together)
    expected: dict[str, object] = {
        "per_cycle": together,
        "cycles": closings,
        "pump_down_s": round(cycle.pump_down),
    }
    yield from disagreements(sitting.where, task, expected)
    each = cycle.seconds(sealer, together)
    if seconds(task) < closings * each - 1:
        yield (
            f"{sitting.where}: {task.id} lasts {seconds(task):.0f} s; {closings} cycles of "
            f"{each:.0f} s are needed."
        )
