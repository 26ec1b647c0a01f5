"""What a plan is worth against its evenings: the whole trade, from none to as many as it uses.

Both ends are solved at once: upwards each point begins from the one before and the most useful
evening that the plan has beside, downwards from the one above less its least useful evening. More
evenings are never worth less, so a point counts for all above it and its bound for all below.
"""

from __future__ import annotations

import datetime as dt
import math
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
from harvestplan.foresight.worker_processes import in_parallel
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


def session_curve(folder: Path, as_of: dt.date, say: Say) -> Curve:
    """The trade for the sessions that can still be decided; kept ones count in every point."""
    question = state(folder, as_of)
    solved, base = solve_base(question, say)
    problem = question.problem
    most = len(used_evenings(problem, solved.choice))
    middle = most // 2
    say(f"The season is solved for 0 to {most} evenings.")
    ends = [(0, middle), *([(most - 1, middle)] if most - 1 > middle else [])]
    tasks = [(folder, as_of, base, first, middle) for first, middle in ends if most]
    up, *down = in_parallel(_half, tasks) or [[]]
    top = CurvePoint(
        evenings=most,
        portions=sum(solved.choice.pouches.values()),
        worth=round(solved.worth, 4),
        bound=round(solved.bound, 4),
    )
    kept = len(problem.history.evenings), sum(problem.history.pouches.values())
    points = _monotone([*up, *reversed(down[0] if down else []), top])
    wanted = sum(want.wanted for want in problem.wants)
    return Curve(wanted=wanted, points=tuple(_beside(point, *kept) for point in points))


def _half(folder: Path, as_of: dt.date, base: Base, first: int, middle: int) -> list[CurvePoint]:
    """The points from `first` to the middle (which belongs to the lower half)."""
    question = state(folder, as_of)
    if first <= middle:
        return _upwards(question, base, range(first, middle + 1))
    return _downwards(question, base, range(first, middle, -1))


def _upwards(question: Question, base: Base, numbers: range) -> list[CurvePoint]:
    points: list[CurvePoint] = []
    runs: tuple[EarlierRun, ...] = ()
    cuts = base.cuts
    goal = worth_of_season(state_rules(question.problem))
    for most in numbers:
        start = one_more(question.problem, goal, runs, base.runs) if most else ()
        point, found, cuts = _point(question, most, start, cuts=cuts, ceiling=base.most)
        if not points or point.worth > points[-1].worth:
            runs = found
        points.append(point)
    return points


def _downwards(question: Question, base: Base, numbers: range) -> list[CurvePoint]:
    points, runs, cuts, ceiling = [], base.runs, base.cuts, base.most
    goal = worth_of_season(state_rules(question.problem))
    for most in numbers:
        runs = one_less(question.problem, goal, runs)
        point, runs, cuts = _point(question, most, runs, cuts=cuts, ceiling=ceiling)
        ceiling = min(ceiling, point.bound)
        points.append(point)
    return points


def _point(
    question: Question,
    most: int,
    runs: tuple[EarlierRun, ...],
    *,
    cuts: tuple[Cut, ...],
    ceiling: float,
) -> tuple[CurvePoint, tuple[EarlierRun, ...], tuple[Cut, ...]]:
    """The best with at most so many evenings, its runs, and what was learned not to fit."""
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
    return point, runs_of(problem, solved.choice), tuple(dict.fromkeys(solved.cuts))


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
