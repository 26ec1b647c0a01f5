"""What a rule says in numbers: rows over variables, known to no solver."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from harvestplan.schedule.statement.lower_line import lower_line

Terms = Mapping[int, int]
"""Weights by the number of the variable."""


@dataclass(frozen=True)
class Variable:
    """A whole number that is decided, from `least` to `most`."""

    name: str
    least: int
    most: int


@dataclass(frozen=True)
class Sum:
    """Σ weight · variable + constant."""

    terms: Terms
    constant: int = 0


@dataclass(frozen=True)
class RunLine:
    """What an option's run takes of a row: `exact` by its pouches, and on the straight line below
    that `fixed` + `slope` · pouches."""

    option: int
    exact: Callable[[int], int]
    fixed: int
    slope: int

    @staticmethod
    def below(option: int, most: int, exact: Callable[[int], int]) -> RunLine:
        """The line below what runs of one to `most` pouches take."""
        return RunLine(option, exact, *lower_line(tuple(exact(n) for n in range(1, most + 1))))

    def exactly(self, pouches: int) -> int:
        """Nothing where nothing is made."""
        return self.exact(pouches) if pouches else 0


@dataclass(frozen=True)
class Row:
    """`least` ≤ Σ weight · variable + what runs take ≤ `most`; None where there is no such end.

    Attributes
    ----------
    rule, of
        The rule that it belongs to, and what is limited: "freezing", "chest".
    reason
        What a household reads where it stands in the way of more; "" for a row that only says what
        its variables mean.
    runs
        What each run takes of it. Solvers read the straight lines, slack is asked of the values.
    """

    rule: str
    of: str
    terms: Terms
    most: int | None = None
    least: int | None = None
    reason: str = ""
    runs: tuple[RunLine, ...] = field(default=())


def linear(row: Row, made: list[int], pouches: list[int]) -> Counter[int]:
    """The row's weights with its runs on their straight lines; `made` and `pouches` are the numbers
    of each option's variables."""
    weights = Counter(row.terms)
    for run in row.runs:
        weights[made[run.option]] += run.fixed
        weights[pouches[run.option]] += run.slope
    return weights
