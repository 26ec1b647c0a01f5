"""The goals one after the other (wants first), each with a proven bound.

Each level minimises its goal with all earlier goals held at their best; the answer before is the
hint of the next. A choice counts only once every session in it was timed minute by minute; what
does not fit comes back as a cut and the level is solved again.
"""

from __future__ import annotations

import contextlib
import dataclasses
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Literal

from harvestplan.errors import NoValidPlan
from harvestplan.plan.models import COUNTED, Level
from harvestplan.schedule.goals.all_goals import season_goals
from harvestplan.schedule.goals.fewest_runs import fewest_runs
from harvestplan.schedule.goals.goal import Aim, Goal
from harvestplan.schedule.goals.waiting_time import WAITING_SCALE, waiting_value
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.one_level import STRETCHES, LevelSearch
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.choice import Choice, Cut
from harvestplan.schedule.statement.problem import Problem

FULL = (
    "No plan keeps within the freezers as they stand: what is stored already takes more space "
    "than there is. Correct `used` or [[stored]], or add a freezer."
)
FIRST = 2
"""Rounds of proving before anything is looked for nearby."""


@dataclass(frozen=True)
class Effort:
    """Nodes of branch and bound for each level; the same on every machine, so plans repeat."""

    wants: int = 700
    change: int = 400
    evenings: int = 800
    overtime: int = 200
    waiting: int = 2500
    seed: int = 1

    def of(self, level: Level) -> int:
        return int(getattr(self, level))


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
    """`value` and `bound` in the level's own unit (divided by `Goal.scale`)."""

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
    stopped: bool = False
    """Whether somebody pressed Ctrl-C: the choice is valid, its later levels are not proven."""


def solve_levels(
    problem: Problem,
    book: TimedSessions,
    effort: Effort,
    say: Callable[[str], None] = lambda text: print(text, file=sys.stderr),
    known: Known = Known(),
) -> Solved:
    """The best plan by the goals in their order.

    Raises
    ------
    NoValidPlan
        Where not even doing nothing satisfies the rules (a freezer already over-full).
    KeyboardInterrupt
        Where somebody pressed Ctrl-C before there was any plan. Later it only ends the search:
        the best plan so far is given, with the bounds proven so far.
    """
    began = time.monotonic()
    model = SeasonModel(problem, known.cuts)
    published = _published_choice(problem, book, model)
    solved = Solved(published or _sound(known.start, book, model) or Choice({}, {}))
    goals = season_goals(model.season)
    try:
        _take_levels(book, effort, model, goals, solved, known, say, began)
    except KeyboardInterrupt:
        if not solved.choice.pouches:
            raise
        solved.stopped = True
        _take_levels(book, effort, model, goals, solved, known, say, began)
    if known.last != "waiting":
        return solved
    if published is not None and solved.choice.pouches == published.pouches:
        _stay_with(published, problem, solved)
    elif not solved.stopped:
        _merge_runs(book, effort, model, solved)
    return solved


def _published_choice(problem: Problem, book: TimedSessions, model: SeasonModel) -> Choice | None:
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


def _sound(choice: Choice | None, book: TimedSessions, model: SeasonModel) -> Choice | None:
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


def _merge_runs(book: TimedSessions, effort: Effort, model: SeasonModel, solved: Solved) -> None:
    """Of plans equal on every level, one with few runs."""
    runs = fewest_runs(model.season)
    search = LevelSearch(model, book, runs, solved.choice, effort=0, seed=effort.seed)
    with contextlib.suppress(KeyboardInterrupt):
        search.sweep(STRETCHES[1:2])
    solved.choice = search.best


def _take_levels(
    book: TimedSessions,
    effort: Effort,
    model: SeasonModel,
    goals: Sequence[Goal],
    solved: Solved,
    known: Known,
    say: Callable[[str], None],
    began: float,
) -> None:
    """Takes the levels not taken yet, up to the last asked for: solves, holds, tells of each."""
    while len(solved.levels) < len(goals):
        goal = goals[len(solved.levels)]
        if goal.aim is None:
            solved.levels.append(LevelResult(goal.level, 0.0, 0.0, "skipped", 0.0))
            continue
        result = _solve_level(book, effort, model, goal, goal.aim, solved, known)
        model.limit(goal.level, goal.aim.total, most=goal.aim.value(solved.choice))
        solved.levels.append(result)
        say(f"{_told(result)}, after {time.monotonic() - began:.0f} s.")
        if goal.level == known.last:
            return


def _told(result: LevelResult) -> str:
    """A level's value and its proven bound, for one who waits."""
    best = f"{COUNTED[result.level].capitalize()}: {result.value:g}"
    if result.status == "optimal":
        return f"{best}, and no plan can have less"
    return f"{best}; no plan can have less than {result.bound:g}"


def _solve_level(
    book: TimedSessions,
    effort: Effort,
    model: SeasonModel,
    goal: Goal,
    aim: Aim,
    solved: Solved,
    known: Known,
) -> LevelResult:
    began = time.monotonic()
    floor = known.least_short if goal.level == "wants" else 0
    search = LevelSearch(
        model,
        book,
        aim,
        solved.choice,
        effort=effort.of(goal.level),
        seed=effort.seed,
        floor=floor,
    )
    if not solved.stopped:
        try:
            search_level(search, goal.level, known)
        except KeyboardInterrupt:
            if not search.best.pouches:
                raise
            solved.stopped = True
    if search.impossible and not solved.levels:
        raise NoValidPlan(FULL)
    solved.choice = search.best
    solved.cuts += search.cuts
    return LevelResult(
        goal.level,
        search.value / goal.scale,
        search.bound / goal.scale,
        "optimal" if search.bound >= search.value else "feasible",
        time.monotonic() - began,
    )


def search_level(search: LevelSearch, level: Level, known: Known) -> None:
    """The proof first; where it does not come soon, nearby, then the proof again.

    Late work can mostly be done without, which is soon found nearby and needs no proof.
    """
    if level == "wants" and not search.best.pouches:
        search.begin()
    if level == "wants" and known.near is not None:
        search.around(known.near, STRETCHES[1:])
    if level != "overtime":
        search.prove(rounds=FIRST)
    search.sweep(_sweeps(level, known))
    search.prove()


def _sweeps(level: Level, known: Known) -> Sequence[int]:
    """Long stretches pay where whole sessions go; the levels after that only shift within them."""
    if known.near is not None:
        return STRETCHES[1:2]
    if level == "evenings":
        return STRETCHES[1:]
    return STRETCHES[:2] if level in ("overtime", "waiting") else STRETCHES
