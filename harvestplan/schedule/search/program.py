"""A whole-number program: variables, rows, and a sum to make least."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from harvestplan.schedule.rules.row import Sum, Terms, Variable


@dataclass(frozen=True)
class Bounds:
    """`least` ≤ Σ weight · variable ≤ `most`; None where there is no such end."""

    terms: Terms
    least: int | None
    most: int | None

    def keeps(self, values: Sequence[int]) -> bool:
        """Whether the values lie within."""
        total = sum(weight * values[number] for number, weight in self.terms.items())
        return (self.least is None or self.least <= total) and (
            self.most is None or total <= self.most
        )


@dataclass(frozen=True)
class Program:
    """Make `goal` the least with all `rows` kept."""

    variables: Sequence[Variable]
    rows: Sequence[Bounds]
    goal: Sum
