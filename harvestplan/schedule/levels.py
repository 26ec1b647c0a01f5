"""The goals one after the other (design, section 6), each with a proven bound.

Each level minimises its goal with all earlier goals held at their best; the answer before is the
hint of the next. A choice counts only once every session in it was timed minute by minute; what
does not fit comes back as a cut and the level is solved again.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

from ortools.sat.python import cp_model

from harvestplan.errors import NoValidPlan
from harvestplan.schedule.problem import Option, Problem
from harvestplan.schedule.season_model import Choice, Cut, SeasonModel
from harvestplan.schedule.sessions import SessionBook

Level = Literal["wants", "change", "evenings", "overtime", "waiting"]
PRIORITY = 100
"""Priorities count in hundredths, so that the solver sees whole numbers."""
LEAST_EFFORT = 0.2
"""Deterministic seconds a round counts at the least, so that rounds come to an end."""
STRETCHES = (8, 14, 22)
TRIALS = 5
NEARBY_EFFORT = 0.4
"""Windows in a stretch, pass by pass; rounds of cuts for each; deterministic seconds a round."""
FULL = (
    "No plan keeps within the freezers as they stand: what is stored already takes more space "
    "than there is. Correct `used` or [[stored]], or add a freezer."
)


@dataclass(frozen=True)
class Effort:
    """Deterministic seconds for each level; the same on every machine, so plans repeat."""

    wants: float = 8.0
    change: float = 3.0
    evenings: float = 8.0
    overtime: float = 2.0
    waiting: float = 4.0
    seed: int = 1

    def of(self, level: Level) -> float:
        return float(getattr(self, level))


@dataclass(frozen=True)
class LevelResult:
    """`value` and `bound` in the level's own unit (see `_scale`)."""

    level: Level
    value: float
    bound: float
    status: Literal["optimal", "feasible", "skipped"]
    seconds: float

    @property
    def gap(self) -> float:
        return max(0.0, self.value - self.bound) / max(1.0, abs(self.value))


@dataclass
class Solved:
    """The choice, what each level reached, and the cuts learned on the way."""

    choice: Choice
    levels: list[LevelResult] = field(default_factory=list)
    cuts: list[Cut] = field(default_factory=list)


def solve_levels(
    problem: Problem,
    book: SessionBook,
    effort: Effort,
    say: Callable[[str], None] = lambda text: print(text, file=sys.stderr),
) -> Solved:
    """The best plan by the goals in their order.

    Raises
    ------
    NoValidPlan
        Where not even doing nothing satisfies the rules (a freezer already over-full).
    """
    solved = Solved(Choice({}, {}))
    model = SeasonModel(problem, [])
    for goal in _goals(problem, model):
        if goal.linear is None:
            solved.levels.append(LevelResult(goal.level, 0.0, 0.0, "skipped", 0.0))
            continue
        result = _solve_level(book, effort, model, goal, solved)
        solved.levels.append(result)
        model.model.add(goal.linear <= goal.value(solved.choice))
        say(
            f"{goal.level}: best {result.value:g}, bound {result.bound:g}, "
            f"{result.status}, {result.seconds:.1f} s"
        )
    _merge_runs(problem, book, effort, model, solved)
    return solved


def _merge_runs(
    problem: Problem, book: SessionBook, effort: Effort, model: SeasonModel, solved: Solved
) -> None:
    """Of plans equal on every level, one with few runs: nobody packs one bag of beans eight times.

    No level of the design, so it has no proof; it only breaks ties.
    """
    runs = _Goal("waiting", cp_model.LinearExpr.sum(model.made), lambda c: len(c.pouches), 1)
    _improve_nearby(book, _Search(model, runs, effort), runs, solved)


def _solve_level(
    book: SessionBook, effort: Effort, model: SeasonModel, goal: _Goal, solved: Solved
) -> LevelResult:
    began = time.monotonic()
    search = _Search(model, goal, effort)
    if not solved.levels:
        _begin(book, search, solved)
    _improve_nearby(book, search, goal, solved)
    while search.left > 0 and search.bound < goal.value(solved.choice):
        choice = search.next_choice(solved.choice)
        if choice is None:
            break
        cuts = book.cuts_for(choice)
        if not cuts and goal.value(choice) < goal.value(solved.choice):
            solved.choice = choice
        solved.cuts += cuts
        search.add_cuts(cuts)
        if cuts and not any(cut.proven for cut in cuts):
            break  # the same choice would come back: an unproven cut does not bind here
    value = goal.value(solved.choice)
    optimal = search.bound >= value
    return LevelResult(
        goal.level,
        value / goal.scale,
        search.bound / goal.scale,
        "optimal" if optimal else "feasible",
        time.monotonic() - began,
    )


def _begin(book: SessionBook, search: _Search, solved: Solved) -> None:
    """A first choice: the relaxed best without the sessions that do not fit."""
    choice = search.next_choice(solved.choice)
    if choice is None and search.impossible:
        raise NoValidPlan(FULL)
    if choice is not None:
        cuts = book.cuts_for(choice)
        solved.cuts += cuts
        search.add_cuts(cuts)
        solved.choice = book.fitting_part(choice)


def _improve_nearby(book: SessionBook, search: _Search, goal: _Goal, solved: Solved) -> None:
    """Betters the choice stretch by stretch of the season, everything else held (fix and optimise).

    Stretches overlap and grow from pass to pass. Each answer is timed minute by minute.
    """
    windows = len(book.problem.windows)
    for stretch in STRETCHES:
        for first in range(0, max(1, windows - stretch // 2), stretch // 2):
            if goal.value(solved.choice) <= search.bound:
                return
            free = set(range(first, first + stretch))
            for _ in range(TRIALS):
                choice = search.nearby_choice(solved.choice, free)
                if choice is None or goal.value(choice) >= goal.value(solved.choice):
                    break
                cuts = book.cuts_for(choice)
                if not cuts:
                    solved.choice = choice
                    break
                solved.cuts += cuts
                search.add_cuts(cuts)


class _Search:
    """One level's search. `bound` is proven: unproven cuts do not bind where it is computed."""

    def __init__(self, model: SeasonModel, goal: _Goal, effort: Effort) -> None:
        assert goal.linear is not None
        self.model = model
        self.goal = goal.linear
        self.seed = effort.seed
        self.left = effort.of(goal.level)
        self.bound = 0  # no goal can fall below nought
        self.impossible = False
        model.model.minimize(self.goal)

    def next_choice(self, known: Choice) -> Choice | None:
        """The best choice with the effort left, or None where nothing was found."""
        self.model.hint(known)
        solver = _solver(self.left, self.seed)
        status = solver.solve(self.model.model)
        self.left -= max(LEAST_EFFORT, solver.response_proto.deterministic_time)
        self.impossible = status == cp_model.INFEASIBLE
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        bound = math.ceil(solver.best_objective_bound - 1e-6)
        if bound > self.bound:
            self.bound = bound
            self.model.model.add(self.goal >= bound)
        return self.model.read(solver)

    def nearby_choice(self, known: Choice, free: set[int]) -> Choice | None:
        """The best choice that differs from `known` only in the free windows."""
        self.model.hint(known)
        solver = _solver(NEARBY_EFFORT, self.seed)
        status = solver.solve(self.model.near(known, free))
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        return self.model.read(solver)

    def add_cuts(self, cuts: list[Cut]) -> None:
        for cut in cuts:
            self.model.add_cut(cut)


def _solver(limit: float, seed: int) -> cp_model.CpSolver:
    """One worker with a strong linear relaxation: repeatable, and the best prover measured."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 2
    solver.parameters.random_seed = seed
    solver.parameters.max_deterministic_time = limit
    return solver


@dataclass(frozen=True)
class _Goal:
    """A goal as the solver sees it and as recomputed from a choice, never trusting the solver.

    `scale` divides the whole number back into the level's own unit.
    """

    level: Level
    linear: cp_model.LinearExpr | None
    value: Callable[[Choice], int]
    scale: float


def _goals(problem: Problem, model: SeasonModel) -> list[_Goal]:
    """Each level's goal, to be minimised.

    wants     weighted portions short
    change    weighted pouches moved against the published plan
    evenings  sessions
    overtime  minutes of extra windows used
    waiting   kilograms times the share of their keeping time used up, in hundredths
    """
    change = _change(problem, model) if problem.earlier else None
    return [
        _Goal("wants", _short(problem, model), lambda c: short_value(problem, c), PRIORITY),
        _Goal("change", change, lambda c: change_value(problem, c), 1),
        _Goal(
            "evenings",
            cp_model.LinearExpr.sum(model.used),
            lambda c: len(_windows_used(problem, c)),
            1,
        ),
        _Goal("overtime", _overtime(problem, model), lambda c: overtime_value(problem, c), 1),
        _Goal("waiting", _waiting(problem, model), lambda c: waiting_value(problem, c), 1000),
    ]


def _weight(problem: Problem, demand: int) -> int:
    return round(PRIORITY * problem.demands[demand].priority)


def _short(problem: Problem, model: SeasonModel) -> cp_model.LinearExpr:
    wanted = sum(_weight(problem, i) * d.portions for i, d in enumerate(problem.demands))
    made = cp_model.LinearExpr.weighted_sum(
        model.pouches, [_weight(problem, o.demand) for o in problem.options]
    )
    return wanted - made


def short_value(problem: Problem, choice: Choice) -> int:
    wanted = sum(_weight(problem, i) * d.portions for i, d in enumerate(problem.demands))
    return wanted - sum(
        _weight(problem, problem.options[o].demand) * n for o, n in choice.pouches.items()
    )


def _windows_used(problem: Problem, choice: Choice) -> set[int]:
    return {w for o in choice.pouches for w, _ in problem.options[o].sittings()}


def _minutes(problem: Problem, window: int) -> int:
    span = problem.windows[window]
    return int((span.end - span.start).total_seconds() // 60)


def _overtime(problem: Problem, model: SeasonModel) -> cp_model.LinearExpr:
    return cp_model.LinearExpr.weighted_sum(
        model.used, [_minutes(problem, w) * x.extra for w, x in enumerate(problem.windows)]
    )


def overtime_value(problem: Problem, choice: Choice) -> int:
    return sum(
        _minutes(problem, w) for w in _windows_used(problem, choice) if problem.windows[w].extra
    )


def _waiting(problem: Problem, model: SeasonModel) -> cp_model.LinearExpr:
    return cp_model.LinearExpr.weighted_sum(
        list(model.share.values()),
        [waiting_cost(problem, problem.options[o], lot) for o, lot in model.share],
    )


def waiting_value(problem: Problem, choice: Choice) -> int:
    return sum(
        waiting_cost(problem, problem.options[o], lot) * grams
        for o, shares in choice.shares.items()
        for lot, grams in shares.items()
    )


def waiting_cost(problem: Problem, option: Option, lot: int) -> int:
    """Hundredths of the lot's keeping time used up when it waits for the option's window."""
    food = problem.lots[lot]
    waited = (problem.windows[option.first].start.date() - food.ready).days
    keeps = max(1, (food.keep_until - food.ready).days)
    return round(100 * waited / keeps)


def _change(problem: Problem, model: SeasonModel) -> cp_model.LinearExpr:
    """Pouches that differ from the published plan per window and product, dearer the nearer."""
    terms: list[cp_model.IntVar] = []
    weights: list[int] = []
    for (w, d), options in sorted(_first_sittings(problem).items()):
        was = _was(problem, w, d)
        most = max(was, max(o.most for o in options))
        moved = model.model.new_int_var(0, most, f"moved{w}.{d}")
        now = sum(model.pouches[o.number] for o in options)
        model.model.add(moved >= now - was)
        model.model.add(moved >= was - now)
        terms.append(moved)
        weights.append(_window_weight(problem, w))
    return cp_model.LinearExpr.weighted_sum(terms, weights) + _lost(problem)


def change_value(problem: Problem, choice: Choice) -> int:
    total = _lost(problem)
    for (w, d), options in _first_sittings(problem).items():
        now = sum(choice.pouches.get(o.number, 0) for o in options)
        total += _window_weight(problem, w) * abs(now - _was(problem, w, d))
    return total


def _first_sittings(problem: Problem) -> dict[tuple[int, int], list[Option]]:
    found: dict[tuple[int, int], list[Option]] = {}
    for option in problem.options:
        found.setdefault((option.first, option.demand), []).append(option)
    return found


def _was(problem: Problem, window: int, demand: int) -> int:
    assert problem.earlier is not None
    key = (problem.windows[window].start, problem.demands[demand].process.name)
    return problem.earlier.pouches.get(key, 0)


def _window_weight(problem: Problem, window: int) -> int:
    return nearness((problem.windows[window].start.date() - problem.as_of).days)


def _lost(problem: Problem) -> int:
    """What the published plan had and no option can have any more; it cannot be avoided."""
    assert problem.earlier is not None
    can = {
        (problem.windows[w].start, problem.demands[d].process.name)
        for w, d in _first_sittings(problem)
    }
    return sum(
        nearness((start.date() - problem.as_of).days) * was
        for (start, name), was in problem.earlier.pouches.items()
        if (start, name) not in can
    )


def nearness(days: int) -> int:
    """Weight of a change so many days ahead: 10 within a week, falling to 1 after nine weeks."""
    return max(1, 10 - max(0, days) // 7)
