"""An independent judge of a session's times: it reads the session's statement and nothing else."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from harvestplan.kitchen.layout import TaskSpec
from harvestplan.schedule.session.tasks import RunTasks, SessionTasks, TaskTime

POTFULS = 3
"""One water is used two or three times (KSU MF1181)."""
Times = Mapping[str, TaskTime]


def faults(asked: SessionTasks, times: Times) -> list[str]:
    """Every rule the times break, judged from the session's statement alone."""
    every = {task.key: task for task in (*asked.tasks, *asked.optional)}
    missing = [task.key for task in asked.tasks if task.key not in times]
    strange = [key for key in times if key not in every]
    if missing or strange:
        return [f"no time for {missing}, and times for {strange}"]
    done = [every[key] for key in times]
    return [
        *_each_task(asked, done, times),
        *_order(asked, times, every),
        *_waits(asked, times, every),
        *_pots(asked, times, every),
        *_meat(asked, times, every),
    ]


def _each_task(asked: SessionTasks, done: list[TaskSpec], times: Times) -> Iterator[str]:
    """Where each task lies, what it holds, and who shares what with it."""
    spans = {t.key: (times[t.key].start, times[t.key].start + t.seconds) for t in done}
    for one in done:
        start, end = spans[one.key]
        held = times[one.key].unit
        if start < 0 or end > asked.length:
            yield f"{one.key} lies outside the session"
        if (held is None) != (not one.units) or (held and held not in one.units):
            yield f"{one.key} holds {held}"
        if one.key in asked.fixed:
            if asked.fixed[one.key] != times[one.key]:
                yield f"{one.key} stands already, but elsewhere"
        elif start < asked.earliest:
            yield f"{one.key} lies in the past"
        if one.seconds:
            now = [t for t in done if spans[t.key][0] <= start < spans[t.key][1]]
            if asked.hands is not None and sum(t.hands for t in now) > asked.hands:
                yield f"too few hands when {one.key} starts"
            for pool in asked.pools:
                if sum(pool.uses.get(t.key, 0) for t in now) > pool.capacity:
                    yield f"a pool is empty when {one.key} starts"
        for other in done:
            if held and other.key < one.key and times[other.key].unit == held:
                theirs = spans[other.key]
                if start < theirs[1] and theirs[0] < end:
                    yield f"{one.key} and {other.key} both hold {held}"


def _order(asked: SessionTasks, times: Times, every: Mapping[str, TaskSpec]) -> Iterator[str]:
    for link in asked.links:
        before, after = times[link.before], times[link.after]
        gap = after.start - before.start - every[link.before].seconds
        if link.at_start and after.start != before.start + link.lag:
            yield f"{link} begin {after.start - before.start} s apart"
        elif not link.at_start and (gap < 0 or (link.no_wait and gap)):
            yield f"{link} has a gap of {gap}"
        if link.same_unit and before.unit != after.unit:
            yield f"{link} are in {before.unit} and {after.unit}"


def _waits(asked: SessionTasks, times: Times, every: Mapping[str, TaskSpec]) -> Iterator[str]:
    for limit in asked.limits:
        waited = sum(
            times[after].start - times[before].start - every[before].seconds
            for before, after in limit.waits
        )
        if waited > limit.seconds:
            yield f"food waits {waited} of {limit.seconds}"


@dataclass
class _Water:
    """A pot's water: over steam, boiling from when on, for how many potfuls, the strongest."""

    steam: bool
    boils: int
    served: int = 0
    strength: int = 0


def _pots(asked: SessionTasks, times: Times, every: Mapping[str, TaskSpec]) -> Iterator[str]:
    """Each pot that may hold water, followed from task to task."""
    for name in sorted({each.pot for each in asked.fillings}):
        here = [key for key in times if times[key].unit == name]
        yield from _follow(asked, sorted(here, key=lambda key: times[key].start), times, every)


def _follow(
    asked: SessionTasks, keys: list[str], times: Times, every: Mapping[str, TaskSpec]
) -> Iterator[str]:
    fills = {filling.fill.key: filling for filling in asked.fillings}
    heats = {filling.heat.key for filling in asked.fillings}
    empties = {filling.empty.key: filling.fill.key for filling in asked.fillings}
    water: _Water | None = None
    filled = ""
    for key in keys:
        start = times[key].start
        if key in fills:
            if water is not None:
                yield f"{key} fills a pot of water"
            heat = fills[key].heat
            heated = start + fills[key].fill.seconds
            if heat.key not in times or times[heat.key].start != heated:
                yield f"{key} is not heated at once"
            water, filled = _Water(fills[key].steam, heated + heat.seconds), key
        elif key in heats:
            if water is None:
                yield f"{key} heats no water"
        elif key in empties:
            if water is None or empties[key] != filled:
                yield f"{key} empties other water"
            if water is not None and water.boils > start:
                yield f"{key} empties water that is not hot yet"
            water = None
        elif key in asked.potfuls:
            yield from _blanch(asked, key, water, start=start)
        else:
            if water is not None:
                yield f"{key} cooks in a pot of water"
            water = None


def _blanch(asked: SessionTasks, key: str, water: _Water | None, *, start: int) -> Iterator[str]:
    potful = asked.potfuls[key]
    if water is None or water.boils > start:
        yield f"{key} is put where no water boils"
        return
    if water.steam != potful.steam:
        yield f"{key} is put into water for the other way"
    if potful.strength < water.strength:
        yield f"{key} is put into water that is too strong for it"
    water.served, water.strength = water.served + 1, max(water.strength, potful.strength)
    if water.served > POTFULS:
        yield f"{key} is put into water that served {POTFULS}"


def _meat(asked: SessionTasks, times: Times, every: Mapping[str, TaskSpec]) -> Iterator[str]:
    """Each other food is packed before what is raw is begun; or, where it is not eaten raw, begun
    after all that and a cleaning."""
    raw = [key for run in asked.runs if run.food.raw_meat for key in run.open]
    if not raw:
        return
    begins = min(times[key].start for key in raw)
    ends = max(times[key].start + every[key].seconds for key in raw)
    clean = asked.sanitising
    cleaned = None if clean is None or clean.key not in times else times[clean.key].start
    if cleaned is not None and cleaned < ends:
        yield "what is raw goes on after the cleaning"
    for run in asked.runs:
        if run.food.raw_meat or not run.open:
            continue
        first, last = _span(run, times, every)
        if last <= begins:
            continue
        if run.food.eaten_raw:
            yield f"{run.food.crop}, eaten raw, comes after raw meat"
        elif cleaned is None or clean is None or first < cleaned + clean.seconds:
            yield f"{run.food.crop} comes after raw meat, and nothing is cleaned between"


def _span(run: RunTasks, times: Times, every: Mapping[str, TaskSpec]) -> tuple[int, int]:
    starts = [times[key].start for key in run.open]
    return min(starts), max(times[key].start + every[key].seconds for key in run.open)
