"""Searching one level: nearby and exactly, with a bound that is proven.

Two ways, each where it is strong. Exactly: branch and bound over the whole season. Nearby: fix and
optimise, stretch by stretch, finds good plans where the proof takes too long. Every answer counts
only once its sessions were timed minute by minute; what does not fit comes back as a cut.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

from ortools.sat.python import cp_model

from harvestplan.schedule.goals.goal import Aim
from harvestplan.schedule.search.by_hand import plan_by_hand
from harvestplan.schedule.search.conversion import values_of
from harvestplan.schedule.search.cp_sat import Fixed, SeasonModel
from harvestplan.schedule.search.scip import LARGE, Least, least
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.solver_call import one_worker, solve
from harvestplan.schedule.statement.choice import Choice, Cut

USUAL = 2000
"""Variables of a household's season. Nodes of a larger one take longer (measured, about
with its size to the power of one and a half): it gets fewer."""
LEAST_EFFORT = 20
"""Nodes a round counts at the least, so that rounds come to an end."""
BEGIN_EFFORT = 50
"""Nodes for a first choice where none can be made by hand."""
MEND_EFFORT = 5
"""Nodes for mending a choice whose sessions do not fit."""
TOO_LARGE = 16000
"""Variables from which on even to state the program so often takes too long."""
STRETCHES = (8, 16, 28)
"""Windows in a stretch that is freed at once, pass by pass."""
TRIALS = 5
"""Rounds of cuts for each stretch."""
MENDS = 20
"""Rounds of cuts for mending a choice of the whole season."""
NEARBY_EFFORT = 0.25
"""Deterministic seconds for one look nearby."""
ROUND = 4
"""Windows on either side of a session that does not fit, which may change with it."""


class LevelSearch:
    """One level's search from the choice in `best`, which never gets worse.

    `bound` is proven: unproven cuts do not bind where it is computed. `cuts` are those learned.
    `effort` is in nodes of branch and bound.
    """

    def __init__(
        self,
        model: SeasonModel,
        timed: TimedSessions,
        aim: Aim,
        *,
        best: Choice,
        effort: int,
        seed: int,
        floor: int = 0,
    ) -> None:
        self.model, self.timed, self.aim = model, timed, aim
        self.best = best
        self.cuts: list[Cut] = []
        self.bound = floor  # no goal can fall below nought
        self.impossible = False
        self._seed = seed
        size = model.size / USUAL
        self._left = math.ceil(effort / max(1, size) ** 1.5)
        model.minimize(aim.total)

    @property
    def value(self) -> int:
        return self.aim.value(self.best)

    @property
    def _large(self) -> bool:
        """Whether the season is larger than a household's."""
        return self.model.size > LARGE

    @property
    def settled(self) -> bool:
        """Whether no choice exists that is better by more than is worth any effort."""
        return self.value - self.bound <= self.aim.slight * self.value

    def begin(self) -> None:
        """A first choice: the plan made by hand, or else what fits of the best with no regard to
        minutes."""
        by_hand = plan_by_hand(self.model.season, self.timed)
        if self.model.holds(by_hand):
            self._try(by_hand)
        elif (choice := self._whole_season(BEGIN_EFFORT)) is not None:
            self.best = self.timed.fitting_part(choice)

    def sweep(self, stretches: Iterable[int]) -> None:
        """Betters the choice stretch by stretch of the season (fix and optimise).

        Stretches overlap; where several lengths are given they grow from pass to pass.
        """
        windows = len(self.timed.problem.windows)
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
            choice = self._better(self.best, self.model.outside(self.best, free))
            if choice is None or not self._try(choice):
                return

    def prove(self, rounds: int | None = None) -> None:
        """Solves the whole season, in so many rounds or as long as there is effort left, until the
        choice is settled."""
        for number in itertools.count():
            if number == rounds or self._left <= 0 or self.settled:
                return
            choice = self._whole_season(self._left)
            if choice is None or self.aim.value(choice) >= self.value:
                return
            if not any(cut.proven for cut in self._take_up(choice)):
                return  # without a proven cut the same choice would come back

    def _take_up(self, choice: Choice) -> list[Cut]:
        """Takes up the choice, changed around those of its sessions that do not fit as long as it
        is better than the best; gives the cuts learned."""
        learned: list[Cut] = []
        for _ in range(MENDS):
            bad = self.timed.windows_that_do_not_fit(choice)
            learned += self._try(choice)
            if not bad:
                break
            if self._large:
                self._take_up_part(choice)
            mended = self._mend(choice, bad)
            if mended is None:
                break
            choice = mended
        return learned

    def _take_up_part(self, choice: Choice) -> None:
        """What has time of a choice counts meanwhile: mending a large season may take a minute."""
        part = self.timed.fitting_part(choice)
        if self.model.holds(part):
            self._try(part)

    def _mend(self, choice: Choice, bad: Iterable[int]) -> Choice | None:
        """A choice better than the best that heeds the cuts: changed around the windows in which
        something did not fit, or else anywhere in the same evenings.

        In large households' seasons branch and bound finds good ones where a short search finds
        none (measured: of thirty foods, up to a quarter less short). Where waiting counts, the
        goals before it leave hardly a choice, and it seldom finds any.
        """
        around = {w for window in bad for w in range(window - ROUND, window + ROUND + 1)}
        near = self.model.outside(choice, around)
        found = None
        if self._large and self.model.size < TOO_LARGE and self.aim.open_choice:
            found = self._only_better(self._branch(near, MEND_EFFORT, choice)[1])
        return (
            found
            or self._better(choice, near)
            or self._better(choice, self.model.on_same_windows(choice))
        )

    def _try(self, choice: Choice) -> list[Cut]:
        """Takes the choice up where it is better and its sessions fit; what does not, as cuts."""
        cuts = self.timed.cuts_for(choice)
        if not cuts and self.aim.value(choice) < self.value:
            self.best = choice
        self._learn(cuts)
        return cuts

    def _learn(self, cuts: list[Cut]) -> None:
        self.cuts += cuts
        for cut in cuts:
            self.model.add_cut(cut)

    def _whole_season(self, nodes: int) -> Choice | None:
        """The best choice with so much effort, or None where none was found."""
        answer, choice = self._branch({}, nodes, self.best)
        self._left -= max(LEAST_EFFORT, answer.nodes)
        self.impossible = answer.impossible
        self._raise_bound(answer.bound)
        return choice

    def _branch(self, fixed: Fixed, nodes: int, known: Choice) -> tuple[Least, Choice | None]:
        """What branch and bound finds with variables fixed, beginning from a known choice."""
        answer = least(
            self.model.program(fixed),
            nodes,
            self._seed,
            first=self.model.season.used,
            known=values_of(self.model.season, known),
            slight=self.aim.slight,
        )
        if answer.values is None:
            return answer, None
        choice = self.model.choice(answer.values)
        if answer.exact:
            return answer, choice
        return answer, self._look(choice, self.model.outside(choice, set()))

    def _better(self, known: Choice, fixed: Fixed) -> Choice | None:
        """A choice better than the best with variables fixed, looked for from a known one."""
        return self._only_better(self._look(known, fixed))

    def _only_better(self, choice: Choice | None) -> Choice | None:
        return choice if choice is not None and self.aim.value(choice) < self.value else None

    def _look(self, known: Choice, fixed: Fixed) -> Choice | None:
        """A good choice with variables fixed, looked for from a known one."""
        solver = _solver(NEARBY_EFFORT, self._seed)
        if solve(solver, self.model.copy(known, fixed)) not in (
            cp_model.OPTIMAL,
            cp_model.FEASIBLE,
        ):
            return None
        return self.model.choice(list(solver.response_proto.solution))

    def _raise_bound(self, proven: float) -> None:
        bound = math.ceil(proven - 1e-6) if math.isfinite(proven) else 0
        if bound > self.bound:
            self.bound = bound
            self.model.limit("bound", self.aim.total, least=bound)


def _solver(limit: float, seed: int) -> cp_model.CpSolver:
    """One worker with a strong linear relaxation: the best prover measured."""
    solver = one_worker(limit, seed)
    solver.parameters.linearization_level = 2
    return solver
