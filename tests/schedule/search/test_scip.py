"""Branch and bound against another solver, CP-SAT, on the same whole-number programs.

Both must find the same least value, and the bound must be that value. Small ones against every case
there is.
"""

from __future__ import annotations

import itertools
import os
import random
import signal
import threading
from collections import Counter
from collections.abc import Sequence

import pytest
from ortools.sat.python import cp_model
from schedule.program_in_cp_sat import in_cp_sat

from harvestplan.schedule.rules.row import Sum, Terms, Variable
from harvestplan.schedule.search import scip
from harvestplan.schedule.search.program import Bounds, Program
from harvestplan.schedule.search.scip import Branching, Least
from harvestplan.schedule.solver_call import until_stopped


def least(
    program: Program, nodes: int, seed: int, *, known: dict[int, int] | None = None, enough: int = 0
) -> Least:
    """The program solved, so that Ctrl-C ends it."""
    branching = Branching(program, nodes, seed, known=known, enough=enough)
    return until_stopped(branching.run, branching.stop)


def covering(seed: int, size: int = 8, needed: int = 30) -> Program:
    """Amounts with a switch each, to cover needs at the least cost; the amounts come first."""
    draw = random.Random(seed)
    amounts = [Variable(f"amount{i}", 0, draw.randint(2, 9)) for i in range(size)]
    switches = [Variable(f"switch{i}", 0, 1) for i in range(size)]
    rows = [Bounds({i: 1, size + i: -9}, None, 0) for i in range(size)]
    for _ in range(size // 2):
        needs = {i: draw.randint(1, 7) for i in draw.sample(range(size), 4)}
        rows.append(Bounds(needs, draw.randint(5, needed), None))
    rows.append(Bounds({size: 1, size + 1: 1}, None, 1))
    rows.append(Bounds({size + 2: 1, size + 3: -1}, 0, None))
    costs = {number: draw.randint(1, 20) for number in range(2 * size)}
    return Program([*amounts, *switches], rows, Sum(costs, 3))


def worth(program: Program, values: Sequence[int]) -> int:
    """The goal's value."""
    goal = program.goal
    return goal.constant + sum(weight * values[number] for number, weight in goal.terms.items())


def best(program: Program) -> float | None:
    """The least value by CP-SAT, or None where there is no solution."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    model, _ = in_cp_sat(program)
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return solver.objective_value if status == cp_model.OPTIMAL else None


def test_the_least_value_is_that_of_another_solver() -> None:
    possible = Counter[bool]()
    for seed in range(30):
        program = covering(seed, needed=30 if seed % 2 else 90)
        found, there = least(program, nodes=10_000, seed=1), best(program)
        possible[there is not None] += 1
        assert found.impossible == (there is None), seed
        if there is None:
            continue
        assert found.values is not None and found.exact, seed
        value = worth(program, found.values)
        assert value == pytest.approx(there), seed
        # Every goal counts in whole numbers.
        assert value - 1 < found.bound <= value + 1e-6, seed
    assert min(possible[True], possible[False]) >= 3


def test_it_stops_where_it_is_near_enough_and_says_how_near(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Under the limits of large seasons too."""
    for seed in range(11):
        program = covering(seed, size=24)
        there = best(program)
        assert there is not None
        for enough, large in itertools.product((0, 2, 10), (scip.LARGE, 0)):
            monkeypatch.setattr(scip, "LARGE", large)
            found = least(program, nodes=10_000, seed=1, enough=enough)
            case = seed, enough, large
            assert found.values is not None, case
            value = worth(program, found.values)
            assert found.bound - 1e-6 <= there <= value, case
            assert value - found.bound <= enough + 1, case
            monkeypatch.undo()


def test_rows_of_every_kind_against_every_case() -> None:
    """At most, at least, between, exactly; in weights of either sign, nought among them."""
    possible = Counter[bool]()
    for seed in range(25):
        draw = random.Random(seed)
        size = 5
        switches = [Variable(f"switch{i}", 0, 1) for i in range(size)]
        rows = [
            Bounds({i: draw.randint(-3, 3) for i in draw.sample(range(size), 4)}, *ends)
            for ends in ((None, 1), (0, None), (-1, 2), (1, 1))
        ]
        program = Program(switches, rows, Sum({i: draw.randint(-9, 9) for i in range(size)}))
        cases = [
            case
            for case in itertools.product((0, 1), repeat=size)
            if all(_within(row, case) for row in rows)
        ]
        possible[bool(cases)] += 1
        found = least(program, nodes=1000, seed=1)
        assert found.impossible == (not cases), seed
        if cases:
            assert found.values in cases and found.exact, seed
            assert found.bound == pytest.approx(min(worth(program, case) for case in cases)), seed
    assert min(possible[True], possible[False]) >= 3


def _within(row: Bounds, case: Sequence[int]) -> bool:
    total = sum(weight * case[number] for number, weight in row.terms.items())
    too_little = row.least is not None and total < row.least
    return not too_little and (row.most is None or total <= row.most)


def food(seed: int) -> Program:
    """Pouches of food from lots of some kilograms, at the least cost: grams as the season has them,
    some with a least amount, and a goal that counts grams alone or pouches as well."""
    draw = random.Random(seed)
    portion = draw.randint(200, 700)
    grams = [
        Variable(f"grams{i}", draw.choice((0, 0, 300)), draw.randint(1001, 6000)) for i in range(4)
    ]
    pouches = [Variable(f"pouches{i}", 0, 9) for i in range(2)]
    rows = [
        Bounds({0: 1, 1: 1, 4: -portion}, 0, 0),
        Bounds({2: 1, 3: 1, 5: -portion}, 0, 0),
        Bounds({4: 1, 5: 1}, draw.randint(2, 9), None),
    ]
    costs: dict[int, int] = {number: draw.randint(1, 40) for number in range(4)}
    dear = 0 if seed % 2 else draw.randint(500, 9000)
    return Program([*grams, *pouches], rows, Sum(costs | {4: -dear, 5: -dear}, 12_345))


def test_grams_reckoned_by_the_kilogram_are_grams_again() -> None:
    """The solver may miss the last gram; its bound never lies above the least value, and no more
    than a unit of the goal and what floats lose below it."""
    for seed in range(20):
        program = food(seed)
        found, there = least(program, nodes=1000, seed=1), best(program)
        assert found.impossible == (there is None), seed
        if there is None:
            continue
        assert there - 1.5 <= found.bound <= there + 1e-6 * abs(there), seed
        assert found.values is not None, seed
        fixed = [Bounds({n: 1}, value, value) for n, value in enumerate(found.values)]
        kept = best(Program(program.variables, [*program.rows, *fixed], program.goal))
        assert found.exact == (kept is not None), seed
        if found.exact:
            assert kept == pytest.approx(there, abs=1.5), seed


def test_grams_that_do_not_come_out_whole_are_told() -> None:
    """Two equal halves of a pouch of 1501 g: there is half a gram too much, or too little."""
    half, pouches = Variable("half", 0, 5000), Variable("pouches", 1, 3)
    rows = [Bounds({0: 2, 1: -1501}, 0, 0), Bounds({0: 1, 1: 1}, None, 5000)]
    found = least(Program([half, pouches], rows, Sum({1: 1})), nodes=100, seed=1)
    assert found.values in {(750, 1), (751, 1)} and not found.exact
    assert found.bound <= 2  # two pouches are the fewest in whole grams


def test_the_same_answer_twice_and_from_a_known_start() -> None:
    program = covering(3)
    first, again = least(program, 10_000, 1), least(program, 10_000, 1)
    assert first == again
    assert first.values is not None
    known = dict(enumerate(first.values[:8]))
    assert least(program, 10_000, 1, known=known).bound == pytest.approx(first.bound)


def test_a_known_start_is_taken_up_grams_as_well() -> None:
    """Sums to be hit at once by forty switches (Cornuéjols, Dawande 1998, "A class of hard small
    0-1 programs", IPCO; source from memory): too hard for one node, and one answer is known."""
    draw = random.Random(2)
    variables = [Variable("", 0, 1)] * 40 + [Variable("", 0, 9000)] * 4
    known = {switch: draw.randint(0, 1) for switch in range(40)}
    rows = []
    for grams in range(40, 44):
        weights = {switch: draw.randrange(100) for switch in range(40)}
        known[grams] = sum(weight * known[switch] for switch, weight in weights.items())
        rows.append(Bounds(weights | {grams: -1}, 0, 0))
        rows.append(Bounds({grams: 1}, known[grams], known[grams]))
    program = Program(variables, rows, Sum({0: 1}))
    assert least(program, nodes=1, seed=1).values is None
    found = least(program, nodes=1, seed=1, known=known)
    assert found.values == tuple(known[n] for n in range(len(known))) and found.exact


def test_control_c_ends_it() -> None:
    """Equal halves of odd sums: no bound but trying, so that it would go on for very long (Jeroslow
    1974, "Trivial integer programs unsolvable by branch-and-bound", Mathematical Programming 6:105;
    source from memory)."""
    switches = range(61)
    halves: Terms = dict.fromkeys(switches, 2) | {61: 1}
    rows = [
        Bounds(halves, 61, 61),
        Bounds({i: i % 7 + 3 for i in switches}, None, 183),
    ]
    program = Program([Variable("", 0, 1)] * 62, rows, Sum({61: 1}))
    timer = threading.Timer(0.5, os.kill, (os.getpid(), signal.SIGINT))
    timer.start()
    with pytest.raises(KeyboardInterrupt):
        for seed in range(1000):  # whichever is under way
            least(program, 10_000_000, seed)
    timer.join()
