"""V7 and V8: what each freezer takes in 24 hours, and what lies in it on every date."""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence

from harvestplan.check.facts import Facts, Finding, Sitting, disagreements, number
from harvestplan.check.freezer_count import Day, Freezing, freezing_loads, opened_spaces, recount
from harvestplan.kitchen.freezing_capacity import freezing_limit
from harvestplan.kitchen.pouches import content_volume, footprint, space
from harvestplan.kitchen.steps.freeze import Freeze
from harvestplan.kitchen.steps.tray_freeze import TrayFreeze
from harvestplan.plan.models import FreezerDay, Task
from harvestplan.plan.spans import DAY


def check_freezing(facts: Facts) -> Iterator[Finding]:
    """V7: in any 24 hours from a freezing's start the freezer's limit holds."""
    loads: dict[str, list[Freezing]] = defaultdict(list)
    for each in freezing_loads(facts):
        loads[each.freezer].append(each)
    for sitting in facts.ahead:
        for task in sitting.tasks_of(Freeze.name):
            for message in _area(facts, sitting, task):
                yield Finding("V7", message)
    for freezer in facts.season.freezer:
        limit = freezing_limit(freezer)
        for first in sorted(loads[freezer.name], key=lambda load: load.start):
            begun = ((load, load.start - first.start) for load in loads[freezer.name])
            near = [load for load, later in begun if dt.timedelta() <= later < DAY]
            grams = sum(load.grams for load in near)
            if grams > limit and max(load.day for load in near) >= facts.plan.as_of:
                yield Finding(
                    "V7",
                    f"{freezer.name} takes {grams} g in the 24 hours from "
                    f"{facts.clock(first.start)}; {limit} g are its limit.",
                )


def _area(facts: Facts, sitting: Sitting, task: Task) -> Iterator[str]:
    """The area on the trays that a task states."""
    pouch, count = facts.pouch(sitting.run.pouch), number(task, "pouches")
    if pouch is None or count is None:
        return
    volume = content_volume(sitting.product, sitting.run.portion_grams, pouch)
    frozen = any(step.step == TrayFreeze.name for step in sitting.product.steps)
    area = 0 if frozen else math.ceil(footprint(pouch, volume) * count / 100)
    yield from disagreements(sitting.where, task, {"area_cm2": area})


def check_space(facts: Facts) -> Iterator[Finding]:
    """V8: the freezer's rows agree with a recount, and the contents fit."""
    for message in (*_opening(facts), *_freeze_tasks(facts), *_rows(facts)):
        yield Finding("V8", message)


def check_opening(
    facts: Facts, in_store: Mapping[tuple[str, str], int] | None
) -> Iterator[Finding]:
    """V8: the plan opens with what is known to lie in each freezer on its day."""
    if facts.plan.opening is None or in_store is None:
        return
    opened: Counter[tuple[str, str]] = Counter()
    for row in facts.plan.opening:
        opened[row.product, row.freezer] += row.portions
    for product, freezer in sorted(opened.keys() | in_store.keys()):
        known = in_store.get((product, freezer), 0)
        if opened[product, freezer] != known:
            yield Finding(
                "V8",
                f"The plan opens with {opened[product, freezer]} portions of {product} in "
                f"{freezer}; by the diary there are {known}. Plan again.",
            )


def _opening(facts: Facts) -> Iterator[str]:
    """What the plan says lay in the freezers: freezers that there are, space as the pouches take,
    and no pouch of a session that is still to come."""
    if facts.plan.opening is None:
        return
    spaces = opened_spaces(facts)
    for row in facts.plan.opening:
        if facts.freezer(row.freezer) is None:
            yield f"{row.product} lies in {row.freezer!r}, which is no freezer of the kitchen."
        each = spaces.get(row.product)
        if each is not None and row.volume_ml != each * row.portions:
            yield (
                f"{row.product} in {row.freezer}: {row.portions} portions take "
                f"{each * row.portions} mL, the plan says {row.volume_ml} mL."
            )
    for session in facts.sessions:
        if session.status == "done" and facts.day(session.start) > facts.plan.as_of:
            yield f"{facts.clock(session.start)}: a session is done that is still to come."


def _freeze_tasks(facts: Facts) -> Iterator[str]:
    for sitting in facts.ahead:
        pouch = facts.pouch(sitting.run.pouch)
        for task in sitting.tasks_of(Freeze.name):
            name = task.settings.get("freezer")  # as it is written, to be told so
            if facts.freezer(name) is None:
                yield (
                    f"{sitting.where}: {task.id} goes to {name!r}, which is no freezer of the "
                    "kitchen."
                )
            expected: dict[str, object] = {"grams": task.grams}
            count = number(task, "pouches")
            if pouch is not None and count is not None:
                each = space(pouch, sitting.product, sitting.run.portion_grams)
                expected["volume_ml"] = round(each * count)
            yield from disagreements(sitting.where, task, expected)


def _rows(facts: Facts) -> Iterator[str]:
    counted = recount(facts)
    written: dict[tuple[dt.date, str], FreezerDay] = {}
    for row in facts.plan.freezer:
        if (row.date, row.name) in written:
            yield f"{row.name} has two rows for {row.date}."
        written[row.date, row.name] = row
    for freezer in facts.season.freezer:
        days = {day: row for (day, name), row in counted.items() if name == freezer.name}
        rows = {day: row for (day, name), row in written.items() if name == freezer.name}
        yield from _dates(freezer.name, sorted(days.keys() - rows.keys()), "is missing")
        yield from _dates(freezer.name, sorted(rows.keys() - days.keys()), "is one too many")
        both = sorted(days.keys() & rows.keys())
        yield from _full(freezer.name, days, int(freezer.volume))
        yield from _differ(
            freezer.name, "used_ml", both, rows=rows, counted={d: days[d].used for d in both}
        )
        yield from _differ(
            freezer.name, "load_grams", both, rows=rows, counted={d: days[d].load for d in both}
        )
        for key, value in (
            ("capacity_ml", int(freezer.volume)),
            ("load_limit_grams", freezing_limit(freezer)),
        ):
            yield from _differ(
                freezer.name, key, both, rows=rows, counted=dict.fromkeys(both, value)
            )
    names = {freezer.name for freezer in facts.season.freezer}
    for stray in sorted({row.name for row in facts.plan.freezer} - names):
        yield f'The plan has rows for "{stray}", which is no freezer of the kitchen.'


def _dates(name: str, days: Sequence[dt.date], what: str) -> Iterator[str]:
    if days:
        yield f"{name}: the row for {days[0]} {what}{_more(days)}."


def _full(name: str, days: dict[dt.date, Day], room: int) -> Iterator[str]:
    over = [day for day, row in sorted(days.items()) if row.used > room]
    if over:
        most = max(days[day].used for day in over)
        yield (
            f"{name} is over-full on {over[0]}: {days[over[0]].used} mL of {room} mL"
            f"{_more(over)}; at most {most} mL."
        )


def _differ(
    name: str,
    key: str,
    days: Sequence[dt.date],
    *,
    rows: dict[dt.date, FreezerDay],
    counted: dict[dt.date, int],
) -> Iterator[str]:
    wrong = [day for day in days if getattr(rows[day], key) != counted[day]]
    if wrong:
        yield (
            f"{name} on {wrong[0]}: {key} is {getattr(rows[wrong[0]], key)}, counted anew it "
            f"is {counted[wrong[0]]}{_more(wrong)}."
        )


def _more(days: Sequence[dt.date]) -> str:
    return f", and so on {len(days) - 1} more dates" if len(days) > 1 else ""
