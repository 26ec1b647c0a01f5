"""One question to the planner: a season with a change, stated, solved, and summed up."""

from __future__ import annotations

import dataclasses
import datetime as dt
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from harvestplan.errors import FilesNeedMending, Flaw, NoValidPlan
from harvestplan.foresight.answers import Fullest, Outlook, Portions
from harvestplan.foresight.apply import change_of
from harvestplan.foresight.changes import Variant
from harvestplan.foresight.starts import choice_from, runs_of, ways
from harvestplan.household import Household
from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.file import published_plan
from harvestplan.plan.models import FreezerDay, Level, Plan, fullest
from harvestplan.planning.make import assemble_plan, state_problem
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.levels import Effort, Known, LevelResult, Solved, solve_levels
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import SessionTimes
from harvestplan.schedule.session.timed_sessions import (
    FIT_EFFORT,
    TimedSessions,
    WindowRun,
    session_tasks,
)
from harvestplan.schedule.statement.choice import Choice, Cut
from harvestplan.schedule.statement.problem import EarlierRun, Problem

AS_IT_STANDS = Variant("as it stands")
BASE_EFFORT = Effort(wants=400, change=200, evenings=60)
"""For the season as it stands, which all answers lean on."""
EFFORT = Effort(wants=200, change=100, evenings=40)
"""The same for a variant, which begins from the season as it stands."""
Say = Callable[[str], None]


class QuicklyTimed(TimedSessions):
    """Takes the first layout that fits for the shortest: work and space are the same."""

    def shortest(self, window: int, runs: tuple[WindowRun, ...]) -> SessionTimes:
        tasks = session_tasks(self.problem, window, runs)
        answer = time_session(tasks, FIT_EFFORT, improve=False, seed=self.seed)
        assert isinstance(answer, SessionTimes)  # it was found before it was chosen
        return answer

    def about(self, problem: Problem) -> QuicklyTimed:
        """The same for a problem with the same wants and kitchen; every answer is shared."""
        return QuicklyTimed(problem, self.seed, self.answers)


@dataclass(frozen=True)
class Base:
    """The season as it stands, solved, in a form that can be sent to other processes.

    `floor` is the proven least short in hundredths.
    """

    runs: tuple[EarlierRun, ...]
    cuts: tuple[Cut, ...]
    ways: str
    floor: int


@dataclass(frozen=True)
class Question:
    """A season stated: nothing is decided, what is done and firm is fixed.

    `published` are the runs of the written plan that can still move; `plan` is the whole of it.
    """

    household: Household
    as_of: dt.date
    problem: Problem
    timed: QuicklyTimed
    published: tuple[EarlierRun, ...] = ()
    plan: Plan | None = None


def state(
    folder: Path, as_of: dt.date, variant: Variant = AS_IT_STANDS, *, move_firm: bool = False
) -> Question:
    """The season in `folder` with the variant's changes, as a question.

    Raises
    ------
    FilesNeedMending
        Where the files, the changes or the written plan cannot be used.
    NoValidPlan
        Where no free window is left.
    """
    household = read_household(folder, as_of, change_of(variant))
    plan = published_plan(folder)
    stated = state_problem(household, as_of, plan, move_firm=move_firm)
    if not stated.windows:
        raise NoValidPlan("there is no free time left to plan with")
    published = stated.earlier.runs if stated.earlier else ()
    problem = dataclasses.replace(stated, earlier=None)
    return Question(
        household,
        as_of,
        problem,
        timed=QuicklyTimed(problem, EFFORT.seed),
        published=published,
        plan=plan,
    )


def refuse_flawed(folder: Path, variants: Sequence[Variant]) -> None:
    """Raises FilesNeedMending with what is wrong in the season or in any change to it."""
    library = load_library(folder)
    load_season(folder, library)
    flaws: list[Flaw] = []
    for variant in variants:
        try:
            load_season(folder, library, change_of(variant))
        except FilesNeedMending as error:
            flaws += error.flaws
    if flaws:
        raise FilesNeedMending(flaws)


def answer(
    problem: Problem, timed: QuicklyTimed, effort: Effort, *, say: Say, known: Known
) -> Solved:
    """The question solved; Ctrl-C ends it, since half an answer to "what if" would mislead."""
    solved = solve_levels(problem, timed, effort, say=say, known=known)
    if getattr(solved, "stopped", False):
        raise KeyboardInterrupt
    return solved


def solve_base(question: Question, say: Say, last: Level = "evenings") -> tuple[Solved, Base]:
    """The season as it stands, solved from the written plan where that still holds."""
    start = choice_from(question.problem, question.published) if question.published else None
    known = Known(start=start, near=() if start is not None else None, last=last)
    solved = answer(question.problem, question.timed, BASE_EFFORT, say=say, known=known)
    return solved, base_of(question.problem, solved)


def base_of(problem: Problem, solved: Solved) -> Base:
    """A solved season in words that other processes understand."""
    floor = in_hundredths(solved.at("wants").bound)
    runs = runs_of(problem, solved.choice)
    return Base(runs, tuple(solved.cuts), ways(problem), floor=floor)


def in_hundredths(short: float) -> int:
    """Weighted portions as the solver counts them."""
    return round(100 * short)


def solve_from(question: Question, base: Base, last: Level) -> Solved:
    """A variant solved from the season as it stands; never worse where all of that still holds."""
    problem = question.problem
    known = Known(
        start=choice_from(problem, base.runs),
        cuts=base.cuts if ways(problem) == base.ways else (),
        near=(),
        last=last,
    )
    return answer(problem, question.timed, EFFORT, say=_silent, known=known)


def ask(folder: Path, as_of: dt.date, variant: Variant, base: Base, last: Level) -> Outlook:
    """The outlook of one variant; where there is no plan, the outlook says why."""
    try:
        question = state(folder, as_of, variant)
        return outlook(variant.name, question, solve_from(question, base, last))
    except NoValidPlan as error:
        return Outlook(name=variant.name, trouble=str(error))


def outlook(name: str, question: Question, solved: Solved) -> Outlook:
    """What a solved season puts by and what it takes."""
    plan = assemble_plan(
        question.household,
        question.problem,
        solved,
        timed=question.timed,
        earlier=None,
        as_of=question.as_of,
    )
    kept = [session for session in plan.sessions if session.live]
    prices = [line.price for line in plan.shopping if line.buy and line.price is not None]
    seconds = sum(
        t.hands * (t.end.timestamp() - t.start.timestamp()) for s in kept for t in s.tasks
    )
    wants = solved.at("wants")
    return Outlook(
        name=name,
        wanted=sum(want.wanted for want in plan.wants),
        planned=sum(want.planned for want in plan.wants),
        stored=sum(want.stored for want in plan.wants),
        products=tuple(Portions(product=w.product, portions=w.planned) for w in plan.wants),
        short=wants.value,
        bound=min(wants.bound, wants.value),
        evenings=sum(not session.is_visit for session in kept),
        evenings_bound=_evenings_bound(solved.levels, question.problem),
        freezer=_fullest(plan.freezer),
        cost=round(math.fsum(prices), 2) if prices else None,
        minutes=round(seconds / 60),
    )


def _evenings_bound(levels: Sequence[LevelResult], problem: Problem) -> float | None:
    """None also where visits count beside evenings, so that nothing is proven of these alone."""
    if any(window.is_visit for window in problem.windows):
        return None
    kept = len(problem.history.evenings)
    return next((kept + level.bound for level in levels if level.level == "evenings"), None)


def _fullest(rows: Sequence[FreezerDay]) -> Fullest | None:
    row = fullest(rows)
    if row is None:
        return None
    share = round(row.used_ml / row.capacity_ml, 4)
    return Fullest(freezer=row.name, date=row.date, share=share)


def made_by_product(problem: Problem, choice: Choice) -> dict[str, int]:
    """Pouches of each product, every want named."""
    made = {demand.process.name: 0 for demand in problem.demands}
    for number, pouches in choice.pouches.items():
        made[problem.demands[problem.options[number].demand].process.name] += pouches
    return made


def _silent(text: str) -> None:
    pass
