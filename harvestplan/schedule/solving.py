"""One call of the solver that comes back with an answer."""

from __future__ import annotations

from ortools.sat.python import cp_model


def solve(solver: cp_model.CpSolver, model: cp_model.CpModel) -> cp_model.CpSolverStatus:
    """Solves; where the solver's probing stumbles over a hint (seen with OR-Tools 9.15, always an
    IndexError from its presolve), solves without probing."""
    try:
        return solver.solve(model)
    except IndexError:
        solver.parameters.cp_model_probing_level = 0
        return solver.solve(model)
