"""The season model as a mixed-integer program, solved by branch and bound on its linear relaxation.

SCIP, which comes with OR-Tools, takes the same rules that CP-SAT knows, so that whatever it proves
holds for every choice. With supply counted in whole pouches (see whole_pouches) the relaxation is
so tight that most levels are proven within some hundred nodes. Effort is counted in nodes: the same
answer on every machine. Presolving is not begun again after the root: what it fixes then is soon
found out in the tree too, and a second root takes longer (measured on twenty households).
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ortools.linear_solver import pywraplp
from ortools.sat.python import cp_model

from harvestplan.free_memory import need_room
from harvestplan.schedule.solver_call import until_stopped

Row = tuple[dict[int, int], float, float]
"""Weights by variable number, the least and the most their sum may be."""
FAR = 2**60
"""Beyond this a domain's end means "no limit"."""
WHOLE = 0.99
"""Every goal counts in whole numbers: a smaller gap is none."""
MANY = 1000
"""What may be more than so many (grams) is taken as a real number of thousands: the solver's
sums stay exact enough, and it need not branch on a gram."""
CUTTING = 25
"""Rounds of cutting planes at the root: more take long in large seasons and raise no bound."""
LARGE = 4000
"""Beyond so many variables a cutting plane may make the linear program a hundred times slower: then
three rounds in a row that raise no bound are enough, and after the first it is left as it stands
after an eighth as many simplex steps as it has variables. Smaller ones take less than that, and
lose by such limits."""
LARGE_STALLING, LARGE_STEPS = 3, 1 / 8
USUAL_STALLING, NO_LIMIT = 10, -1
"""What the solver itself takes."""
ORDERS = """
misc/catchctrlc = FALSE
limits/totalnodes = {nodes}
limits/absgap = {gap}
limits/gap = {slight}
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


def least(
    model: cp_model.CpModel,
    nodes: int,
    seed: int,
    first: Collection[int] = (),
    known: Mapping[int, int] | None = None,
    slight: float = 0.0,
) -> Least:
    """The least value of the model's goal, and a bound. Branching stops after so many nodes, or
    where the two differ by no more than the share `slight`.

    `first` are the numbers of the variables to branch on before all others. `known` are values of
    some variables, by number, from which to begin.

    Raises
    ------
    KeyboardInterrupt
        After the solver has stopped, where somebody pressed Ctrl-C.
    MemoryError
        Where there is too little left to think in.
    """
    need_room()
    proto = model.proto
    rows = _rows(proto)
    solver = pywraplp.Solver.CreateSolver("SCIP")
    units = [MANY if list(variable.domain)[-1] > MANY else 1 for variable in proto.variables]
    worth = max((units[number] for number in _weights(proto.objective)), default=1)
    variables = _state(solver, proto, rows, units, worth)
    for number in first:
        variables[number].SetBranchingPriority(1)
    if known:
        hinted = [value / units[number] for number, value in known.items()]
        solver.SetHint([variables[number] for number in known], hinted)
    solver.SetNumThreads(1)
    solver.SetSolverSpecificParametersAsString(
        ORDERS.format(
            nodes=nodes, gap=WHOLE / worth, slight=slight, seed=seed, **_bounds(len(units))
        )
    )
    status = until_stopped(solver.Solve, solver.InterruptSolve)
    values = None
    if status in (solver.OPTIMAL, solver.FEASIBLE):
        values = tuple(
            round(unit * variable.solution_value())
            for unit, variable in zip(units, variables, strict=True)
        )
    return Least(
        worth * solver.Objective().BestBound(),
        values,
        exact=values is not None and _keeps(values, rows),
        impossible=status == solver.INFEASIBLE,
        nodes=solver.nodes(),
    )


def _state(
    solver: pywraplp.Solver, proto: Any, rows: Sequence[Row], units: Sequence[int], worth: int
) -> list[pywraplp.Variable]:
    """States the program to the solver, each variable in its unit and the goal in `worth`; gives
    its variables."""
    variables = []
    for variable, unit in zip(proto.variables, units, strict=True):
        domain = list(variable.domain)
        new = solver.IntVar if unit == 1 else solver.NumVar
        variables.append(new(domain[0] / unit, domain[-1] / unit, ""))
    for terms, low, high in rows:
        rule = solver.RowConstraint(low, high, "")
        for number, weight in terms.items():
            rule.SetCoefficient(variables[number], weight * units[number])
    goal = solver.Objective()
    for number, weight in _weights(proto.objective).items():
        goal.SetCoefficient(variables[number], weight * units[number] / worth)
    goal.SetOffset(proto.objective.offset / worth)
    goal.SetMinimization()
    return variables


def _bounds(size: int) -> dict[str, int]:
    """What cutting planes may cost in a program with so many variables."""
    large = size > LARGE
    return {
        "cutting": CUTTING,
        "stalling": LARGE_STALLING if large else USUAL_STALLING,
        "steps": math.ceil(LARGE_STEPS * size) if large else NO_LIMIT,
    }


def _keeps(values: Sequence[int], rows: Sequence[Row]) -> bool:
    """Whether whole values keep every row."""
    return all(
        low <= sum(weight * values[number] for number, weight in terms.items()) <= high
        for terms, low, high in rows
    )


def _weights(linear: Any) -> dict[int, int]:
    """Weights of a sum by variable number."""
    weights: dict[int, int] = {}
    for variable, weight in zip(linear.vars, linear.coeffs, strict=True):
        number, sign = (variable, 1) if variable >= 0 else (-variable - 1, -1)
        weights[number] = weights.get(number, 0) + sign * int(weight)
    return weights


def _rows(proto: Any) -> list[Row]:
    """Every rule as a linear row: the season model has sums, switches and "at most one" alone."""
    rows: list[Row] = []
    for rule in proto.constraints:
        unless = [-literal - 1 for literal in rule.enforcement_literal]
        if rule.has_linear() and not unless:
            domain = list(rule.linear.domain)
            low = -math.inf if domain[0] < -FAR else float(domain[0])
            high = math.inf if domain[-1] > FAR else float(domain[-1])
            rows.append((_weights(rule.linear), low, high))
        elif rule.has_bool_or():
            rows.append(_one_of([*rule.bool_or.literals, *unless]))
        elif rule.has_bool_and():
            rows += [_one_of([literal, *unless]) for literal in rule.bool_and.literals]
        elif rule.has_at_most_one():
            terms, negated = _sum(list(rule.at_most_one.literals))
            rows.append((terms, -math.inf, 1.0 - negated))
        else:
            raise TypeError(f"no linear row for this rule: {rule}")
    return rows


def _one_of(literals: Sequence[int]) -> Row:
    """At least one of the literals holds."""
    terms, negated = _sum(literals)
    return terms, 1.0 - negated, math.inf


def _sum(literals: Sequence[int]) -> tuple[dict[int, int], int]:
    """Σ literals as weights of variables and a constant; -i - 1 stands for "not i"."""
    terms: dict[int, int] = {}
    negated = 0
    for literal in literals:
        variable, weight = (literal, 1) if literal >= 0 else (-literal - 1, -1)
        terms[variable] = terms.get(variable, 0) + weight
        negated += weight < 0
    return terms, negated
