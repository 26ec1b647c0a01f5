"""What each planned session is worth: the season without it, solved session by session."""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Sequence
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
from harvestplan.foresight.losses import (
    NotThereError,
    products_lost,
    solve_without,
    weighed,
    windows_of,
)
from harvestplan.foresight.worker_processes import in_parallel
from harvestplan.foresight.worth_file import plan_digest
from harvestplan.plan.models import Plan, Session
from harvestplan.schedule.goals.worth import worth_of_season
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import Solved, solved_as
from harvestplan.schedule.statement.carried_over import choice_from

WORTH_EFFORT = Effort(nodes=30, nearby=0.0, rounds=1)
"""For each session."""
SHARES = 2
"""Parts the sessions are dealt into, whatever the machine has, so that answers repeat."""


def session_worth(folder: Path, as_of: dt.date, say: Say) -> Worth:
    """What every session still to come is worth.

    Raises NotThereError where there is no plan, or where it no longer holds.
    """
    question = state(folder, as_of, move_firm=True)
    plan, stands = _published(question)
    solved, base = solve_base(question, say)
    # The plan itself is what sessions are left out of, even where a better one was found.
    stands.bound = max(solved.bound, stands.worth)
    base = dataclasses.replace(base, runs=base_of(question.problem, stands).runs)
    ahead = _ahead(plan, question)
    say(f"{len(ahead)} sessions are left out one by one.")
    tasks = [(folder, as_of, base, stands, tuple(ahead[n::SHARES])) for n in range(SHARES)]
    found = [each for part in in_parallel(_worth_of, tasks) for each in part]
    found.sort(key=lambda each: (each.start, each.uid))
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
    folder: Path, as_of: dt.date, base: Base, stands: Solved, sessions: Sequence[Session]
) -> list[EveningWorth]:
    """The worth of some sessions; what does not fit is remembered from one to the next."""
    question = state(folder, as_of, move_firm=True)
    made = made_by_product(question.problem, choice_from(question.problem, base.runs))
    found = []
    for session in sessions:
        windows = windows_of(question.problem, session)
        problem, less = solve_without(question, base, windows, effort=WORTH_EFFORT)
        base = dataclasses.replace(base, cuts=tuple(dict.fromkeys(less.cuts)))
        told = weighed(stands, less)
        found.append(
            EveningWorth(
                uid=session.uid,
                start=session.start,
                lost=told["lost"],
                least=min(told["least"], told["lost"]),
                portions=products_lost(made, made_by_product(problem, less.choice)),
            )
        )
    return found
