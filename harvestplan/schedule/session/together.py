"""What two products come to together in one session: rows that hold for every plan.

A cut forbids one combination that was found not to fit, and the linear relaxation hardly feels it.
So the minute model is asked beforehand, for each number of pouches of one product, how many of
another fit beside it. The straight lines over the answers (their convex hull) are rows: whatever
else is made in a session, no two products of it come to more.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from harvestplan.kitchen.layout import Sitting
from harvestplan.schedule.session.timed_sessions import TimedSessions, WindowRun
from harvestplan.schedule.statement.choice import Together
from harvestplan.schedule.statement.problem import Option, Problem

MOST_ASKED = 1500
"""Questions to the minute model, each answered in some milliseconds; of a household's season there
are some hundreds."""

Point = tuple[int, int]
"""Pouches of one product, and of the other beside it."""


@dataclass(frozen=True)
class _Work:
    """A product's work in windows that are alike: a sitting, and the option with most pouches."""

    sitting: Sitting
    option: Option

    @property
    def kind(self) -> tuple[int, Sitting]:
        return self.option.demand, self.sitting


class _Questions:
    """What fits, asked of the minute model, and how often it was asked."""

    def __init__(self, timed: TimedSessions) -> None:
        self.timed, self.asked = timed, 0

    def most(self, window: int, work: _Work) -> int:
        """Pouches of the product alone."""
        fits, fits_not = 0, work.option.most + 1
        while fits_not - fits > 1:
            # The most of the option first: as a rule there is time for it.
            pouches = work.option.most if fits_not > work.option.most else (fits + fits_not) // 2
            if self._fits(window, (work, pouches)):
                fits = pouches
            else:
                fits_not = pouches
        return fits

    def frontier(
        self, window: int, one: tuple[_Work, int], other: tuple[_Work, int]
    ) -> list[Point]:
        """The most of the other for each number of the one, where each has a most of its own."""
        (first, most), (second, beside) = one, other
        found = [(0, beside)]
        for pouches in range(1, most + 1):
            while beside and not self._fits(window, (first, pouches), (second, beside)):
                beside -= 1
            found.append((pouches, beside))
        return found

    def _fits(self, window: int, *made: tuple[_Work, int]) -> bool:
        """Whether it is not quickly proven that so much does not fit together."""
        self.asked += 1
        problem = self.timed.problem
        runs = (_least_run(problem, work, pouches) for work, pouches in made)
        return not self.timed.refused(window, tuple(sorted(runs, key=lambda run: run.demand)))


def limits_together(timed: TimedSessions, most_asked: int = MOST_ASKED) -> list[Together]:
    """What one and two products come to, in the windows of which there are most first, as far as so
    many questions go."""
    questions, limits = _Questions(timed), list[Together]()
    for windows in _alike(timed.problem):
        works = _works(timed.problem, windows)
        most = [(work, questions.most(windows[0], work)) for work in works]
        limits += [
            Together(windows, ((work.kind, 1),), pouches)
            for work, pouches in most
            if pouches < work.option.most
        ]
        for one, other in itertools.combinations(most, 2):
            if questions.asked >= most_asked:
                return limits
            if one[0].kind[0] == other[0].kind[0]:
                continue
            kinds = one[0].kind, other[0].kind
            for a, b, c in lines_over(questions.frontier(windows[0], one, other)):
                limits.append(Together(windows, tuple(zip(kinds, (a, b), strict=True)), c))
    return limits


def _alike(problem: Problem) -> list[tuple[int, ...]]:
    """Windows of the same length, hands and kind."""
    found: dict[tuple[int, int, str], list[int]] = defaultdict(list)
    for number, window in enumerate(problem.windows):
        found[problem.length(number), window.hands, window.kind].append(number)
    return sorted(map(tuple, found.values()), key=lambda windows: (-len(windows), windows))


def _works(problem: Problem, windows: Iterable[int]) -> list[_Work]:
    """What may be worked on in one of these windows."""
    within, found = set(windows), dict[tuple[int, Sitting], _Work]()
    for option in problem.options:
        for window, sitting in option.sittings():
            work = _Work(sitting, option)
            known = found.get(work.kind)
            if window in within and (known is None or known.option.most < option.most):
                found[work.kind] = work
    return [found[kind] for kind in sorted(found)]


def _least_run(problem: Problem, work: _Work, pouches: int) -> WindowRun:
    """A run of so many pouches with the least food: what was bought may leave the last one in part,
    so that what does not fit then fits with no food that fills them."""
    option = work.option
    raw = problem.work.raw(option.demand, pouches)
    if problem.demands[option.demand].process.crop.kind == "bought":
        raw = problem.work.raw(option.demand, pouches - 1) + 1
    return WindowRun(
        option.number,
        option.demand,
        work.sitting,
        raw=raw,
        pouches=pouches,
        freezer=option.freezer,
    )


def lines_over(frontier: Iterable[Point]) -> Iterator[tuple[int, int, int]]:
    """(a, b, c) for each line a·x + b·y ≤ c of the convex hull over the points that says more than
    a most of x or of y alone. The points are in order of x, y never rises (Andrew's chain)."""
    hull: list[Point] = []
    for point in frontier:
        while len(hull) > 1 and _turns_left(hull[-2], hull[-1], point):
            hull.pop()
        hull.append(point)
    for (x, y), (right, lower) in itertools.pairwise(hull):
        if y > lower:
            a, b = y - lower, right - x
            yield a, b, a * x + b * y


def _turns_left(first: Point, middle: Point, last: Point) -> bool:
    """Whether the middle point lies on or below the line between the others."""
    (x0, y0), (x1, y1), (x2, y2) = first, middle, last
    return (x1 - x0) * (y2 - y0) >= (y1 - y0) * (x2 - x0)
