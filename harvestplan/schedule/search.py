"""Searching one level: nearby and exactly, with a bound that is proven.

Two ways, each where it is strong. From below: the solver asks whether the goal can be as low as
its bound, and raises the bound where it cannot (measured: it proves most levels in seconds that
the search for better and better plans leaves open for minutes). Nearby: fix and optimise, stretch
by stretch, finds good plans where the proof takes too long. Every answer counts only once its
sessions were timed minute by minute; what does not fit comes back as a cut.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

from ortools.sat.python import cp_model

from harvestplan.schedule.by_hand import plan_by_hand
from harvestplan.schedule.goals import Goal
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
ROUND = 4
"""Windows on either side of a session that does not fit, which may change with it."""


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

    def begin(self) -> None:
        """A first choice: the better of the plan made by hand and the relaxed best without the
        sessions that do not fit."""
        choice = self._whole_season(min(BEGIN_EFFORT, self._left), from_below=True)
        choice = choice or self._whole_season(min(BEGIN_EFFORT, self._left))
        if choice is not None:
            self._take_up(choice)
            self.best = self.best if self.best.pouches else self.book.fitting_part(choice)
        if not self.settled and not self.impossible:
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
            choice = self._nearby(free, self.best)
            if choice is None or self.goal.value(choice) >= self.value:
                return
            if not self._try(choice):
                return

    def prove(self, share: float = 1.0, *, from_below: bool = True) -> None:
        """Solves the whole season until the choice is settled or so large a share of the effort
        left is spent."""
        least_left = self._left * (1 - share)
        while self._left > least_left and not self.settled:
            choice = self._whole_season(self._left - least_left, from_below=from_below)
            if choice is None or self.goal.value(choice) >= self.value:
                return
            if not any(cut.proven for cut in self._take_up(choice)):
                return  # without a proven cut the same choice would come back

    def _take_up(self, choice: Choice) -> list[Cut]:
        """Takes up the choice, changed around those of its sessions that do not fit as long as it
        is better than the best; gives the cuts learned."""
        learned: list[Cut] = []
        for _ in range(TRIALS):
            bad = self.book.windows_that_do_not_fit(choice)
            learned += self._try(choice)
            if not bad:
                break
            free = {w for window in bad for w in range(window - ROUND, window + ROUND + 1)}
            mended = self._nearby(free, choice)
            if mended is None or self.goal.value(mended) >= self.value:
                break
            choice = mended
        return learned

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

    def _whole_season(self, effort: float, *, from_below: bool = False) -> Choice | None:
        """The best choice with so much effort, or None where none was found."""
        self.model.hint(self.best)
        solver = _solver(effort, self._seed)
        solver.parameters.use_objective_lb_search = from_below
        status = solve(solver, self.model.model)
        self._left -= max(LEAST_EFFORT, solver.response_proto.deterministic_time)
        self.impossible = status == cp_model.INFEASIBLE
        if status != cp_model.INFEASIBLE:
            self._raise_bound(solver.best_objective_bound)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None
        return self.model.choice(list(solver.response_proto.solution))

    def _nearby(self, free: set[int], base: Choice) -> Choice | None:
        """The best choice that differs from the base only in the free windows."""
        self.model.hint(base)
        solver = _solver(NEARBY_EFFORT, self._seed)
        status = solve(solver, self.model.near(base, free))
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
