"""The search for the plan that is worth most: nearby and exactly, side by side.

Two ways, each where it is strong, in threads of their own so that two cores are used. Exactly:
branch and bound over the whole season proves what no plan can be worth more than. Nearby: part of
the season is freed while the rest is held, again and again (large neighbourhood search). They meet
after each round and hand each other what they found, so the answer does not depend on which is
quicker. Every choice counts only once its sessions were timed minute by minute; what does not fit
comes back as a cut.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Collection, Iterable, Sequence

from ortools.sat.python import cp_model

from harvestplan.schedule.goals.part import MICRO
from harvestplan.schedule.goals.worth import Goal
from harvestplan.schedule.search.bandit import Bandit
from harvestplan.schedule.search.by_hand import plan_by_hand
from harvestplan.schedule.search.conversion import values_of
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.linear import in_parts
from harvestplan.schedule.search.neighbourhoods import KINDS, Around, kinds_for, touching
from harvestplan.schedule.search.scip import Branching, Least
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.session.together import limits_together
from harvestplan.schedule.solver_call import SideBySide, one_worker, solve
from harvestplan.schedule.statement.choice import Choice, Cut, windows_used

SMALL = 600
"""Variables up to which branch and bound alone settles a season at once."""
SMALL_ROUNDS = 40
"""Rounds in which a small season is solved anew after what did not fit."""
TRIALS = 4
"""Rounds of cuts for each neighbourhood."""
MENDS = 12
"""Rounds of cuts for mending a choice of the whole season."""
A_LOOK = 0.25
"""Deterministic seconds for one look into a neighbourhood."""
LEAST_DIFFERENCE = MICRO // 200
NEAR_ENOUGH = 0.0005
"""Two plans of which one is worth half a hundredth of a portion more, or this share of its worth,
are as good as each other: less than anybody would notice, and long to prove (own judgement)."""
LEAST_SPENT = 0.02
"""Deterministic seconds that a look counts at the least: to copy the season takes time as well."""
TELLS_EVERY = 0.1
"""Of the effort, between two lines for who waits."""
STANDS = 0.5
"""Share of the relaxation's worth from which a published plan needs no more than mending (own
judgement): a crop nine days early left 51 to 95 %, and in five of six a whole search found nothing
better."""
AROUND = 4
"""Windows on either side of a session that does not fit, which may change with it."""


class SeasonSearch:
    """The search from the choice in `best`, which never gets worse.

    Costs are in millionths of a portion: a plan's worth below nought. `bound` is proven: no choice
    costs less (unproven cuts do not bind where it is computed). `cuts` are those learned.
    """

    def __init__(
        self,
        model: SeasonModel,
        timed: TimedSessions,
        goal: Goal,
        *,
        best: Choice,
        effort: Effort,
        bound: float,
        heard: Callable[[SeasonSearch], None],
    ) -> None:
        self.model, self.timed, self.goal = model, timed, goal
        self.best = best
        self.bound = bound
        self.cuts: list[Cut] = []
        self.impossible = False
        self.done = 0.0
        """The share of the effort that is spent."""
        self._effort, self._heard = effort, heard
        self._draw = random.Random(effort.seed)
        self._bandit = Bandit(kinds_for(timed.problem), self._draw)
        self._cost = goal.cost(best)
        self.total = goal.total
        model.minimize(self.total)

    @property
    def cost(self) -> int:
        """What the best choice costs."""
        return self._cost

    @property
    def settled(self) -> bool:
        """Whether no choice is better by more than is worth any effort."""
        return self.cost - self.bound <= self._enough

    @property
    def _enough(self) -> int:
        return max(LEAST_DIFFERENCE, round(NEAR_ENOUGH * abs(self.cost)))

    def begin(self, published: Collection[int] = ()) -> None:
        """A first choice: what there is, fitted into the published options; else the plan made by
        hand without the evenings that are not worth it; else what fits of the best with no regard
        to minutes."""
        if published:
            self._among(published)
        if not self.best.pouches:
            self._by_hand()
        self._heard(self)

    def _by_hand(self) -> None:
        by_hand = plan_by_hand(self.model.season, self.timed)
        if self.model.holds(by_hand):
            self._take(self._without_poor_evenings(by_hand))
        else:
            choice = self._proved(self._branching(20).run())
            if choice is not None:
                self._take_part(choice)

    def _among(self, options: Collection[int]) -> None:
        """What can be made of these options alone, where it is worth more than the best."""
        choice = self._look(Choice({}, {}), options)[0]
        if choice is not None and self.goal.cost(choice) < self.cost and not self._take(choice):
            self._take_part(choice)

    def around(self, windows: Iterable[int]) -> None:
        """Betters the choice near the windows first, where all else is good already."""
        for window in windows:
            for reach in (AROUND, 3 * AROUND):
                near = range(window - reach, window + reach + 1)
                self._look_into(touching(self.model.problem, near))

    def run(self) -> None:
        """Rounds of looking nearby and of branch and bound beside it, until the choice is
        settled."""
        again = self._effort.again()
        if again != self._effort and not self._small and self._stands():
            self._effort = again
        rounds = SMALL_ROUNDS if self._small and self._effort.rounds else self._effort.rounds
        if not self._small and rounds > 1:
            self.model.limit_together(limits_together(self.timed))
        for number in range(rounds):
            if self.settled or self.impossible:
                return
            self._round()
            self.done = (number + 1) / rounds
            self._heard(self)

    def _stands(self) -> bool:
        """Whether there is a published plan, and the choice is worth a good part of what the linear
        relaxation allows."""
        if self.model.problem.earlier is None:
            return False
        values = in_parts(self.model.program({}))
        if values is None:
            return False
        terms = self.total.terms.items()
        least = self.total.constant + sum(weight * values[n] for n, weight in terms)
        return self.cost <= STANDS * least

    @property
    def _small(self) -> bool:
        return self.model.size <= SMALL

    def _round(self) -> None:
        branching = self._branching(self._effort.nodes_for(self.model.size))
        beside = SideBySide(branching.run, branching.stop)
        try:
            if not self._small:
                self._nearby(self._effort.nearby_for(self.model.size))
        except BaseException:
            beside.give_up()
            raise
        found = self._proved(beside.answer())
        if found is not None and self.goal.cost(found) < self.cost:
            self._take_up(found)

    def _branching(self, nodes: int) -> Branching:
        return Branching(
            self.model.program({}),
            nodes,
            self._effort.seed,
            first=self.model.season.used,
            known=values_of(self.model.season, self.best),
            enough=self._enough,
        )

    def _proved(self, answer: Least) -> Choice | None:
        """Takes up what branch and bound proved; gives the choice that it found."""
        self.impossible = answer.impossible
        if math.isfinite(answer.bound):
            self.bound = max(self.bound, answer.bound)
        if answer.values is None:
            return None
        choice = self.model.choice(answer.values)
        return choice if answer.exact else self._look(choice, ())[0]

    def _nearby(self, effort: float) -> None:
        """Looks into neighbourhoods of the best choice for so many deterministic seconds."""
        left, parts = effort, self._in_parts()
        begun, told = self.done, 0.0
        while left > 0 and not self.settled:
            kind, share = self._bandit.next()
            around = Around(self.model.problem, self.best, parts, self._draw)
            before = self.cost
            spent, solved = self._look_into(KINDS[kind](around, share))
            gained = (before - self.cost) / MICRO
            self._bandit.learn(kind, gained=gained, spent=spent, solved=solved)
            left -= spent
            self.done = begun + (1 - left / effort) / self._effort.rounds
            if self.done - told > TELLS_EVERY:
                told = self.done
                self._heard(self)

    def _in_parts(self) -> dict[int, float]:
        """Pouches of each option in the linear relaxation, which no plan is worth more than."""
        values = in_parts(self.model.program({}))
        if values is None:
            return {}
        pouches = enumerate(self.model.season.pouches)
        return {option: values[number] for option, number in pouches}

    def _look_into(self, free: Collection[int]) -> tuple[float, bool]:
        """Betters the choice where only the free options may change. Gives the deterministic
        seconds it took and whether the first look was solved to the end."""
        spent, first = 0.0, True
        solved = False
        for _ in range(TRIALS):
            choice, seconds, ended = self._look(self.best, free)
            spent += seconds
            solved, first = (ended, False) if first else (solved, False)
            if choice is None or self.goal.cost(choice) >= self.cost or self._take(choice):
                break
            self._take_part(choice)
        return spent, solved

    def _look(self, known: Choice, free: Collection[int]) -> tuple[Choice | None, float, bool]:
        """A good choice where only the free options may differ from a known one; the deterministic
        seconds it took, and whether it was solved to the end."""
        solver = one_worker(A_LOOK, self._effort.seed)
        solver.parameters.linearization_level = 2
        status = solve(solver, self.model.copy(known, self.model.but_for(free, known)))
        answer = solver.response_proto
        seconds = max(LEAST_SPENT, answer.deterministic_time)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return None, seconds, status == cp_model.INFEASIBLE
        return self.model.choice(list(answer.solution)), seconds, status == cp_model.OPTIMAL

    def _take_up(self, choice: Choice) -> None:
        """Takes up the choice, changed around those of its sessions that do not fit as long as it
        is better than the best."""
        for _ in range(MENDS):
            bad = self.timed.windows_that_do_not_fit(choice)
            if self._take(choice) or not bad:
                return
            self._take_part(choice)
            mended = self._mended(choice, bad)
            if mended is None or self.goal.cost(mended) >= self.cost:
                return
            choice = mended

    def _mended(self, choice: Choice, bad: Sequence[int]) -> Choice | None:
        """A choice that heeds the cuts, changed near the windows that did not fit, or else anywhere
        in the same evenings."""
        problem = self.model.problem
        near = {w for window in bad for w in range(window - AROUND, window + AROUND + 1)}
        found = self._look(choice, touching(problem, sorted(near)))[0]
        if found is not None and self.goal.cost(found) < self.cost:
            return found
        used = windows_used(problem, choice)
        same = {o.number for o in problem.options if all(w in used for w, _ in o.sittings())}
        return self._look(choice, same)[0]

    def _take(self, choice: Choice) -> bool:
        """Takes the choice where all its sessions fit and it is better; what does not fit is
        learned as cuts. Whether they fit."""
        cuts = self.timed.cuts_for(choice)
        for cut in cuts:
            self.model.add_cut(cut)
        self.cuts += cuts
        if not cuts and self.goal.cost(choice) < self.cost:
            self.best, self._cost = choice, self.goal.cost(choice)
        return not cuts

    def _take_part(self, choice: Choice) -> None:
        """Takes what has time of a choice, where that is better already."""
        part = self.timed.fitting_part(choice)
        if self.goal.cost(part) < self.cost and self.model.holds(part):
            self._take(part)

    def _without_poor_evenings(self, choice: Choice) -> Choice:
        """The choice without runs and evenings that take more than they bring, the worst first."""
        while True:
            groups = [{o} for o in choice.pouches]
            groups += [self._runs_in(choice, w) for w in windows_used(self.model.problem, choice)]
            less = [_without(choice, group) for group in groups]
            best = min(less, key=self.goal.cost, default=choice)
            if self.goal.cost(best) >= self.goal.cost(choice):
                return choice
            choice = best

    def _runs_in(self, choice: Choice, window: int) -> set[int]:
        options = self.model.problem.options
        return {o for o in choice.pouches if any(w == window for w, _ in options[o].sittings())}


def _without(choice: Choice, runs: Collection[int]) -> Choice:
    return Choice(
        {o: n for o, n in choice.pouches.items() if o not in runs},
        {o: shares for o, shares in choice.shares.items() if o not in runs},
    )
