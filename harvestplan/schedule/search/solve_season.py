"""The plan that is worth most, with what is proven of it."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from harvestplan.errors import NoValidPlan
from harvestplan.plan.models import PartName
from harvestplan.schedule.goals.part import MICRO
from harvestplan.schedule.goals.worth import Goal, worth_of_season
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.published_choice import published_choice, published_options
from harvestplan.schedule.search.season_search import SeasonSearch
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.choice import Choice, Cut
from harvestplan.schedule.statement.problem import Problem

FULL = (
    "No plan keeps within the freezers as they stand: what is stored already takes more space "
    "than there is. Correct `used` or [[stored]], or add a freezer."
)
HUNDREDTH = MICRO // 100
"""Two plans of which one is worth a hundredth of a portion more are as good as each other."""


@dataclass(frozen=True)
class Known:
    """What is known before solving, for questions asked of a season again.

    `start` is taken up where it keeps every rule. `cuts` must have been learned with the same
    demands and kitchen. No plan can be worth more than `most` portions. With `near` the search
    looks around these windows first, for a start that is good elsewhere.
    """

    start: Choice | None = None
    cuts: tuple[Cut, ...] = ()
    most: float = math.inf
    near: tuple[int, ...] | None = None


@dataclass
class Solved:
    """The choice, what it is worth in portions and no plan can be worth more than, the parts of it,
    and the cuts learned on the way."""

    choice: Choice
    worth: float
    bound: float
    parts: tuple[tuple[PartName, float], ...]
    seconds: float = 0.0
    done: float = 1.0
    """The share of the effort that is spent."""
    cuts: list[Cut] = field(default_factory=list)
    stopped: bool = False
    """Whether somebody pressed Ctrl-C: the choice is valid, a better one may exist."""

    @property
    def gap(self) -> float:
        """What a better plan could be worth more, as a share of the worth."""
        return max(0.0, self.bound - self.worth) / max(1.0, abs(self.worth))

    @property
    def proven(self) -> bool:
        """Whether no plan is worth a hundredth of a portion more."""
        return self.bound - self.worth <= HUNDREDTH / MICRO + 1e-9


Heard = Callable[[Solved], None]


def solve_season(
    problem: Problem,
    timed: TimedSessions,
    effort: Effort,
    *,
    heard: Heard = lambda solved: None,
    known: Known = Known(),
) -> Solved:
    """The plan that is worth most, as far as the effort goes. Whoever waits has `heard` of the
    best so far after each step.

    Raises
    ------
    NoValidPlan
        Where not even doing nothing satisfies the rules (a freezer already over-full).
    KeyboardInterrupt
        Where somebody pressed Ctrl-C before there was any plan. Later it only ends the search:
        the best plan so far is given, with what is proven so far.
    """
    began = time.monotonic()
    model = SeasonModel(problem, known.cuts)
    goal = worth_of_season(model.season)
    published = _sound(published_choice(problem), timed, model)
    start = published or _sound(known.start, timed, model)

    def so_far(search: SeasonSearch) -> Solved:
        solved = _solved(goal, search.best, search.bound)
        solved.cuts, solved.done = list(search.cuts), search.done
        solved.seconds = time.monotonic() - began
        return solved

    search = SeasonSearch(
        model,
        timed,
        goal,
        best=start or Choice({}, {}),
        effort=effort,
        bound=-MICRO * known.most,
        heard=lambda search: heard(so_far(search)),
    )
    stopped = False
    try:
        if start is None:
            search.begin(published_options(problem))
        elif known.near is not None:
            search.around(known.near)
        search.run()
    except KeyboardInterrupt:
        if not search.best.pouches:
            raise
        stopped = True
    if search.impossible and not search.best.pouches:
        raise NoValidPlan(FULL)
    if published is not None and _stays(published, search):
        search.best = published
    solved = so_far(search)
    solved.stopped, solved.done = stopped, 1.0
    return solved


def _sound(choice: Choice | None, timed: TimedSessions, model: SeasonModel) -> Choice | None:
    """The choice, where it keeps every rule and each of its sessions fits."""
    if choice is None or not model.holds(choice) or timed.cuts_for(choice):
        return None
    return choice


def _stays(published: Choice, search: SeasonSearch) -> bool:
    """Whether no session changes, or nothing is gained by it: then no lot is swapped either, and no
    file is written anew for it."""
    gained = search.goal.cost(published) - search.cost
    return gained <= HUNDREDTH or search.best.pouches == published.pouches


def solved_as(goal: Goal, choice: Choice) -> Solved:
    """A choice as if it had been found, with nothing proven of it."""
    return _solved(goal, choice, -math.inf)


def _solved(goal: Goal, choice: Choice, bound: float) -> Solved:
    worth = goal.worth(choice) / MICRO
    return Solved(
        choice,
        worth=worth,
        bound=max(worth, -bound / MICRO),
        parts=tuple((part.name, -part.cost(choice) / MICRO) for part in goal.parts),
    )
