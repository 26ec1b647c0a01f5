"""The season model as a mixed-integer program, solved by branch and bound on its linear relaxation.

SCIP, which comes with OR-Tools, takes the same rows that CP-SAT takes, so that whatever it proves
holds for every choice. With supply counted in whole pouches (see whole_pouches) the relaxation is
so tight that the best is known to a few per cent at the root. Effort is counted in nodes: the same
answer on every machine. Presolving is not begun again after the root: what it fixes then is soon
found out in the tree too, and a second root takes longer (measured on twenty households).
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from ortools.linear_solver import pywraplp

from harvestplan.free_memory import need_room
from harvestplan.schedule.search.program import Program

WHOLE = 0.99
"""Every goal counts in whole numbers: a smaller gap is none."""
MANY = 1000
"""What may be more than so many (grams) is taken as a real number of thousands: the solver's
sums stay exact enough, and it need not branch on a gram."""
CUTTING = 25
"""Rounds of cutting planes at the root: more take long in large seasons and raise no bound."""
LARGE = 6000
"""Beyond so many variables a cutting plane may make the linear program a hundred times slower: then
three rounds in a row that raise no bound are enough, and after the first it is left as it stands
after twice as many simplex steps as it has variables. A node that is left so keeps the bound of
the one above it, and the whole search may keep it to the end: with an eighth as many steps the
bound of a household with 2,070 variables was the same after 150 nodes and after 2,500."""
LARGE_STALLING, LARGE_STEPS = 3, 2
USUAL_STALLING, NO_LIMIT = 10, -1
"""What the solver itself takes."""
ORDERS = """
misc/catchctrlc = FALSE
limits/totalnodes = {nodes}
limits/absgap = {gap}
presolving/maxrestarts = 0
separating/maxroundsroot = {cutting}
separating/maxstallroundsroot = {stalling}
lp/iterlim = {steps}
randomization/randomseedshift = {seed}
"""


@dataclass(frozen=True)
class Least:
    """`bound` is proven; `values` of all variables where a solution was found, and whether they are
    `exact`: made whole, they may miss a rule by a gram.
    `impossible` where there is none. `nodes` is the effort it took."""

    bound: float
    values: tuple[int, ...] | None
    exact: bool
    impossible: bool
    nodes: int


class Branching:
    """One search of a program by branch and bound; `run` may be called in a thread of its own, and
    `stop` meanwhile in another.

    `first` are the numbers of the variables to branch on before all others. `known` are values of
    some variables, by number, from which to begin. It stops after so many nodes, or where value and
    bound differ by no more than `enough`.

    Raises MemoryError where there is too little left to think in.
    """

    def __init__(
        self,
        program: Program,
        nodes: int,
        seed: int,
        *,
        first: Collection[int] = (),
        known: Mapping[int, int] | None = None,
        enough: int = 0,
    ) -> None:
        need_room()
        self._program = program
        self._solver = pywraplp.Solver.CreateSolver("SCIP")
        self._units = [MANY if variable.most > MANY else 1 for variable in program.variables]
        self._worth = max((self._units[number] for number in program.goal.terms), default=1)
        self._variables = _state(self._solver, program, self._units, worth=self._worth)
        for number in first:
            self._variables[number].SetBranchingPriority(1)
        if known:
            hinted = [value / self._units[number] for number, value in known.items()]
            self._solver.SetHint([self._variables[number] for number in known], hinted)
        self._solver.SetNumThreads(1)
        self._solver.SetSolverSpecificParametersAsString(
            ORDERS.format(
                nodes=nodes,
                gap=max(WHOLE, enough) / self._worth,
                seed=seed,
                **_bounds(len(self._units)),
            )
        )

    def run(self) -> Least:
        """The least value of the program's goal that was found, and a bound."""
        solver, units = self._solver, self._units
        status = solver.Solve()
        values = None
        if status in (solver.OPTIMAL, solver.FEASIBLE):
            values = tuple(
                round(unit * variable.solution_value())
                for unit, variable in zip(units, self._variables, strict=True)
            )
        return Least(
            self._worth * solver.Objective().BestBound(),
            values,
            exact=values is not None and all(row.keeps(values) for row in self._program.rows),
            impossible=status == solver.INFEASIBLE,
            nodes=solver.nodes(),
        )

    def stop(self) -> None:
        """Ends the run soon."""
        self._solver.InterruptSolve()


def _state(
    solver: pywraplp.Solver, program: Program, units: Sequence[int], *, worth: int
) -> list[pywraplp.Variable]:
    """States the program to the solver, each variable in its unit and the goal in `worth`; gives
    its variables."""
    variables = []
    for variable, unit in zip(program.variables, units, strict=True):
        new = solver.IntVar if unit == 1 else solver.NumVar
        variables.append(new(variable.least / unit, variable.most / unit, ""))
    for row in program.rows:
        low = -math.inf if row.least is None else float(row.least)
        high = math.inf if row.most is None else float(row.most)
        rule = solver.RowConstraint(low, high, "")
        for number, weight in sorted(row.terms.items()):
            if weight:
                rule.SetCoefficient(variables[number], weight * units[number])
    goal = solver.Objective()
    for number, weight in sorted(program.goal.terms.items()):
        if weight:
            goal.SetCoefficient(variables[number], weight * units[number] / worth)
    goal.SetOffset(program.goal.constant / worth)
    goal.SetMinimization()
    return variables


def _bounds(size: int) -> dict[str, int]:
    """What cutting planes may cost in a program with so many variables."""
    large = size > LARGE
    return {
        "cutting": CUTTING,
        "stalling": LARGE_STALLING if large else USUAL_STALLING,
        "steps": LARGE_STEPS * size if large else NO_LIMIT,
    }
