"""A whole-number program stated to CP-SAT, row by row."""

from __future__ import annotations

from ortools.sat.python import cp_model

from harvestplan.schedule.search.program import Program


def in_cp_sat(program: Program) -> tuple[cp_model.CpModel, list[cp_model.IntVar]]:
    """The model, and its variables by their numbers in the program."""
    model = cp_model.CpModel()
    variables = [model.new_int_var(v.least, v.most, v.name) for v in program.variables]
    for row in program.rows:
        total = sum(weight * variables[number] for number, weight in row.terms.items())
        if row.least is not None:
            model.add(total >= row.least)
        if row.most is not None:
            model.add(total <= row.most)
    goal = sum(weight * variables[number] for number, weight in program.goal.terms.items())
    model.minimize(goal + program.goal.constant)
    return model, variables
