"""The season as variables and rows: what is decided, and all that the rules say of it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable

from harvestplan.kitchen.layout import Sitting
from harvestplan.kitchen.process import Process
from harvestplan.schedule.rules.freezer_stock import Stock
from harvestplan.schedule.rules.row import Row, RunLine, Terms, Variable, linear
from harvestplan.schedule.statement.problem import Option, Problem


class SeasonRows:
    """Variables and rows of one problem; each rule adds its own.

    All variables are known by their numbers. By option: `made` (whether there is such a run) and
    `pouches`. By window: `used`. `share` are grams by (first option of the group, lot): a run takes
    the same food for whichever freezer, so that the relaxation cannot make half a run for each.
    `part` says, by the first option of the group, whether its last pouch is part-full.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.variables: list[Variable] = []
        self.rows: list[Row] = []
        self.heed_doubtful = self.new_variable("heed doubtful cuts")
        """Free while bounds are proven, so that an unproven cut never makes a bound too tight."""
        self.made: list[int] = []
        self.pouches: list[int] = []
        self.share: dict[tuple[int, int], int] = {}
        self.part: dict[int, int] = {}
        self.stocks: dict[tuple[int, str], Stock] = {}
        """What lies of each demand in each freezer, by day, where space is looked at."""
        self.used = [self.new_variable(f"used{w}") for w in range(len(problem.windows))]
        self.groups: dict[tuple[int, int, int | None], list[Option]] = defaultdict(list)
        """Options that differ in their freezer only, by demand and windows."""
        self.by_window: dict[int, list[tuple[Option, Sitting]]] = defaultdict(list)
        for option in problem.options:
            self.groups[option.demand, option.first, option.second].append(option)
            for window, sitting in option.sittings():
                self.by_window[window].append((option, sitting))

    def new_variable(self, name: str, least: int = 0, most: int = 1) -> int:
        """Its number; a switch unless it may be more than one."""
        self.variables.append(Variable(name, least, most))
        return len(self.variables) - 1

    def add(
        self,
        rule: str,
        of: str,
        terms: Terms,
        *,
        most: int | None = None,
        least: int | None = None,
        reason: str = "",
        runs: Iterable[RunLine] = (),
    ) -> None:
        """Adds a row; see Row."""
        self.rows.append(
            Row(rule, of, terms, most=most, least=least, reason=reason, runs=tuple(runs))
        )

    def linear(self, row: Row) -> Counter[int]:
        """The row's weights with its runs on their straight lines."""
        return linear(row, self.made, self.pouches)

    def process_of(self, option: Option) -> Process:
        return self.problem.demands[option.demand].process
