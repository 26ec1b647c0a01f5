"""The season model as a mixed-integer program, for bounds that constraint solving alone finds late.

HiGHS, which comes with OR-Tools, separates cuts and branches on the same rules that CP-SAT
searches, so that whatever it proves holds for every choice. Effort is counted in nodes: the same
answer on every machine.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from ortools.math_opt.python import mathopt
from ortools.math_opt.solvers.highs_pb2 import HighsOptionsProto
from ortools.sat.python import cp_model
from ortools.util.python.solve_interrupter import SolveInterrupter

from harvestplan.schedule.solving import until_stopped

Row = tuple[dict[int, int], float, float]
FAR = 2**60
"""Beyond this a domain's end means "no limit"."""


@dataclass(frozen=True)
class Least:
    """`bound` is proven; `values` of all variables where a solution was found."""

    bound: float
    values: tuple[int, ...] | None


def least(model: cp_model.CpModel, nodes: int, seed: int) -> Least:
    """The least value of the model's goal, and a bound. Branching stops after so many nodes.

    No known plan is given to begin from: measured, a limit on the goal made it slower.

    Raises
    ------
    KeyboardInterrupt
        After the solver has stopped, where somebody pressed Ctrl-C.
    """
    objective = model.proto.objective
    program, variables = _program(model.proto)
    for variable, weight in _weights(objective).items():
        program.objective.set_linear_coefficient(variables[variable], weight)
    stop = SolveInterrupter()
    parameters = mathopt.SolveParameters(
        node_limit=nodes,
        random_seed=seed,
        absolute_gap_tolerance=0.99,  # every goal counts in whole numbers
        relative_gap_tolerance=0.0,
        highs=HighsOptionsProto(int_options={"threads": 1}),
    )
    answer = until_stopped(
        lambda: mathopt.solve(
            program, mathopt.SolverType.HIGHS, params=parameters, interrupter=stop
        ),
        stop.interrupt,
    )
    bound = answer.termination.objective_bounds.dual_bound + objective.offset
    if not answer.has_primal_feasible_solution():
        return Least(bound, None)
    found = answer.variable_values(variables)
    return Least(bound, tuple(round(value) for value in found))


def _program(proto: Any) -> tuple[mathopt.Model, list[mathopt.Variable]]:
    program = mathopt.Model()
    variables = []
    for variable in proto.variables:
        domain = list(variable.domain)
        variables.append(program.add_integer_variable(lb=domain[0], ub=domain[-1]))
    for row in _rows(proto):
        _add_row(program, variables, row)
    return program, variables


def _add_row(program: mathopt.Model, variables: Sequence[mathopt.Variable], row: Row) -> None:
    terms, low, high = row
    rule = program.add_linear_constraint(lb=low, ub=high)
    for variable, weight in terms.items():
        rule.set_coefficient(variables[variable], weight)


def _weights(linear: Any) -> dict[int, int]:
    """Weights of a sum by variable number."""
    weights: dict[int, int] = {}
    for variable, weight in zip(linear.vars, linear.coeffs, strict=True):
        weights[variable] = weights.get(variable, 0) + weight
    return weights


def _rows(proto: Any) -> list[Row]:
    """Every rule as a linear row: the season model has sums, switches and "at most one" alone."""
    rows: list[Row] = []
    for rule in proto.constraints:
        unless = [-literal - 1 for literal in rule.enforcement_literal]
        if rule.has_linear():
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
