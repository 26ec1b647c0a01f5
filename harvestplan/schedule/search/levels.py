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
from collections.abc import Callable
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
from harvestplan.schedule.search.policies import POLICIES
from harvestplan.schedule.search.published_choice import published_choice
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.choice import Choice, Cut
from harvestplan.schedule.statement.problem import Problem

FULL = (
    "No plan keeps within the freezers as they stand: what is stored already takes more space "
    "than there is. Correct `used` or [[stored]], or add a freezer."
)


@dataclass(frozen=True)
class Effort:
    """Nodes of branch and bound for each level; the same on every machine, so plans repeat."""

    wants: int = 700
    change: int = 400
    evenings: int = 150
    overtime: int = 200
    waiting: int = 600
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

    def at(self, level: Level) -> LevelResult:
        """What the level reached; raises StopIteration where it was not taken."""
        return next(result for result in self.levels if result.level == level)

    def put(self, result: LevelResult) -> None:
        """Puts the result in place of what its level had reached."""
        self.levels = [result if each.level == result.level else each for each in self.levels]


def solve_levels(
    problem: Problem,
    timed: TimedSessions,
    effort: Effort,
    *,
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
    model = SeasonModel(problem, known.cuts)
    published = _sound(published_choice(problem), timed, model)
    solved = Solved(published or _sound(known.start, timed, model) or Choice({}, {}))
    levels = _Levels(model, timed, effort, solved=solved, known=known, say=say)
    try:
        levels.take()
    except KeyboardInterrupt:
        if not solved.choice.pouches:
            raise
        solved.stopped = True
        levels.take()
    if known.last != "waiting":
        return solved
    if published is not None and solved.choice.pouches == published.pouches:
        _stay_with(published, problem, solved)
    elif not solved.stopped:
        levels.break_ties()
    return solved


def _sound(choice: Choice | None, timed: TimedSessions, model: SeasonModel) -> Choice | None:
    """The choice, where it keeps every rule and each of its sessions fits."""
    if choice is None or not model.holds(choice) or timed.cuts_for(choice):
        return None
    return choice


def _stay_with(published: Choice, problem: Problem, solved: Solved) -> None:
    """No session changed: then no lot is swapped either, and no file is written anew for it."""
    waiting = solved.at("waiting")
    value = waiting_value(problem, published) / WAITING_SCALE
    status: Literal["optimal", "feasible"] = "optimal" if value <= waiting.bound else "feasible"
    solved.put(dataclasses.replace(waiting, value=value, status=status))
    solved.choice = published


class _Levels:
    """The goals taken one after the other, each held at its best while the next is taken."""

    def __init__(
        self,
        model: SeasonModel,
        timed: TimedSessions,
        effort: Effort,
        *,
        solved: Solved,
        known: Known,
        say: Callable[[str], None],
    ) -> None:
        self.model, self.timed, self.effort = model, timed, effort
        self.solved, self.known, self.say = solved, known, say
        self.began = time.monotonic()
        self.goals = season_goals(model.season)

    def take(self) -> None:
        """Takes the levels not taken yet, up to the last asked for: solves, holds, tells of
        each."""
        for goal in self.goals[len(self.solved.levels) :]:
            if goal.aim is None:
                self.solved.levels.append(
                    LevelResult(goal.level, 0.0, 0.0, status="skipped", seconds=0.0)
                )
                continue
            result = self._solve(goal, goal.aim)
            self.model.limit(goal.level, goal.aim.total, most=goal.aim.value(self.solved.choice))
            self.solved.levels.append(result)
            self.say(f"{_told(result)}, after {time.monotonic() - self.began:.0f} s.")
            if goal.level == self.known.last:
                return

    def break_ties(self) -> None:
        """Of plans equal on every level, one with few runs."""
        search = self._search(fewest_runs(self.model.season), effort=0)
        with contextlib.suppress(KeyboardInterrupt):
            search.sweep(STRETCHES[1:2])
        self.solved.choice = search.best

    def _solve(self, goal: Goal, aim: Aim) -> LevelResult:
        began = time.monotonic()
        floor = self.known.least_short if goal.level == "wants" else 0
        if not self.solved.stopped and aim.part is not None:
            self._bound(aim, aim.part, self.effort.of(goal.level))
        search = self._search(aim, self.effort.of(goal.level), floor)
        if not self.solved.stopped:
            try:
                POLICIES[goal.level].search(search, self.known.near)
            except KeyboardInterrupt:
                if not search.best.pouches:
                    raise
                self.solved.stopped = True
        if search.impossible and not self.solved.levels:
            raise NoValidPlan(FULL)
        self.solved.choice = search.best
        self.solved.cuts += search.cuts
        return LevelResult(
            level=goal.level,
            value=search.value / goal.scale,
            bound=search.bound / goal.scale,
            status="optimal" if search.bound >= search.value else "feasible",
            seconds=time.monotonic() - began,
        )

    def _bound(self, aim: Aim, part: Aim, effort: int) -> None:
        """Proves what it can of a part, which the model then knows; what is found on the way counts
        where it betters the whole."""
        search = self._search(part, effort)
        try:
            search.prove()
        except KeyboardInterrupt:
            if not search.best.pouches:
                raise
            self.solved.stopped = True
        self.solved.cuts += search.cuts
        if aim.value(search.best) < aim.value(self.solved.choice):
            self.solved.choice = search.best

    def _search(self, aim: Aim, effort: int, floor: int = 0) -> LevelSearch:
        best, seed = self.solved.choice, self.effort.seed
        return LevelSearch(
            self.model, self.timed, aim, best=best, effort=effort, seed=seed, floor=floor
        )


def _told(result: LevelResult) -> str:
    """A level's value and its proven bound, for one who waits."""
    best = f"{COUNTED[result.level].capitalize()}: {result.value:g}"
    if result.status == "optimal":
        return f"{best}, and no plan can have less"
    return f"{best}; no plan can have less than {result.bound:g}"
