"""The goals one after the other (design, section 6), each with a proven bound.

Each level minimises its goal with all earlier goals held at their best; the answer before is the
hint of the next. A choice counts only once every session in it was timed minute by minute; what
does not fit comes back as a cut and the level is solved again.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from ortools.sat.python import cp_model

from harvestplan.errors import NoValidPlan
from harvestplan.schedule.goals import (
    WAITING_SCALE,
    Goal,
    Level,
    season_goals,
    waiting_value,
)
from harvestplan.schedule.problem import Problem
from harvestplan.schedule.season_model import Choice, Cut, SeasonModel
from harvestplan.schedule.sessions import SessionBook
from harvestplan.schedule.solving import solve

LEAST_EFFORT = 0.2
"""Deterministic seconds a round counts at the least, so that rounds come to an end."""
STRETCHES = (8, 16, 28)
TRIALS = 5
BEGIN_EFFORT = 0.5
NEARBY_EFFORT = 0.25
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
    evenings: float = 5.0
    overtime: float = 0.8
    waiting: float = 1.5
    seed: int = 1

    def of(self, level: Level) -> float:
        return float(getattr(self, level))


@dataclass(frozen=True)
class Known:
    """What is known before solving, and how far to go: for questions asked of a season again.

    `start` is taken up where it keeps every rule. `cuts` must have been learned with the same
    demands and kitchen. `least_short` is a proven lower bound of the first level, in hundredths
    (as `goals.short_value`). With `near` the first level looks around these windows only before
    it proves, and the others sweep the season once; for a start that is good elsewhere. No level
    after `last` is solved, and then no ties are broken.
    """

    start: Choice | None = None
    cuts: tuple[Cut, ...] = ()
    least_short: int = 0
    near: tuple[int, ...] | None = None
    last: Level = "waiting"


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
    known: Known = Known(),
) -> Solved:
    """The best plan by the goals in their order.

    Raises
    ------
    NoValidPlan
        Where not even doing nothing satisfies the rules (a freezer already over-full).
    """
    model = SeasonModel(problem, known.cuts)
    published = _published_choice(problem, book, model)
    solved = Solved(published or _sound(known.start, book, model) or Choice({}, {}))
    for goal in season_goals(problem, model):
        if goal.linear is None:
            solved.levels.append(LevelResult(goal.level, 0.0, 0.0, "skipped", 0.0))
            continue
        result = _solve_level(book, effort, model, goal, solved, known)
        solved.levels.append(result)
        model.model.add(goal.linear <= goal.value(solved.choice))
        say(
            f"{goal.level}: best {result.value:g}, bound {result.bound:g}, "
            f"{result.status}, {result.seconds:.1f} s"
        )
        if goal.level == known.last != "waiting":
            return solved
    if published is not None and solved.choice.pouches == published.pouches:
        _stay_with(published, problem, solved)
    else:
        _merge_runs(problem, book, effort, model, solved)
    return solved


def _published_choice(problem: Problem, book: SessionBook, model: SeasonModel) -> Choice | None:
    """The published plan as a choice, where every run of it can still be made as it was."""
    if problem.earlier is None:
        return None
    lots = {lot.id: i for i, lot in enumerate(problem.lots)}
    starts = {window.start: w for w, window in enumerate(problem.windows)}
    options = {(o.demand, o.first, o.second, o.freezer): o for o in problem.options}
    demands = {demand.process.name: d for d, demand in enumerate(problem.demands)}
    pouches: dict[int, int] = {}
    shares: dict[int, dict[int, int]] = {}
    for run in problem.earlier.runs:
        second = None if run.second is None else starts.get(run.second, -1)
        key = (demands.get(run.product, -1), starts.get(run.first, -1), second, run.freezer)
        option = options.get(key)
        if option is None or run.pouches > option.most:
            return None
        given = {lots.get(lot, -1): grams for lot, grams in run.shares.items()}
        if not set(given) <= set(option.lots):
            return None
        pouches[option.number], shares[option.number] = run.pouches, given
    return _sound(Choice(pouches, shares), book, model)


def _sound(choice: Choice | None, book: SessionBook, model: SeasonModel) -> Choice | None:
    """The choice, where it keeps every rule and each of its sessions fits."""
    if choice is None or not model.holds(choice) or book.cuts_for(choice):
        return None
    return choice


def _stay_with(published: Choice, problem: Problem, solved: Solved) -> None:
    """No session changed: then no lot is swapped either, and no file is written anew for it."""
    waiting = solved.levels[-1]
    value = waiting_value(problem, published) / WAITING_SCALE
    status: Literal["optimal", "feasible"] = "optimal" if value <= waiting.bound else "feasible"
    solved.levels[-1] = dataclasses.replace(waiting, value=value, status=status)
    solved.choice = published


def _merge_runs(
    problem: Problem, book: SessionBook, effort: Effort, model: SeasonModel, solved: Solved
) -> None:
    """Of plans equal on every level, one with few runs: nobody packs one bag of beans eight times.

    No level of the design, so it has no proof; it only breaks ties.
    """
    runs = Goal("waiting", cp_model.LinearExpr.sum(model.made), lambda c: len(c.pouches), 1)
    _improve_nearby(book, _Search(model, runs, effort), runs, solved, STRETCHES[1:2])


def _solve_level(
    book: SessionBook,
    effort: Effort,
    model: SeasonModel,
    goal: Goal,
    solved: Solved,
    known: Known,
) -> LevelResult:
    began = time.monotonic()
    wants = goal.level == "wants"
    search = _Search(model, goal, effort, known.least_short if wants else 0)
    if wants and not solved.choice.pouches:
        _begin(book, search, solved)
    if wants and known.near is not None:
        for window, stretch in itertools.product(known.near, STRETCHES[1:]):
            first = max(0, window - stretch // 2)
            _improve_within(book, search, goal, solved, set(range(first, first + stretch)))
    else:
        _improve_nearby(book, search, goal, solved, _sweeps(goal.level, known))
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
        if cuts:
            _improve_nearby(book, search, goal, solved, STRETCHES[-1:])
    value = goal.value(solved.choice)
    optimal = search.bound >= value
    return LevelResult(
        goal.level,
        value / goal.scale,
        search.bound / goal.scale,
        "optimal" if optimal else "feasible",
        time.monotonic() - began,
    )


def _sweeps(level: Level, known: Known) -> Sequence[int]:
    """Long stretches pay where whole sessions go; the levels after that only shift within them."""
    if known.near is not None:
        return STRETCHES[1:2]
    return STRETCHES[:2] if level in ("overtime", "waiting") else STRETCHES


def _begin(book: SessionBook, search: _Search, solved: Solved) -> None:
    """A first choice: the relaxed best without the sessions that do not fit."""
    choice = search.next_choice(solved.choice, BEGIN_EFFORT)
    if choice is None and search.impossible:
        raise NoValidPlan(FULL)
    if choice is not None:
        cuts = book.cuts_for(choice)
        solved.cuts += cuts
        search.add_cuts(cuts)
        solved.choice = book.fitting_part(choice)


def _improve_nearby(
    book: SessionBook,
    search: _Search,
    goal: Goal,
    solved: Solved,
    stretches: Sequence[int],
) -> None:
    """Betters the choice stretch by stretch of the season, everything else held (fix and optimise).

    Stretches overlap and grow from pass to pass. Each answer is timed minute by minute.
    """
    windows = len(book.problem.windows)
    for stretch in stretches:
        for first in range(0, max(1, windows - stretch // 2), stretch // 2):
            _improve_within(book, search, goal, solved, set(range(first, first + stretch)))


def _improve_within(
    book: SessionBook, search: _Search, goal: Goal, solved: Solved, free: set[int]
) -> None:
    """Betters the choice within the free windows, where it may still be better at all."""
    for _ in range(TRIALS):
        if goal.value(solved.choice) <= search.bound:
            return
        choice = search.nearby_choice(solved.choice, free)
        if choice is None or goal.value(choice) >= goal.value(solved.choice):
            return
        cuts = book.cuts_for(choice)
        if not cuts:
            solved.choice = choice
            return
        solved.cuts += cuts
        search.add_cuts(cuts)


class _Search:
    """One level's search. `bound` is proven: unproven cuts do not bind where it is computed."""

    def __init__(self, model: SeasonModel, goal: Goal, effort: Effort, floor: int = 0) -> None:
        assert goal.linear is not None
        self.model = model
        self.goal = goal.linear
        self.seed = effort.seed
        self.left = effort.of(goal.level)
        self.bound = floor  # no goal can fall below nought
        self.impossible = False
        model.model.minimize(self.goal)

    def next_choice(self, known: Choice, most: float = math.inf) -> Choice | None:
        """The best choice with the effort left (at most `most`), or None where none was found."""
        self.model.hint(known)
        solver = _solver(min(self.left, most), self.seed)
        status = solve(solver, self.model.model)
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
        status = solve(solver, self.model.near(known, free))
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
