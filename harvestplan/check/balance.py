"""V10: every gram and every portion is accounted for once."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator

from harvestplan.check.facts import PACK_STEPS, Facts, Finding, Sitting
from harvestplan.plan.models import Balance


def check_balance(facts: Facts) -> Iterator[Finding]:
    """V10."""
    for rule in (_once, _lots, _crops, _picks, _picked_for, _second_sittings, _wants):
        for message in rule(facts):
            yield Finding("V10", message)
    for sitting in facts.sittings:
        for message in _grams_in(sitting):
            yield Finding("V10", message)
    for sitting in facts.ahead:
        for message in (*_chilled(sitting), *_grams_packed(sitting), *_through(sitting)):
            yield Finding("V10", message)


def _once(facts: Facts) -> Iterator[str]:
    runs = [run.id for session in facts.sessions for run in session.runs]
    tasks = [f"{session.uid}: {task.id}" for session in facts.sessions for task in session.tasks]
    named: dict[str, Iterable[str]] = {
        "lot": (lot.id for lot in facts.plan.lots),
        "session": (session.uid for session in facts.plan.sessions),
        "run": runs,
        "task": tasks,
    }
    for kind, names in named.items():
        for name, count in Counter(names).items():
            if count > 1:
                yield f'The {kind} "{name}" stands {count} times in the plan.'


def _lots(facts: Facts) -> Iterator[str]:
    used: Counter[str] = Counter()
    for sitting_run, session in ((r, s) for s in facts.sessions for r in s.runs):
        where = f"{facts.clock(session.start)}, {sitting_run.product}"
        found = facts.library.find_product(sitting_run.product)
        if found is not None and sitting_run.crop != found[0].name:
            yield f"{where}: the run's crop is {sitting_run.crop}."
        for share in sitting_run.lots:
            used[share.lot] += share.grams
            lot = facts.lots.get(share.lot)
            if lot is None:
                yield f'{where}: there is no lot "{share.lot}".'
            elif found is not None and lot.crop != found[0].name:
                yield f"{where}: the lot {lot.id} is {lot.crop}."
    for name, grams in used.items():
        lot = facts.lots.get(name)
        if lot is not None and grams > lot.grams:
            yield f"{grams} g of the lot {name} are used; it has {lot.grams} g."


def _crops(facts: Facts) -> Iterator[str]:
    grown: Counter[str] = Counter()
    preserved: Counter[str] = Counter()
    for lot in facts.plan.lots:
        grown[lot.crop] += lot.grams
    for session in facts.sessions:
        for share in (share for run in session.runs for share in run.lots):
            if share.lot in facts.lots:
                preserved[facts.lots[share.lot].crop] += share.grams
    rows = Counter(row.crop for row in facts.plan.balance)
    for crop in sorted(grown.keys() | rows.keys()):
        if rows[crop] != 1:
            yield f"{crop} has {rows[crop]} lines in the balance; it must have one."
    for row in facts.plan.balance:
        yield from _crop_row(row, grown[row.crop], preserved[row.crop])


def _crop_row(row: Balance, grown: int, preserved: int) -> Iterator[str]:
    if row.grams != grown:
        yield f"{row.crop}: the balance has {row.grams} g, the lots have {grown} g."
    if row.preserved_grams != preserved:
        yield f"{row.crop}: the balance preserves {row.preserved_grams} g, the runs {preserved} g."
    parts = row.preserved_grams + row.fresh_grams + row.surplus_grams
    if parts != row.grams:
        yield (
            f"{row.crop}: preserved, fresh and surplus are {parts} g together, not {row.grams} g."
        )


def _picks(facts: Facts) -> Iterator[str]:
    lots: Counter[tuple[str, str]] = Counter()
    picks: Counter[tuple[str, str]] = Counter()
    for lot in facts.plan.lots:
        if lot.planting is not None:
            lots[lot.planting, lot.crop] += lot.grams
    for pick in facts.plan.picks:
        picks[pick.planting, pick.crop] += pick.grams
    for planting, crop in sorted(lots.keys() | picks.keys()):
        if picks[planting, crop] != lots[planting, crop]:
            yield (
                f"{planting}: the picks of {crop} are {picks[planting, crop]} g together, the "
                f"lots {lots[planting, crop]} g."
            )


def _picked_for(facts: Facts) -> Iterator[str]:
    """What is picked for a session is what its runs take of the planting."""
    picked = Counter[tuple[str, str]]()
    taken = Counter[tuple[str, str]]()
    for pick in facts.plan.picks:
        if pick.session is not None:
            picked[pick.session, pick.planting] += pick.grams
    clocks = {session.uid: facts.clock(session.start) for session in facts.sessions}
    for session in facts.sessions:
        for share in (share for run in session.runs for share in run.lots):
            lot = facts.lots.get(share.lot)
            if lot is not None and lot.planting is not None:
                taken[session.uid, lot.planting] += share.grams
    for uid, planting in sorted(picked.keys() | taken.keys()):
        if uid in clocks and picked[uid, planting] != taken[uid, planting]:
            yield (
                f"{clocks[uid]}: {picked[uid, planting]} g of {planting} are picked for it, its "
                f"runs take {taken[uid, planting]} g."
            )


def _second_sittings(facts: Facts) -> Iterator[str]:
    named = Counter(s.run.second_sitting_of for s in facts.sittings if s.run.second_sitting_of)
    firsts = {sitting.run.id: sitting for sitting in facts.sittings if sitting.kind == "first"}
    for name, count in named.items():
        if name not in firsts:
            yield f'A second sitting names "{name}", which is no first sitting of the plan.'
        elif count > 1:
            yield f"{firsts[name].where}: {count} second sittings pack the same food."
    for sitting in facts.sittings:
        if sitting.kind != "second":
            continue
        if sitting.run.lots:
            yield f"{sitting.where}: a second sitting takes no lots."
        if sitting.first is not None and sitting.first.product != sitting.run.product:
            yield f"{sitting.where}: the first sitting made {sitting.first.product}."


def _grams_in(sitting: Sitting) -> Iterator[str]:
    run = sitting.run
    if sitting.kind != "second":
        taken = sum(share.grams for share in run.lots)
        if run.grams_in != taken:
            yield f"{sitting.where}: {run.grams_in} g go in, the lots give {taken} g."


def _chilled(sitting: Sitting) -> Iterator[str]:
    if sitting.kind == "second" and sitting.first is not None and sitting.pause is not None:
        chilled = sitting.raw * sitting.share_before(sitting.pause + 1)
        if abs(sitting.run.grams_in - chilled) > 1:
            yield (
                f"{sitting.where}: {sitting.run.grams_in} g go in, the first sitting put away "
                f"{chilled:.0f} g."
            )


def _grams_packed(sitting: Sitting) -> Iterator[str]:
    run = sitting.run
    if sitting.kind == "first":
        return
    made = sitting.raw * sitting.share_before(len(sitting.product.steps))
    if run.grams_packed > made + 1:
        yield f"{sitting.where}: {run.grams_packed} g are packed, the chain leaves {made:.0f} g."
    if sitting.crop.kind == "grown":
        full = run.pouches * run.portion_grams
        if run.grams_packed != full:
            yield (
                f"{sitting.where}: {run.grams_packed} g are packed, {run.pouches} full portions "
                f"are {full} g."
            )
    if run.grams_packed <= made - max(run.portion_grams, 1):
        yield (
            f"{sitting.where}: only {run.grams_packed} of {made:.0f} g are packed; a whole "
            "portion is left over."
        )


def _through(sitting: Sitting) -> Iterator[str]:
    """The tasks of each step carry all of the run's food, no more and no less."""
    names = [step.step for _, step in sitting.steps]
    for index, step in sitting.steps:
        tasks = sitting.tasks_of(step.step)
        if not tasks or names.count(step.step) > 1:
            continue
        carried = sum(task.grams for task in tasks)
        if step.step in PACK_STEPS:
            expected, slack = float(sitting.run.grams_packed), 0.0
        else:
            expected = sitting.raw * sitting.share_before(index)
            slack = len(tasks) / 2 + 0.01  # each task states whole grams
        if math.fabs(carried - expected) > slack:
            yield (
                f"{sitting.where}: {carried} g go through {step.step}; the run has "
                f"{expected:.0f} g."
            )


def _wants(facts: Facts) -> Iterator[str]:
    """What is wanted no more may have been put by while it was."""
    made: Counter[str] = Counter()
    for sitting in facts.sittings:
        made[sitting.name] += sitting.run.pouches
    ahead = {sitting.name for sitting in facts.ahead}
    stored: Counter[str] = Counter()
    for item in facts.season.stored:
        stored[facts.product_name(item.product)] += item.portions
    wanted = {facts.product_name(want.product): want.portions for want in facts.season.want}
    lines = Counter(line.product for line in facts.plan.wants)
    for product in sorted({*wanted, *lines, *ahead}):
        if lines[product] != 1 or product not in wanted:
            yield (
                f"{product}: wanted {int(product in wanted)} times, with {lines[product]} "
                f"lines in the plan's wants and {made[product]} pouches."
            )
    for line in facts.plan.wants:
        counted = {"planned": made[line.product], "stored": stored[line.product]}
        if line.product in wanted:
            counted["wanted"] = wanted[line.product]
        for key, value in counted.items():
            if getattr(line, key) != value:
                yield (
                    f"{line.product}: {key} is {getattr(line, key)} portions, counted anew it "
                    f"is {value}."
                )
        short = max(0, line.wanted - line.planned - line.stored - line.corrected)
        if line.short != short:
            yield f"{line.product}: short is {line.short} portions, it must be {short}."
