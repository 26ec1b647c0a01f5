"""Branch and bound against another solver, CP-SAT, on the same integer programs: both must find the
same least value, and the bound must be that value."""

from __future__ import annotations

import os
import random
import signal
import threading

import pytest
from ortools.sat.python import cp_model

from harvestplan.schedule.mip import least


def program(seed: int, size: int = 8) -> tuple[cp_model.CpModel, list[cp_model.IntVar]]:
    """A covering problem with a few switches and a rule of each kind the season model has."""
    draw = random.Random(seed)
    model = cp_model.CpModel()
    amounts = [model.new_int_var(0, draw.randint(2, 9), f"amount{i}") for i in range(size)]
    switches = [model.new_bool_var(f"switch{i}") for i in range(size)]
    for amount, switch in zip(amounts, switches, strict=True):
        model.add(amount <= 9 * switch)
    for _ in range(size // 2):
        some = draw.sample(range(size), 4)
        model.add(sum(draw.randint(1, 7) * amounts[i] for i in some) >= draw.randint(5, 30))
    model.add_at_most_one(switches[0], switches[1])
    model.add_bool_or(switches[2], ~switches[3])
    costs = [draw.randint(1, 20) for _ in range(2 * size)]
    model.minimize(3 + cp_model.LinearExpr.weighted_sum([*amounts, *switches], costs))
    return model, amounts


@pytest.mark.parametrize("seed", range(30))
def test_the_least_value_is_that_of_another_solver(seed: int) -> None:
    model, _ = program(seed)
    found = least(model, nodes=10_000, seed=1)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        assert found.impossible
        return
    assert found.values is not None and found.exact
    objective = model.proto.objective
    value = objective.offset + sum(
        weight * found.values[number]
        for number, weight in zip(objective.vars, objective.coeffs, strict=True)
    )
    assert value == pytest.approx(solver.objective_value)
    assert value - 1 < found.bound <= value + 1e-6  # every goal counts in whole numbers


def test_the_same_answer_twice_and_from_a_known_start() -> None:
    model, amounts = program(3)
    first, again = least(model, 10_000, 1), least(model, 10_000, 1)
    assert first == again
    assert first.values is not None
    known = {amount.index: first.values[amount.index] for amount in amounts}
    assert least(model, 10_000, 1, known=known).bound == pytest.approx(first.bound)


def test_control_c_ends_it() -> None:
    # Equal halves of odd sums: no bound but trying, so that it would go on for very long
    # (Jeroslow 1974, "Trivial integer programs unsolvable by branch-and-bound", Mathematical
    # Programming 6:105; source from memory).
    model = cp_model.CpModel()
    switches = [model.new_bool_var("") for _ in range(61)]
    rest = model.new_int_var(0, 1, "")
    model.add(sum(2 * switch for switch in switches) + rest == 61)
    model.add(sum((i % 7 + 3) * switch for i, switch in enumerate(switches)) <= 183)
    model.minimize(rest)
    timer = threading.Timer(0.5, os.kill, (os.getpid(), signal.SIGINT))
    timer.start()
    with pytest.raises(KeyboardInterrupt):
        for seed in range(1000):  # whichever is under way
            least(model, 10_000_000, seed)
    timer.join()
