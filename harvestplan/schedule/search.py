"""Searching one level: nearby and exactly, with a bound that is proven.

Three ways, each where it is strong: fix and optimise in CP-SAT finds good plans, CP-SAT over the
whole season proves wants, and mixed-integer programming (`mip`) proves evenings and overtime.
Every answer counts only once its sessions were timed minute by minute; what does not fit comes
back as a cut.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

from ortools.sat.python import cp_model

from harvestplan.schedule.by_hand import plan_by_hand
from harvestplan.schedule.goals import Goal
from harvestplan.schedule.mip import least
from harvestplan.schedule.season_model import Choice, Cut, SeasonModel
from harvestplan.schedule.sessions import SessionBook
from harvestplan.schedule.solving import one_worker, solve

LEAST_EFFORT = 0.2
"""Deterministic seconds a round counts at the least, so that rounds come to an end."""
STRETCHES = (8, 16, 28)
TRIALS = 5
BEGIN_EFFORT = 0.5
NEARBY_EFFORT = 0.25
"""Windows in a stretch, pass by pass; rounds of cuts for each; deterministic seconds a round."""
MOST_COLUMNS = 12_000
"""A larger season is left to CP-SAT: one relaxation would take longer than the whole level."""


class Search:
    """One level's search from the choice in `best`, which never gets worse.

    `bound` is proven: unproven cuts do not bind where it is computed. `cuts` are those learned.
    """

    def __init__(
        self,
        model: SeasonModel,
        book: SessionBook,
        goal: Goal,
        best: Choice,
        effort: float,
        seed: int,
        floor: int = 0,
    ) -> None:
        assert goal.linear is not None
        self.model, self.book = model, book
        self.goal, self.linear = goal, goal.linear
        self.best = best
        self.cuts: list[Cut] = []
        self.bound = floor  # no goal can fall below nought
        self.impossible = False
        self._seed, self._left = seed, effort
        model.model.minimize(self.linear)

    @property
    def value(self) -> int:
        return self.goal.value(self.best)

    @property
    def settled(self) -> bool:
        """Whether no better choice exists."""
        return self.bound >= self.value

    @property
    def small(self) -> bool:
        """Whether the season's linear relaxation is solved in reasonable time."""
        return len(self.model.model.proto.variables) <= MOST_COLUMNS

    def begin(self) -> None:
        """A first choice: the better of the plan made by hand and the relaxed best without the
        sessions that do not fit."""
        choice = self._whole_season(min(BEGIN_EFFORT, self._left))
        if choice is None:
            return
        self._learn(self.book.cuts_for(choice))
        self.best = self.book.fitting_part(choice)
        if not self.settled:
            by_hand = plan_by_hand(self.book.problem, self.book)
            if self.goal.value(by_hand) < self.value and self.model.holds(by_hand):
                self.best = by_hand

    def sweep(self, stretches: Iterable[int]) -> None:
        """Betters the choice stretch by stretch of the season (fix and optimise).

        Stretches overlap; where several lengths are given they grow from pass to pass.
        """
        windows = len(self.book.problem.windows)
        for stretch in stretches:
            for first in range(0, max(1, windows - stretch // 2), stretch // 2):
                self.within(set(range(first, first + stretch)))

    def around(self, windows: Iterable[int], stretches: Sequence[int]) -> None:
        """Betters the choice in stretches with the windows in their middle."""
        for window, stretch in itertools.product(windows, stretches):
            first = max(0, window - stretch // 2)
            self.within(set(range(first, first + stretch)))

    def within(self, free: set[int]) -> None:
        """Betters the choice within the free windows, everything else held."""
        for _ in range(TRIALS):
            if self.settled:
                return
            choice = self._nearby(free)
            if choice is None or self.goal.value(choice) >= self.value:
                return
            if not self._try(choice):
                return

    def prove(self) -> None:
        """Solves the whole season until the choice is settled or the effort is spent."""
        while self._left > 0 and not self.settled:
            choice = self._whole_season(self._left)
            if choice is None:
                return
            cuts = self._try(choice)
            if cuts and not any(cut.proven for cut in cuts):
                return  # the same choice would come back: an unproven cut does not bind here
            if cuts:
                self.sweep(STRETCHES[-1:])

    def branch(self, nodes: int) -> None:
        """Branches on the linear relaxation; what it finds better is taken up where it fits."""
        while nodes > 0 and not self.settled:
            found = least(self.model.model, nodes, self._seed)
            self._raise_bound(found.bound)
            if found.values is None:
                return
            choice = self.model.choice(found.values)
            if self.goal.value(choice) >= self.value:
                return
            if not any(cut.proven for cut in self._try(choice)):
                return
            nodes //= 3

    def _try(self, choice: Choice) -> list[Cut]:
        """Takes the choice up where it is better and its sessions fit; what does not, as cuts."""
        cuts = self.book.cuts_for(choice)
        if not cuts and self.goal.value(choice) < self.value:
            self.best = choice
        self._learn(cuts)
        return cuts

    def _learn(self, cuts: list[Cut]) -> None:
        self.cuts += cuts
        for cut in cuts:
            self.model.add_cut(cut)

    def _whole_season(self, effort: float) -> Choice | None:
        """The best choice with so much effort, or None where none was found."""
        self.model.hint(self.best)
        solver = _solver(effort, self._seed)
        status = solve(solver, self.model.model)
        self._left -= max(LEAST_EFFORT, solver.response_proto.deterministic_time)
        self.impossible = status == cp_model.INFEASIBLE
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        self._raise_bound(solver.best_objective_bound)
        return self.model.choice(list(solver.response_proto.solution))

    def _nearby(self, free: set[int]) -> Choice | None:
        """The best choice that differs from the present one only in the free windows."""
        self.model.hint(self.best)
        solver = _solver(NEARBY_EFFORT, self._seed)
        status = solve(solver, self.model.near(self.best, free))
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        return self.model.choice(list(solver.response_proto.solution))

    def _raise_bound(self, proven: float) -> None:
        bound = math.ceil(proven - 1e-6) if math.isfinite(proven) else 0
        if bound > self.bound:
            self.bound = bound
            self.model.model.add(self.linear >= bound)


def _solver(limit: float, seed: int) -> cp_model.CpSolver:
    """One worker with a strong linear relaxation: the best prover measured."""
    solver = one_worker(limit, seed)
    solver.parameters.linearization_level = 2
    return solver
