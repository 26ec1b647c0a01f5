"""What of a season is freed while the rest is held (large neighbourhood search).

Each kind draws options of which the runs may change: in a stretch of time, of some foods, where the
linear relaxation differs from the plan (Danna, Rothberg and Le Pape 2005, Mathematical Programming
102:71), in windows here and there, and of one freezer.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Option, Problem

Free = frozenset[int]
"""Numbers of the options that may change."""
UNSURE = 0.3
"""Pouches by which an option counts as differing from the relaxation at random, so that no two
draws are the same."""


@dataclass(frozen=True)
class Around:
    """What neighbourhoods are drawn from: the season, the plan, and each option's pouches in the
    linear relaxation."""

    problem: Problem
    choice: Choice
    in_parts: Mapping[int, float]
    draw: random.Random


def stretch(around: Around, share: float) -> Free:
    """A share of the season's windows in a row."""
    count = len(around.problem.windows)
    length = max(4, round(count * share))
    first = around.draw.randrange(-(length // 2), max(1, count - length // 2))
    return touching(around.problem, range(first, first + length))


def some_foods(around: Around, share: float) -> Free:
    """A share of the products, all season."""
    count = len(around.problem.demands)
    drawn = set(around.draw.sample(range(count), min(count, max(2, round(count * share)))))
    return frozenset(o.number for o in around.problem.options if o.demand in drawn)


def where_parts_differ(around: Around, share: float) -> Free:
    """The share of all options that differ most from the relaxation."""

    def differs(option: Option) -> float:
        now = around.choice.pouches.get(option.number, 0)
        unsure = UNSURE * around.draw.random()
        return -abs(around.in_parts.get(option.number, 0.0) - now) - unsure

    order = sorted(around.problem.options, key=differs)
    return frozenset(o.number for o in order[: max(1, round(share * len(order)))])


def here_and_there(around: Around, share: float) -> Free:
    """A share of the windows, drawn one by one."""
    count = len(around.problem.windows)
    drawn = around.draw.sample(range(count), min(count, max(3, round(count * share))))
    return touching(around.problem, drawn)


def one_freezer(around: Around, share: float) -> Free:
    """What goes to one freezer in a stretch of twice the share: a household of several that share a
    kitchen."""
    names = [freezer.name for freezer in around.problem.kitchen.freezers]
    name = around.draw.choice(names) if names else None
    options = around.problem.options
    near = stretch(around, min(1.0, 2 * share))
    return frozenset(i for i in near if options[i].freezer == name)


KINDS: Mapping[str, Callable[[Around, float], Free]] = {
    "stretch": stretch,
    "foods": some_foods,
    "parts": where_parts_differ,
    "windows": here_and_there,
    "freezer": one_freezer,
}


def kinds_for(problem: Problem) -> list[str]:
    """The kinds that make sense: one freezer alone is the whole season."""
    several = len(problem.kitchen.freezers) > 1
    return [name for name in KINDS if name != "freezer" or several]


def touching(problem: Problem, windows: Sequence[int] | range) -> Free:
    """The options with a sitting in one of the windows."""
    free = set(windows)
    return frozenset(o.number for o in problem.options if any(w in free for w, _ in o.sittings()))
