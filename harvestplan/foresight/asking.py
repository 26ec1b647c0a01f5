"""One question to the planner: a season with a change, stated, solved, and summed up."""

from __future__ import annotations

import dataclasses
import datetime as dt
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from harvestplan.errors import FilesNeedMending, Flaw, NoValidPlan
from harvestplan.foresight.answers import Fullest, Outlook
from harvestplan.foresight.apply import change_of
from harvestplan.foresight.changes import Variant
from harvestplan.household import Household
from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.file import published_plan
from harvestplan.plan.models import FreezerDay, Plan, fullest
from harvestplan.plan.remedy import Portions
from harvestplan.planning.make import assemble_plan, state_problem
from harvestplan.planning.read import read_household
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import Known, Solved, solve_season
from harvestplan.schedule.session.minutes import time_session
from harvestplan.schedule.session.tasks import SessionTimes
from harvestplan.schedule.session.timed_sessions import (
    FIT_EFFORT,
    TimedSessions,
    WindowRun,
    session_tasks,
)
from harvestplan.schedule.statement.carried_over import choice_from, runs_of, ways
from harvestplan.schedule.statement.choice import Choice, Cut, made_by_demand
from harvestplan.schedule.statement.problem import EarlierRun, Problem

AS_IT_STANDS = Variant("as it stands")
BASE_EFFORT = Effort(nodes=100, nearby=2.0, rounds=1)
"""For the season as it stands, which all answers lean on."""
EFFORT = Effort(nodes=50, nearby=0.5, rounds=1)
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

    No plan of it can be worth more than `most`.
    """

    runs: tuple[EarlierRun, ...]
    cuts: tuple[Cut, ...]
    ways: str
    most: float


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


def answer(problem: Problem, timed: QuicklyTimed, effort: Effort, *, known: Known) -> Solved:
    """The question solved; Ctrl-C ends it, since half an answer to "what if" would mislead."""
    solved = solve_season(problem, timed, effort, known=known)
    if solved.stopped:
        raise KeyboardInterrupt
    return solved


def solve_base(question: Question, say: Say) -> tuple[Solved, Base]:
    """The season as it stands, solved from the written plan where that still holds."""
    say("The season as it stands is being solved.")
    start = choice_from(question.problem, question.published) if question.published else None
    known = Known(start=start, near=() if start is not None else None)
    solved = answer(question.problem, question.timed, BASE_EFFORT, known=known)
    return solved, base_of(question.problem, solved)


def base_of(problem: Problem, solved: Solved) -> Base:
    """A solved season in words that other processes understand."""
    runs = runs_of(problem, solved.choice)
    return Base(runs, tuple(solved.cuts), ways(problem), most=solved.bound)


def solve_from(question: Question, base: Base) -> Solved:
    """A variant solved from the season as it stands; never worse where all of that still holds."""
    problem = question.problem
    cuts = base.cuts if ways(problem) == base.ways else ()
    known = Known(start=choice_from(problem, base.runs), cuts=cuts, near=())
    return answer(problem, question.timed, EFFORT, known=known)


def ask(folder: Path, as_of: dt.date, variant: Variant, base: Base) -> Outlook:
    """The outlook of one variant; where there is no plan, the outlook says why."""
    try:
        question = state(folder, as_of, variant)
        return outlook(variant.name, question, solve_from(question, base))
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
    return Outlook(
        name=name,
        wanted=sum(want.wanted for want in plan.wants),
        planned=sum(want.planned for want in plan.wants),
        stored=sum(want.stored for want in plan.wants),
        products=tuple(Portions(product=w.product, portions=w.planned) for w in plan.wants),
        worth=round(solved.worth, 4),
        bound=round(solved.bound, 4),
        evenings=sum(not session.is_visit for session in kept),
        freezer=_fullest(plan.freezer),
        cost=round(math.fsum(prices), 2) if prices else None,
        minutes=round(seconds / 60),
    )


def _fullest(rows: Sequence[FreezerDay]) -> Fullest | None:
    row = fullest(rows)
    if row is None:
        return None
    share = round(row.used_ml / row.capacity_ml, 4)
    return Fullest(freezer=row.name, date=row.date, share=share)


def made_by_product(problem: Problem, choice: Choice) -> dict[str, int]:
    """Pouches of each product, every want named."""
    made = {demand.process.name: 0 for demand in problem.demands}
    for number, pouches in made_by_demand(problem, choice).items():
        made[problem.demands[number].process.name] += pouches
    return made
