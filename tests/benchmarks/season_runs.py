"""One method on one season under a time limit, in a process of its own; every better plan counts.

The clock starts when the problem is stated and stops for all methods alike at the limit, wherever
they are. All plans are judged by the same goals (schedule/goals) and the same rules.
"""

from __future__ import annotations

import math
import multiprocessing
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from multiprocessing.connection import Connection

from benchmarks.judged_times import faults
from benchmarks.plain_model import plain_plan, whole_model_plan
from benchmarks.seasons import Instance, big, household, shared, wide

from harvestplan.schedule.goals.part import MICRO
from harvestplan.schedule.goals.worth import Goal, worth_of_season
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.search.by_hand import plan_by_hand
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import solve_season
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import SessionTimes
from harvestplan.schedule.session.timed_sessions import (
    FIT_EFFORT,
    TimedSessions,
    session_tasks,
    window_runs,
)
from harvestplan.schedule.statement.choice import Choice, Cut, windows_used
from harvestplan.schedule.statement.problem import Problem

METHODS = ("harvestplan", "by hand", "plain model", "CP-SAT alone")
SMALL = 2
"""Pouches of a run that hardly pays."""
PERISHES = 30
"""Days that perishable food keeps at most."""
Found = Callable[[Choice], None]


@dataclass(frozen=True, order=True)
class Worth:
    """What a plan costs, in portions (its worth below nought), and what is told of it.

    Portions `missed`, unweighted; evenings and visits; runs, and `small` those of one or two
    pouches that do not finish a want; the `age` of food when it is put by, days by grams.
    """

    cost: float
    missed: int
    evenings: int
    visits: int
    runs: int
    small: int
    age: float


@dataclass(frozen=True)
class Step:
    """A better plan: seconds by the clock and of computing (all cores) until it was there."""

    seconds: float
    computing: float
    worth: Worth


@dataclass
class Run:
    """What a method found, better plan by better plan; the gap where it proved any."""

    season: str
    method: str
    seed: int
    steps: list[Step] = field(default_factory=list)
    gap: float = math.nan
    finished: float = math.nan
    sound: bool = False

    @property
    def first(self) -> Step | None:
        """The first plan that puts something by."""
        return next((step for step in self.steps if step.worth.evenings), None)

    @property
    def last(self) -> Step:
        return self.steps[-1]

    @property
    def best(self) -> Worth:
        return self.last.worth


def instance(name: str, seed: int) -> Instance:
    """The season called "household", "big", "wide" or "shared-<households>"."""
    if name.startswith("shared-"):
        return shared(int(name.removeprefix("shared-")), seed)
    return {"household": household, "big": big, "wide": wide}[name](seed)


def worth_of(problem: Problem, goal: Goal, choice: Choice) -> Worth:
    """The plan's worth, recomputed from its pouches and lots alone."""
    used = windows_used(problem, choice)
    visits = sum(problem.windows[w].is_visit for w in used)
    made: Counter[int] = Counter()
    for o, pouches in choice.pouches.items():
        made[problem.options[o].demand] += pouches
    small = sum(
        pouches <= SMALL and made[d] < problem.demands[d].portions
        for o, pouches in choice.pouches.items()
        for d in (problem.options[o].demand,)
    )
    return Worth(
        round(goal.cost(choice) / MICRO, 4),
        sum(demand.portions for demand in problem.demands) - sum(choice.pouches.values()),
        len(used) - visits,
        visits=visits,
        runs=len(choice.pouches),
        small=small,
        age=round(_age(problem, choice), 2),
    )


def _age(problem: Problem, choice: Choice) -> float:
    """Days from ready to put by of food that keeps no more than a month, by grams."""
    days = grams = 0
    for o, shares in choice.shares.items():
        day = problem.windows[problem.options[o].first].start.date()
        for lot, taken in shares.items():
            food = problem.lots[lot]
            if (food.keep_until - food.ready).days <= PERISHES:
                days += taken * max(0, (day - food.ready).days)
                grams += taken
    return days / grams if grams else 0.0


def is_sound(problem: Problem, choice: Choice, seed: int = 1) -> bool:
    """Whether every rule of the season holds, and every session has times without a fault.

    The seed is that of the method: where a session is hard to lay out, another may not find it.
    """
    for window, runs in window_runs(problem, choice).items():
        asked = session_tasks(problem, window, runs)
        times = time_session(asked, 5 * FIT_EFFORT, improve=False, seed=seed)
        if not isinstance(times, SessionTimes) or faults(asked, times.times):
            return False
    return SeasonModel(problem, []).holds(choice)


def run(name: str, method: str, seed: int, limit: float) -> Run:
    """The method's plans of the season within `limit` s."""
    problem = instance(name, seed).problem()
    done = Run(name, method, seed)
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe(duplex=False)
    child = context.Process(target=_work, args=(theirs, name, method, seed, limit))
    child.start()
    theirs.close()
    try:
        best = _listen(ours, done, problem, limit=limit)
    finally:
        child.kill()
        child.join()
    done.sound = is_sound(problem, best, seed)
    return done


def _listen(ours: Connection, done: Run, problem: Problem, limit: float) -> Choice:
    """Takes every better plan until the method ends or the limit is reached."""
    best, goal = Choice({}, {}), worth_of_season(state_rules(problem))
    done.steps.append(Step(0.0, 0.0, worth_of(problem, goal, best)))
    assert ours.poll(600), "the season was never stated"
    began = ours.recv()
    while (left := began + limit - time.time()) > 0 and ours.poll(left):
        kind, at, computing, what = ours.recv()
        if kind == "end":
            done.finished, done.gap = at - began, what
            break
        choice = Choice(*what)
        worth = worth_of(problem, goal, choice)
        if worth < done.best:
            best = choice
            done.steps.append(Step(at - began, computing, worth))
    return best


def _work(pipe: Connection, name: str, method: str, seed: int, limit: float) -> None:
    """The child's work: the moment it begins, then plans, then how it ended."""
    problem = instance(name, seed).problem()
    pipe.send(time.time())
    idle = time.process_time()

    def tell(kind: str, what: object) -> None:
        pipe.send((kind, time.time(), time.process_time() - idle, what))

    def found(choice: Choice) -> None:
        tell("plan", (choice.pouches, choice.shares))

    gap = math.nan
    if method == "by hand":
        found(plan_by_hand(state_rules(problem), TimedSessions(problem, seed)))
    elif method == "plain model":
        plain_plan(problem, TimedSessions(problem, seed), limit, seed=seed, found=found)
    elif method == "CP-SAT alone":
        whole_model_plan(problem, TimedSessions(problem, seed), limit, seed=seed, found=found)
    else:
        book = Watched(problem, seed, found)
        solved = solve_season(problem, book, Effort(seed=seed))
        found(solved.choice)
        gap = solved.gap
    tell("end", gap)


class Watched(TimedSessions):
    """Tells of every choice all of whose sessions fit, as soon as that is known."""

    def __init__(self, problem: Problem, seed: int, found: Found) -> None:
        super().__init__(problem, seed)
        self.found = found

    def cuts_for(self, choice: Choice) -> list[Cut]:
        cuts = super().cuts_for(choice)
        if not cuts:
            self.found(choice)
        return cuts

    def fitting_part(self, choice: Choice) -> Choice:
        part = super().fitting_part(choice)
        self.found(part)
        return part
