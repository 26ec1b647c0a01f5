"""The mixed-integer program against the constraint solver on the same models, and being stopped."""

from __future__ import annotations

import os
import random
import signal
import threading
import time

import pytest
from ortools.sat.python import cp_model

from harvestplan.schedule.mip import least
from harvestplan.schedule.solving import solve, until_stopped


def lot_sizing(seed: int, periods: int = 12) -> cp_model.CpModel:
    """A little lot-sizing model with every kind of rule the season model has."""
    draw = random.Random(seed)
    model = cp_model.CpModel()
    open_ = [model.new_bool_var(f"open{t}") for t in range(periods)]
    made = [model.new_int_var(0, 9, f"made{t}") for t in range(periods)]
    for t in range(periods):
        model.add(made[t] <= 9 * open_[t])
        model.add(sum(made[: t + 1]) >= sum(draw.randint(0, 3) for _ in range(t + 1)) // 2)
    for t in range(0, periods - 2, 3):
        model.add_at_most_one(open_[t : t + 2])
        model.add_bool_or([open_[t], open_[t + 1], open_[t + 2].negated()])
    model.add_implication(open_[0], open_[-1].negated())
    costs = [draw.randint(1, 9) for _ in range(2 * periods)]
    model.minimize(5 + cp_model.LinearExpr.weighted_sum([*open_, *made], costs))
    return model


@pytest.mark.parametrize("seed", range(8))
def test_both_solvers_find_the_same_least_value(seed: int) -> None:
    model = lot_sizing(seed)
    solver = cp_model.CpSolver()
    assert solve(solver, model) == cp_model.OPTIMAL
    best = round(solver.objective_value)
    found = least(model, 10_000, seed=1)
    assert found.values is not None
    assert round(found.bound) == best


@pytest.mark.parametrize("seed", range(4))
def test_what_it_finds_keeps_every_rule(seed: int) -> None:
    model = lot_sizing(seed)
    found = least(model, 10_000, seed=1)
    assert found.values is not None
    for number, value in enumerate(found.values):
        model.add(model.get_int_var_from_proto_index(number) == value)
    assert cp_model.CpSolver().solve(model) == cp_model.OPTIMAL


def test_a_bound_without_branching_is_never_too_high() -> None:
    for seed in range(6):
        model = lot_sizing(seed)
        solver = cp_model.CpSolver()
        solver.solve(model)
        best = round(solver.objective_value)
        assert least(model, 1, seed=1).bound <= best + 1e-6


def test_control_c_ends_a_long_search_at_once() -> None:
    ended = threading.Event()
    threading.Timer(0.3, lambda: os.kill(os.getpid(), signal.SIGINT)).start()
    began = time.monotonic()
    with pytest.raises(KeyboardInterrupt):
        until_stopped(lambda: ended.wait(30), ended.set)
    assert time.monotonic() - began < 25


def test_an_error_of_the_solver_comes_through() -> None:
    def fail() -> None:
        raise IndexError("stumbled")

    with pytest.raises(IndexError, match="stumbled"):
        until_stopped(fail, lambda: None)
