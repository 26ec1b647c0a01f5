"""Branch and bound against another solver, CP-SAT, on the same integer programs: both must find the
same least value, and the bound must be that value. Rules of logic alone against every case there
is."""

from __future__ import annotations

import itertools
import os
import random
import signal
import threading
from collections.abc import Sequence

import pytest
from ortools.sat.python import cp_model

from harvestplan.schedule.search import scip as mip
from harvestplan.schedule.search.scip import least


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


def worth(model: cp_model.CpModel, values: Sequence[int]) -> int:
    """The goal's value."""
    goal = model.proto.objective
    pairs = zip(goal.vars, goal.coeffs, strict=True)
    return round(goal.offset + sum(weight * values[number] for number, weight in pairs))


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
    value = worth(model, found.values)
    assert value == pytest.approx(solver.objective_value)
    assert value - 1 < found.bound <= value + 1e-6  # every goal counts in whole numbers


@pytest.mark.parametrize("seed", range(11))
@pytest.mark.parametrize("slight", [0.0, 0.02, 0.1])
def test_it_stops_where_it_is_near_enough_and_says_how_near(
    seed: int, slight: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Under the limits of large seasons too."""
    model, _ = program(seed, size=24)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    best = round(solver.objective_value)
    for large in (mip.LARGE, 0):
        monkeypatch.setattr(mip, "LARGE", large)
        found = least(model, nodes=10_000, seed=1, slight=slight)
        assert found.values is not None
        value = worth(model, found.values)
        assert found.bound - 1e-6 <= best <= value
        assert value - found.bound <= slight * value + 1


Literal = tuple[int, bool]
"""The number of a switch, and whether it is to be on."""


@pytest.mark.parametrize("seed", range(25))
def test_rules_of_logic_against_every_case(seed: int) -> None:
    """At most one, at least one, all, and the last two only where other switches stand so."""
    draw = random.Random(seed)
    size = 5
    model = cp_model.CpModel()
    switches = [model.new_bool_var(f"switch{i}") for i in range(size)]
    rules: list[tuple[str, list[Literal], list[Literal]]] = []
    for kind in ("one", "some", "all", "some"):
        mixed = [(i, draw.random() < 0.5) for i in draw.sample(range(size), 4)]
        split = draw.choice((1, 2)) if kind != "one" else 0
        rules.append((kind, mixed[split:], mixed[:split]))
    for kind, literals, unless in rules:
        named = [switches[i] if on else ~switches[i] for i, on in literals]
        add = {"one": model.add_at_most_one, "some": model.add_bool_or, "all": model.add_bool_and}
        rule = add[kind](named)
        if unless:
            rule.only_enforce_if([switches[i] if on else ~switches[i] for i, on in unless])
    costs = [draw.randint(-9, 9) for _ in range(size)]
    model.minimize(cp_model.LinearExpr.weighted_sum(switches, costs))

    def kept(case: tuple[bool, ...]) -> bool:
        return all(
            not all(case[i] == on for i, on in unless)
            or {"one": lambda n, _: n <= 1, "some": lambda n, _: n > 0, "all": int.__eq__}[kind](
                sum(case[i] == on for i, on in literals), len(literals)
            )
            for kind, literals, unless in rules
        )

    cases = [case for case in itertools.product((False, True), repeat=size) if kept(case)]
    values = [sum(cost for cost, on in zip(costs, c, strict=True) if on) for c in cases]
    found = least(model, nodes=1000, seed=1)
    assert found.impossible == (not cases)
    if cases:
        assert found.values is not None and found.exact
        assert tuple(bool(value) for value in found.values) in cases
        assert found.bound == pytest.approx(min(values))


def food(seed: int) -> cp_model.CpModel:
    """Pouches of food from lots of some kilograms, at the least cost: grams as the season model has
    them, some with a least amount, and a goal that counts grams alone or pouches as well."""
    draw = random.Random(seed)
    model = cp_model.CpModel()
    portion = draw.randint(200, 700)
    grams = [model.new_int_var(draw.choice((0, 0, 300)), draw.randint(1001, 6000), f"grams{i}")
             for i in range(4)]  # fmt: skip
    pouches = [model.new_int_var(0, 9, f"pouches{i}") for i in range(2)]
    for pair, packed in zip((grams[:2], grams[2:]), pouches, strict=True):
        model.add(sum(pair) == portion * packed)
    model.add(sum(pouches) >= draw.randint(2, 9))
    costs = [draw.randint(1, 40) for _ in grams]
    dear = 0 if seed % 2 else draw.randint(500, 9000)
    model.minimize(cp_model.LinearExpr.weighted_sum(grams, costs) - dear * sum(pouches) + 12_345)
    return model


@pytest.mark.parametrize("seed", range(20))
def test_grams_reckoned_by_the_kilogram_are_grams_again(seed: int) -> None:
    """The solver may miss the last gram; its bound never lies above the least value, and no more
    than a unit of the goal and what floats lose below it."""
    model = food(seed)
    found = least(model, nodes=1000, seed=1)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert found.impossible == (status == cp_model.INFEASIBLE)
    if status == cp_model.INFEASIBLE:
        return
    best = solver.objective_value
    assert best - 1.5 <= found.bound <= best + 1e-6 * abs(best)
    assert found.values is not None
    copy = model.clone()
    for number, value in enumerate(found.values):
        copy.add(copy.get_int_var_from_proto_index(number) == value)
    kept = solver.solve(copy)
    assert found.exact == (kept == cp_model.OPTIMAL)
    if found.exact:
        assert solver.objective_value == pytest.approx(best, abs=1.5)


def test_grams_that_do_not_come_out_whole_are_told() -> None:
    """Two equal halves of a pouch of 1501 g: there is half a gram too much, or too little."""
    model = cp_model.CpModel()
    half = model.new_int_var(0, 5000, "half")
    pouches = model.new_int_var(1, 3, "pouches")
    model.add(2 * half == 1501 * pouches)
    model.add(half + pouches <= 5000)
    model.minimize(pouches)
    found = least(model, nodes=100, seed=1)
    assert found.values in {(750, 1), (751, 1)} and not found.exact
    assert found.bound <= 2  # two pouches are the fewest in whole grams


def test_the_same_answer_twice_and_from_a_known_start() -> None:
    model, amounts = program(3)
    first, again = least(model, 10_000, 1), least(model, 10_000, 1)
    assert first == again
    assert first.values is not None
    known = {amount.index: first.values[amount.index] for amount in amounts}
    assert least(model, 10_000, 1, known=known).bound == pytest.approx(first.bound)


def test_a_known_start_is_taken_up_grams_as_well() -> None:
    """Sums to be hit at once by forty switches (Cornuéjols, Dawande 1998, "A class of hard small
    0-1 programs", IPCO; source from memory): too hard for one node, and one answer is known."""
    draw = random.Random(2)
    model = cp_model.CpModel()
    switches = [model.new_bool_var("") for _ in range(40)]
    grams = [model.new_int_var(0, 9000, "") for _ in range(4)]
    known = {switch.index: draw.randint(0, 1) for switch in switches}
    for each in grams:
        weights = [draw.randrange(100) for _ in switches]
        there = sum(w * known[s.index] for w, s in zip(weights, switches, strict=True))
        model.add(cp_model.LinearExpr.weighted_sum(switches, weights) == each)
        model.add(each == there)
        known[each.index] = there
    model.minimize(switches[0])
    assert least(model, nodes=1, seed=1).values is None
    found = least(model, nodes=1, seed=1, known=known)
    assert found.values == tuple(known[n] for n in range(len(known))) and found.exact


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
