"""The season's rows in CP-SAT: which lots go to which windows as which products."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from ortools.sat.python import cp_model

from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.rules.cuts import forbid, limit_together
from harvestplan.schedule.rules.row import Sum, Terms
from harvestplan.schedule.search.conversion import choice_of, grams_of, values_of
from harvestplan.schedule.search.program import Bounds, Program
from harvestplan.schedule.solver_call import solve
from harvestplan.schedule.statement.choice import Choice, Cut, Together
from harvestplan.schedule.statement.problem import Problem

Fixed = Mapping[int, int]
"""Values that some variables have to take, by number."""
NOTHING = Sum({})


class SeasonModel:
    """The rows of one problem, and the same in CP-SAT; with its goal.

    `season` holds variables and rows; `model` follows it: what is added goes to both.
    """

    def __init__(self, problem: Problem, cuts: Iterable[Cut]) -> None:
        self.problem = problem
        self.season = state_rules(problem, cuts)
        self.model = cp_model.CpModel()
        self.goal = NOTHING
        self._variables: list[cp_model.IntVar] = []
        self._bounds: list[Bounds] = []
        self._follow()

    @property
    def size(self) -> int:
        """The number of variables."""
        return len(self.season.variables)

    def program(self, fixed: Fixed | None = None) -> Program:
        """The rows with the goal as they are now, and with some variables fixed."""
        held = (Bounds({number: 1}, value, value) for number, value in (fixed or {}).items())
        return Program(tuple(self.season.variables), (*self._bounds, *held), self.goal)

    def limit(
        self, what: str, total: Sum, *, most: int | None = None, least: int | None = None
    ) -> None:
        """Holds a goal within bounds from now on."""
        low, high = (None if end is None else end - total.constant for end in (least, most))
        self.season.add("goal", what, total.terms, most=high, least=low)
        self._follow()

    def minimize(self, goal: Sum) -> None:
        """What is looked for from now on."""
        self._follow()
        self.goal = goal
        self.model.minimize(self.expression(goal))

    def add_cut(self, cut: Cut) -> None:
        """Forbids the runs together in every window no roomier than where they failed."""
        forbid(self.season, cut)
        self._follow()

    def limit_together(self, limits: Iterable[Together]) -> None:
        """What two products come to together in a session, from now on."""
        for limit in limits:
            limit_together(self.season, limit)
        self._follow()

    def holds(self, choice: Choice) -> bool:
        """Whether the choice keeps every rule of the model, unproven cuts included."""
        copy = self.copy(choice, self.but_for((), choice) | dict(grams_of(self.season, choice)))
        copy.clear_objective()  # type: ignore[no-untyped-call]
        return solve(cp_model.CpSolver(), copy) in (cp_model.OPTIMAL, cp_model.FEASIBLE)

    def but_for(self, free: Collection[int], choice: Choice) -> dict[int, int]:
        """What is fixed where only the runs of the `free` options may differ from the choice."""
        return self.heedful() | {
            self.season.pouches[option.number]: choice.pouches.get(option.number, 0)
            for option in self.problem.options
            if option.number not in free
        }

    def heedful(self) -> dict[int, int]:
        """What is fixed so that unproven cuts hold as well."""
        return {self.season.heed_doubtful: 1}

    def copy(self, choice: Choice | None, fixed: Fixed) -> cp_model.CpModel:
        """The model with variables fixed, to be searched from a known choice."""
        if choice is not None:
            self.hint(choice)
        copy = self.model.clone()
        for number, value in fixed.items():
            copy.add(self._variables[number] == value)
        return copy

    def hint(self, choice: Choice) -> None:
        """Starts the search from a known solution."""
        self.model.clear_hints()  # type: ignore[no-untyped-call]
        for number, value in values_of(self.season, choice).items():
            self.model.add_hint(self._variables[number], value)

    def hint_pouches(self, pouches: Mapping[int, int]) -> None:
        """Starts the search from the pouches of each option."""
        for option, count in pouches.items():
            self.model.add_hint(self._variables[self.season.pouches[option]], count)
            self.model.add_hint(self._variables[self.season.made[option]], int(count > 0))

    def choice(self, values: Sequence[int]) -> Choice:
        """The choice in the values of all variables."""
        return choice_of(self.season, values)

    def expression(self, total: Sum) -> cp_model.LinearExpr:
        """A sum over the model's variables."""
        return self._weighted(total.terms) + total.constant

    def _weighted(self, terms: Terms) -> cp_model.LinearExpr:
        variables = [self._variables[number] for number in terms]
        return cp_model.LinearExpr.weighted_sum(variables, list(terms.values()))

    def _follow(self) -> None:
        """Takes up what was added to the season since."""
        for variable in self.season.variables[len(self._variables) :]:
            self._variables.append(
                self.model.new_int_var(variable.least, variable.most, variable.name)
            )
        for row in self.season.rows[len(self._bounds) :]:
            bounds = Bounds(self.season.linear(row), row.least, row.most)
            self._bounds.append(bounds)
            low = cp_model.INT_MIN if bounds.least is None else bounds.least
            high = cp_model.INT_MAX if bounds.most is None else bounds.most
            self.model.add_linear_constraint(self._weighted(bounds.terms), low, high)
