"""What is decided: which lots go to which windows as which products, and what does not fit."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from harvestplan.kitchen.layout import Sitting
from harvestplan.schedule.statement.problem import Problem


@dataclass(frozen=True)
class Cut:
    """Runs that do not fit together in `room` seconds with `hands`: at least one must shrink.

    `runs` are (demand, sitting, pouches). `proven` where the minute model proved it.
    """

    runs: tuple[tuple[int, Sitting, int], ...]
    room: int
    hands: int
    proven: bool


@dataclass(frozen=True)
class Together:
    """What runs of one or two products come to at most in each session of these `windows`, which
    are alike: Σ weight · pouches ≤ `most`. `weights` are by (demand, sitting)."""

    windows: tuple[int, ...]
    weights: tuple[tuple[tuple[int, Sitting], int], ...]
    most: int


@dataclass(frozen=True)
class Choice:
    """A solution: pouches and shares (lot number → raw grams) of each option used."""

    pouches: dict[int, int]
    shares: dict[int, dict[int, int]]


def made_by_demand(problem: Problem, choice: Choice) -> Counter[int]:
    """Pouches of each demand, by its number."""
    made: Counter[int] = Counter()
    for number, pouches in choice.pouches.items():
        made[problem.options[number].demand] += pouches
    return made


def left_over(problem: Problem, choice: Choice) -> list[int]:
    """Grams of each lot that the choice takes nothing of."""
    left = list(problem.free)
    for shares in choice.shares.values():
        for lot, grams in shares.items():
            left[lot] -= grams
    return left


def windows_used(problem: Problem, choice: Choice) -> set[int]:
    """The windows in which the choice has a sitting."""
    return {w for o in choice.pouches for w, _ in problem.options[o].sittings()}
