"""The linear relaxation of a program: what its variables would be in parts."""

from __future__ import annotations

import math

from ortools.linear_solver import pywraplp

from harvestplan.free_memory import need_room
from harvestplan.schedule.search.program import Program


def in_parts(program: Program) -> tuple[float, ...] | None:
    """The value of each variable where all may be parts of one; None where that has no solution.

    Raises MemoryError where there is too little left to think in.
    """
    need_room()
    solver = pywraplp.Solver.CreateSolver("GLOP")
    variables = [solver.NumVar(v.least, v.most, "") for v in program.variables]
    for row in program.rows:
        low = -math.inf if row.least is None else float(row.least)
        high = math.inf if row.most is None else float(row.most)
        rule = solver.RowConstraint(low, high, "")
        for number, weight in sorted(row.terms.items()):
            if weight:
                rule.SetCoefficient(variables[number], float(weight))
    largest = max((abs(weight) for weight in program.goal.terms.values()), default=1)
    goal = solver.Objective()
    for number, weight in sorted(program.goal.terms.items()):
        goal.SetCoefficient(variables[number], weight / largest)
    goal.SetMinimization()
    if solver.Solve() != solver.OPTIMAL:
        return None
    return tuple(variable.solution_value() for variable in variables)
