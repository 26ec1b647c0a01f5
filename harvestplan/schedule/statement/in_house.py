"""Food in the house that a new plan had better not let spoil for the sake of what may yet come.

What is picked is sure, what is forecast is not. Where the published plan's evenings would leave a
want short in a poor year, what lies in the house counts, and to leave it is the dearest change.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from harvestplan.schedule.statement.problem import EarlierRun, Problem, max_pouches


@dataclass(frozen=True)
class InHouse:
    """Food of one crop that is picked or bought: numbers of its lots, and how much of them, in g,
    the wants could still take; `raw` g make a pouch."""

    lots: frozenset[int]
    grams: int
    raw: int


def needed_from_house(problem: Problem) -> tuple[InHouse, ...]:
    """The food in the house of each crop whose wants a poor year would leave short."""
    if problem.earlier is None:
        return ()
    made = _made_in_a_poor_year(problem, problem.earlier.runs)
    by_crop: dict[str, list[int]] = {}
    for number, demand in enumerate(problem.demands):
        by_crop.setdefault(demand.process.crop.name, []).append(number)
    found = []
    for crop, numbers in sorted(by_crop.items()):
        lots = frozenset(i for i in _lots_of(problem, crop) if _in_house(problem, i))
        if lots and any(made[d] < problem.demands[d].portions for d in numbers):
            demands = [problem.demands[d] for d in numbers]
            wanted = sum(d.process.raw(d.portions) for d in demands)
            grams = min(wanted, sum(problem.free[i] for i in lots))
            found.append(InHouse(lots, grams, min(d.process.raw_per_portion for d in demands)))
    return tuple(found)


def _made_in_a_poor_year(problem: Problem, runs: tuple[EarlierRun, ...]) -> Counter[int]:
    """Pouches by demand that the published runs would make of what is in the house and the low end
    of the forecast, in order of time, what spoils first first."""
    windows = {window.start for window in problem.windows}
    numbers = {demand.process.name: d for d, demand in enumerate(problem.demands)}
    left = {i: _poor_grams(problem, i) for i in range(len(problem.lots))}
    made: Counter[int] = Counter()
    for run in sorted(runs, key=lambda run: run.first):
        demand = numbers.get(run.product)
        if demand is None or run.first not in windows:
            continue
        process, day = problem.demands[demand].process, run.first.date()
        fresh = [
            i
            for i in _lots_of(problem, process.crop.name)
            if problem.lots[i].ready <= day <= problem.lots[i].keep_until
        ]
        pouches = min(run.pouches, max_pouches(process, sum(left[i] for i in fresh)))
        made[demand] += pouches
        need = process.raw(pouches)
        for i in sorted(fresh, key=lambda i: problem.lots[i].keep_until):
            taken = min(left[i], need)
            left[i] -= taken
            need -= taken
    return made


def _lots_of(problem: Problem, crop: str) -> Iterator[int]:
    return (i for i, lot in enumerate(problem.lots) if lot.crop == crop and problem.free[i] > 0)


def _in_house(problem: Problem, number: int) -> bool:
    lot = problem.lots[number]
    return lot.ready <= problem.as_of <= lot.keep_until and (lot.picked or lot.planting is None)


def _poor_grams(problem: Problem, number: int) -> int:
    """What may be preserved of a lot where it comes in at the low end of its forecast, g."""
    lot, free = problem.lots[number], problem.free[number]
    return free if _in_house(problem, number) else free * lot.low_grams // max(1, lot.grams)
