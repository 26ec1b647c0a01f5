"""What each planned session is worth: the season without it, solved session by session."""

from __future__ import annotations

import dataclasses
import datetime as dt
from pathlib import Path

from harvestplan.foresight.answers import EveningWorth, Worth
from harvestplan.foresight.asking import (
    Base,
    Question,
    Say,
    base_of,
    made_by_product,
    solve_base,
    state,
)
from harvestplan.foresight.crew import crew
from harvestplan.foresight.losses import (
    NotThereError,
    products_lost,
    solve_without,
    weighed,
    windows_of,
)
from harvestplan.foresight.patience import Patience, how_long
from harvestplan.foresight.worth_file import plan_digest
from harvestplan.plan.models import Plan, Session
from harvestplan.schedule.goals.worth import worth_of_season
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import Solved, solved_as
from harvestplan.schedule.statement.carried_over import choice_from

WORTH_EFFORT = Effort(nodes=30, nearby=0.0, rounds=1)
"""For each session."""
SECONDS = 3.0
"""To solve a household's season without one of its sessions, about."""


def session_worth(folder: Path, as_of: dt.date, say: Say, *, on: str | None = None) -> Worth:
    """What every session still to come is worth; after Ctrl-C those solved by then.

    Raises NotThereError where there is no plan, or where it no longer holds.
    """
    question = state(folder, as_of, move_firm=True)
    plan, stands = _published(question)
    solved, base = solve_base(question, say)
    # The plan itself is what sessions are left out of, even where a better one was found.
    stands.bound = max(solved.bound, stands.worth)
    base = dataclasses.replace(base, runs=base_of(question.problem, stands).runs)
    ahead = _ahead(plan, question)
    long = how_long(len(ahead), SECONDS, len(question.problem.options))
    say(f"{len(ahead)} sessions are left out one by one.{long}")
    hear = Patience(len(ahead), "{done} of {all} sessions are left out", say)
    with crew(on) as team:
        tasks = [(folder, as_of, base, stands, session) for session in ahead]
        answers = team.until_stopped(_worth_of, tasks, hear)
    if team.stopped:
        say("Stopped; what follows holds for the sessions left out by then.")
    found = sorted(filter(None, answers), key=lambda each: (each.start, each.uid))
    return Worth(plan=plan_digest(plan), sessions=tuple(found))


def _published(question: Question) -> tuple[Plan, Solved]:
    """The written plan, and its sessions to come as if they had just been solved."""
    if question.plan is None:
        raise NotThereError("There is no plan yet. Make one with: harvestplan plan")
    choice = choice_from(question.problem, question.published)
    if len(choice.pouches) < len(question.published):
        raise NotThereError("The files have changed since the plan was made: plan again first.")
    goal = worth_of_season(state_rules(question.problem))
    return question.plan, solved_as(goal, choice)


def _ahead(plan: Plan, question: Question) -> list[Session]:
    live = [s for s in plan.sessions if s.status in ("planned", "firm")]
    return [s for s in live if windows_of(question.problem, s)]


def _worth_of(
    folder: Path, as_of: dt.date, base: Base, stands: Solved, session: Session
) -> EveningWorth:
    """The worth of one session, in whatever process."""
    question = state(folder, as_of, move_firm=True)
    made = made_by_product(question.problem, choice_from(question.problem, base.runs))
    windows = windows_of(question.problem, session)
    problem, less = solve_without(question, base, windows, effort=WORTH_EFFORT)
    told = weighed(stands, less)
    return EveningWorth(
        uid=session.uid,
        start=session.start,
        lost=told["lost"],
        least=min(told["least"], told["lost"]),
        portions=products_lost(made, made_by_product(problem, less.choice)),
    )
