"""From a season choice to sessions: each window's runs timed, or the cut that forbids them."""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from dataclasses import dataclass

from harvestplan.kitchen.layout import Layout, Sitting
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import DoesNotFit, SessionTasks, SessionTimes
from harvestplan.schedule.session.whole_session import whole_session
from harvestplan.schedule.statement.choice import Choice, Cut
from harvestplan.schedule.statement.problem import Problem, real_seconds

FIT_EFFORT = 1.0
"""Deterministic seconds a session model gets before its runs are cut."""
SHRINK_EFFORT = 0.1
"""The same while a cut is made stronger: only what is quickly proven counts."""
SHORTEN_EFFORT = 0.6
"""Deterministic seconds spent on making a session that fits shorter."""


@dataclass(frozen=True)
class WindowRun:
    """One sitting of an option in a window."""

    option: int
    demand: int
    sitting: Sitting
    raw: int
    pouches: int
    freezer: str | None


def window_runs(problem: Problem, choice: Choice) -> dict[int, tuple[WindowRun, ...]]:
    """Runs by window number, in the order of the wants."""
    runs: dict[int, list[WindowRun]] = defaultdict(list)
    for number in sorted(choice.pouches):
        option = problem.options[number]
        raw = sum(choice.shares[number].values())
        for window, sitting in option.sittings():
            runs[window].append(
                WindowRun(
                    number,
                    option.demand,
                    sitting,
                    raw=raw,
                    pouches=choice.pouches[number],
                    freezer=option.freezer,
                )
            )
    return {w: tuple(sorted(r, key=lambda x: x.demand)) for w, r in sorted(runs.items())}


def session_tasks(problem: Problem, window: int, runs: tuple[WindowRun, ...]) -> SessionTasks:
    """All tasks of a session: set-up, pots filled and brought to the boil, every run, clean-up.

    Keys are "set-up", "<option><sitting letter>:<task>", "clean-up"; of pots like "heat:<pot>:1".
    """
    span = problem.windows[window]
    layouts = [(run_prefix(run), run_layout(problem, run)) for run in runs]
    length = real_seconds(span)
    return whole_session(
        layouts, problem.kitchen.pots, span.hands, length=length, session_kind=span.kind
    )


def run_prefix(run: WindowRun) -> str:
    """What the keys of a run's tasks begin with in its session."""
    return f"{run.option}{run.sitting[0]}:"


def prefix_of(key: str) -> str:
    """What a task's key begins with, where it is a run's: that of `run_prefix`."""
    return key.partition(":")[0] + ":"


def run_layout(problem: Problem, run: WindowRun) -> Layout:
    """The tasks of a run in its sitting."""
    return problem.work.layout(
        run.demand, run.sitting, run.raw, pouches=run.pouches, freezer=run.freezer
    )


Answers = dict[object, tuple[float, SessionTimes | DoesNotFit]]
"""By what was asked: with how much effort, and what came of it."""


class TimedSessions:
    """Times sessions and remembers every answer, so that no question is asked twice."""

    def __init__(self, problem: Problem, seed: int, answers: Answers | None = None) -> None:
        self.problem = problem
        self.seed = seed
        self.answers: Answers = {} if answers is None else answers

    def fits(
        self, window: int, runs: tuple[WindowRun, ...], effort: float = FIT_EFFORT
    ) -> SessionTimes | DoesNotFit:
        key = (
            tuple((r.demand, r.sitting, r.raw, r.pouches) for r in runs),
            self.problem.length(window),
            self.problem.windows[window].hands,
            self.problem.windows[window].kind,
        )
        known = self.answers.get(key)
        if known is None or (effort > known[0] and known[1] == DoesNotFit(proven=False)):
            tasks = session_tasks(self.problem, window, runs)
            answer = time_session(tasks, effort, improve=False, seed=self.seed)
            self.answers[key] = (effort, answer)
            return answer
        return known[1]

    def cuts_for(self, choice: Choice) -> list[Cut]:
        """A cut for every window whose runs do not fit."""
        cuts = []
        for window, runs in window_runs(self.problem, choice).items():
            answer = self.fits(window, runs)
            if isinstance(answer, DoesNotFit):
                cuts.append(self._cut(window, runs, answer.proven))
        return cuts

    def windows_that_do_not_fit(self, choice: Choice) -> list[int]:
        runs = window_runs(self.problem, choice)
        return [w for w, r in runs.items() if isinstance(self.fits(w, r), DoesNotFit)]

    def fitting_part(self, choice: Choice) -> Choice:
        """The choice without the runs for which there is no time beside larger ones."""
        runs = window_runs(self.problem, choice)
        bad = {
            run.option
            for window in self.windows_that_do_not_fit(choice)
            for run in self._too_much(window, runs[window])
        }
        return Choice(
            {o: n for o, n in choice.pouches.items() if o not in bad},
            {o: s for o, s in choice.shares.items() if o not in bad},
        )

    def _too_much(self, window: int, runs: tuple[WindowRun, ...]) -> list[WindowRun]:
        """What is left over when the window is filled with the largest runs first."""
        kept: set[WindowRun] = set()
        over: list[WindowRun] = []
        for run in sorted(runs, key=lambda run: -run.pouches):
            tried = tuple(each for each in runs if each in kept or each is run)
            if isinstance(self.fits(window, tried), DoesNotFit):
                over.append(run)
            else:
                kept.add(run)
        return over

    def _cut(self, window: int, runs: tuple[WindowRun, ...], proven: bool) -> Cut:
        """The runs, made as few and as small as they provably do not fit."""
        fewer = self._fewest(window, runs)
        smaller = self._smallest(window, fewer)
        return Cut(
            tuple((r.demand, r.sitting, r.pouches) for r in smaller),
            self.problem.length(window),
            self.problem.windows[window].hands,
            proven=proven or smaller != runs,
        )

    def refused(self, window: int, runs: tuple[WindowRun, ...]) -> bool:
        """Whether the runs are quickly proven not to fit."""
        return self.fits(window, runs, SHRINK_EFFORT) == DoesNotFit(proven=True)

    def _fewest(self, window: int, runs: tuple[WindowRun, ...]) -> tuple[WindowRun, ...]:
        for run in runs:
            fewer = tuple(r for r in runs if r is not run)
            if fewer and self.refused(window, fewer):
                runs = fewer
        return runs

    def _smallest(self, window: int, runs: tuple[WindowRun, ...]) -> tuple[WindowRun, ...]:
        for index, run in enumerate(runs):
            low, high = 0, run.pouches  # not refused at low; does not fit at high
            while high - low > 1:
                middle = (low + high) // 2
                if self.refused(window, _with_pouches(self.problem, runs, index, pouches=middle)):
                    high = middle
                else:
                    low = middle
            runs = _with_pouches(self.problem, runs, index, pouches=high)
        return runs

    def shortest(self, window: int, runs: tuple[WindowRun, ...]) -> SessionTimes:
        """The session made as short as the effort allows."""
        tasks = session_tasks(self.problem, window, runs)
        answer = time_session(tasks, SHORTEN_EFFORT, improve=True, seed=self.seed)
        if isinstance(answer, DoesNotFit):
            # Not `fits`: its answer may be remembered from other options' equal runs.
            answer = time_session(tasks, FIT_EFFORT, improve=False, seed=self.seed)
        assert isinstance(answer, SessionTimes)
        return answer


def _with_pouches(
    problem: Problem, runs: tuple[WindowRun, ...], index: int, *, pouches: int
) -> tuple[WindowRun, ...]:
    run = runs[index]
    if pouches == run.pouches:
        return runs
    raw = problem.work.raw(run.demand, pouches)
    smaller = dataclasses.replace(run, pouches=pouches, raw=min(raw, run.raw))
    return (*runs[:index], smaller, *runs[index + 1 :])
