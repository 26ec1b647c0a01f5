"""What a plan is worth against its evenings: the whole trade, from none to as many as it uses.

Both ends are solved at once: upwards each point begins from the one before and the most useful
evening that the plan has beside, downwards from the one above less its least useful evening. More
evenings are never worth less, so a point counts for all above it and its bound for all below.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from harvestplan.foresight.answers import Curve, CurvePoint
from harvestplan.foresight.asking import (
    Base,
    Question,
    Say,
    answer,
    solve_base,
    state,
)
from harvestplan.foresight.crew import crew
from harvestplan.foresight.patience import Patience, how_long
from harvestplan.schedule.goals.worth import Goal, worth_of_season
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import Known
from harvestplan.schedule.statement.carried_over import (
    choice_from,
    runs_of,
    used_evenings,
    with_most_sessions,
    without_runs_in,
)
from harvestplan.schedule.statement.choice import Choice, Cut
from harvestplan.schedule.statement.problem import EarlierRun, Problem

POINT_EFFORT = Effort(nodes=25, nearby=0.3, rounds=1)
"""For each number of evenings."""
SECONDS = 10.0
"""To solve a household's season for one number of evenings, about."""


def session_curve(folder: Path, as_of: dt.date, say: Say, *, on: str | None = None) -> Curve:
    """The trade for the sessions that can still be decided; kept ones count in every point. After
    Ctrl-C only the points solved by then."""
    question = state(folder, as_of)
    solved, base = solve_base(question, say)
    problem = question.problem
    most = len(used_evenings(problem, solved.choice))
    long = how_long(most, SECONDS, len(problem.options))
    say(f"The season is solved for 0 to {most} evenings.{long}")
    top = CurvePoint(
        evenings=most,
        portions=sum(solved.choice.pouches.values()),
        worth=round(solved.worth, 4),
        bound=round(solved.bound, 4),
    )
    points = [*_points(question, folder, base, most, say=say, on=on), top]
    kept = len(problem.history.evenings), sum(problem.history.pouches.values())
    wanted = sum(want.wanted for want in problem.wants)
    return Curve(wanted=wanted, points=tuple(_beside(p, *kept) for p in _monotone(points)))


def _points(
    question: Question, folder: Path, base: Base, most: int, *, say: Say, on: str | None
) -> list[CurvePoint]:
    """The points below `most`, by evenings: both halves at once."""
    goal = worth_of_season(state_rules(question.problem))
    middle = most // 2
    halves: list[Upwards | Downwards] = []
    if most:
        halves.append(Upwards(question, goal, base, range(0, middle + 1)))
    if most - 1 > middle:
        halves.append(Downwards(question, goal, base, range(most - 1, middle, -1)))
    hear = Patience(most, "{done} of {all} numbers of evenings are solved", say)
    try:
        with crew(on) as team:
            for _ in team.chains(solve_point, [partial(half.go_on, folder) for half in halves]):
                hear()
    except KeyboardInterrupt:
        say("Stopped; what follows holds for what was solved by then.")
    found = [point for half in halves for point in half.points]
    return sorted(found, key=lambda point: point.evenings)


@dataclass(frozen=True)
class Point:
    """A point solved: its runs, and what was learned not to fit."""

    point: CurvePoint
    runs: tuple[EarlierRun, ...]
    cuts: tuple[Cut, ...]


PointTask = tuple[Path, dt.date, int, tuple[EarlierRun, ...], tuple[Cut, ...], float]
"""Folder, day, the most evenings, where to begin, known cuts, and what no plan is worth more
than."""


class Upwards:
    """Points one after the other, each with one evening more; the next begins from the best."""

    def __init__(self, question: Question, goal: Goal, base: Base, numbers: range) -> None:
        self.points: list[CurvePoint] = []
        self._question, self._goal, self._base = question, goal, base
        self._left = list(numbers)
        self._runs: tuple[EarlierRun, ...] = ()
        self._cuts = base.cuts

    def go_on(self, folder: Path, last: Point | None) -> PointTask | None:
        """Takes up the last point; the task of the next, None at the end."""
        if last is not None:
            if not self.points or last.point.worth > self.points[-1].worth:
                self._runs = last.runs
            self.points.append(last.point)
            self._cuts = last.cuts
        if not self._left:
            return None
        most = self._left.pop(0)
        problem, base = self._question.problem, self._base
        start = one_more(problem, self._goal, self._runs, base.runs) if most else ()
        return (folder, self._question.as_of, most, start, self._cuts, base.most)


class Downwards:
    """Points one after the other, each with one evening less, which costs least to leave out."""

    def __init__(self, question: Question, goal: Goal, base: Base, numbers: range) -> None:
        self.points: list[CurvePoint] = []
        self._question, self._goal = question, goal
        self._left = list(numbers)
        self._runs, self._cuts, self._ceiling = base.runs, base.cuts, base.most

    def go_on(self, folder: Path, last: Point | None) -> PointTask | None:
        """Takes up the last point; the task of the next, None at the end."""
        if last is not None:
            self._runs, self._cuts = last.runs, last.cuts
            self._ceiling = min(self._ceiling, last.point.bound)
            self.points.append(last.point)
        if not self._left:
            return None
        start = one_less(self._question.problem, self._goal, self._runs)
        most = self._left.pop(0)
        return (folder, self._question.as_of, most, start, self._cuts, self._ceiling)


def solve_point(
    folder: Path,
    as_of: dt.date,
    most: int,
    runs: tuple[EarlierRun, ...],
    cuts: tuple[Cut, ...],
    ceiling: float,
) -> Point:
    """The best with at most so many evenings, in whatever process."""
    question = state(folder, as_of)
    problem = with_most_sessions(question.problem, most)
    timed = question.timed.about(problem)
    known = Known(choice_from(problem, runs), cuts, ceiling, near=())
    solved = answer(problem, timed, POINT_EFFORT, known=known)
    point = CurvePoint(
        evenings=most,
        portions=sum(solved.choice.pouches.values()),
        worth=round(solved.worth, 4),
        bound=round(solved.bound, 4),
    )
    return Point(point, runs_of(problem, solved.choice), tuple(dict.fromkeys(solved.cuts)))


def one_more(
    problem: Problem, goal: Goal, runs: tuple[EarlierRun, ...], plan: tuple[EarlierRun, ...]
) -> tuple[EarlierRun, ...]:
    """The runs and, of the plan's other evenings, the one that is worth most beside them."""
    used = {time for run in runs for time in (run.first, run.second or run.first)}
    visits = {window.start for window in problem.windows if window.is_visit}
    alone = [run for run in plan if run.second is None or run.second in visits]
    spare = sorted({run.first for run in alone} - used)
    best = (goal.cost(choice_from(problem, runs)), runs)
    for start in spare:
        more = (*runs, *(run for run in alone if run.first == start))
        cost = goal.cost(choice_from(problem, more))
        if cost < best[0]:
            best = (cost, more)
    return best[1]


def one_less(problem: Problem, goal: Goal, runs: tuple[EarlierRun, ...]) -> tuple[EarlierRun, ...]:
    """The runs without the evening that costs least to leave out."""
    choice = choice_from(problem, runs)
    left: list[tuple[int, int, Choice]] = []
    for window in used_evenings(problem, choice):
        rest = without_runs_in(problem, choice, window)
        left.append((goal.cost(rest), window, rest))
    return runs_of(problem, min(left, key=lambda each: each[:2])[2]) if left else ()


def _monotone(points: list[CurvePoint]) -> list[CurvePoint]:
    """A plan for fewer evenings serves for more; a bound for more holds for fewer."""
    best: CurvePoint | None = None
    risen = []
    for point in points:
        if best is None or point.worth > best.worth:
            best = point
        update = {"portions": best.portions, "worth": best.worth}
        risen.append(point.model_copy(update=update))
    bound = math.inf
    sunk = []
    for point in reversed(risen):
        bound = min(bound, point.bound)
        sunk.append(point.model_copy(update={"bound": max(bound, point.worth)}))
    return sunk[::-1]


def _beside(point: CurvePoint, sessions: int, portions: int) -> CurvePoint:
    update = {"evenings": point.evenings + sessions, "portions": point.portions + portions}
    return point.model_copy(update=update)
