"""What is lost without some kitchen time: solved with it and without it, never estimated."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Sequence
from pathlib import Path

from harvestplan.errors import HarvestPlanError
from harvestplan.foresight.answers import Loss, Move
from harvestplan.foresight.asking import (
    EFFORT,
    Base,
    Question,
    Say,
    answer,
    made_by_product,
    solve_base,
    state,
)
from harvestplan.plan.models import Session
from harvestplan.plan.remedy import Portions
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import Known, Solved
from harvestplan.schedule.statement.carried_over import choice_from, runs_of, without_windows
from harvestplan.schedule.statement.problem import EarlierRun, Problem


class NotThereError(HarvestPlanError):
    """A day or session that somebody asks about and that is not there."""

    exit_code = 2


def loss_without_day(folder: Path, as_of: dt.date, day: dt.date, *, say: Say) -> Loss:
    """What is lost when no kitchen time of `day` can be used, everything else as it stands.

    Raises NotThereError where the day has no free window from `as_of` on.
    """
    question = state(folder, as_of, move_firm=True)
    windows = [w for w, span in enumerate(question.problem.windows) if span.start.date() == day]
    if not windows:
        raise NotThereError(f"There is no kitchen time on {day} to do without.")
    return _loss(question, windows, say)


def loss_without_session(folder: Path, as_of: dt.date, name: str, *, say: Say) -> Loss:
    """What is lost when a planned session is skipped: `name` is its date or how its uid begins.

    Raises NotThereError where the written plan has no such session still to come.
    """
    question = state(folder, as_of, move_firm=True)
    session = _session(question, name)
    windows = windows_of(question.problem, session)
    if not windows:
        raise NotThereError("That session's kitchen time is gone; plan again first.")
    return _loss(question, windows, say)


def _session(question: Question, name: str) -> Session:
    plan = question.plan
    if plan is None:
        raise NotThereError("There is no plan yet. Make one with: harvestplan plan")
    ahead = [s for s in plan.sessions if s.status in ("planned", "firm")]
    ahead = [s for s in ahead if s.start.date() >= question.as_of]
    found = [s for s in ahead if s.start.date().isoformat() == name or s.uid.startswith(name)]
    if len(found) == 1:
        return found[0]
    if found:
        ways = "; ".join(f"{s.uid} ({s.start:%Y-%m-%d %H:%M})" for s in found)
        raise NotThereError(f'Several sessions go by "{name}". Name one by its uid: {ways}.')
    days = ", ".join(s.start.date().isoformat() for s in ahead)
    raise NotThereError(f'No session ahead goes by "{name}". They are on: {days or "no day"}.')


def windows_of(problem: Problem, session: Session) -> list[int]:
    """Numbers of the windows in which the session lies."""
    return [w for w, x in enumerate(problem.windows) if x.start <= session.start < x.end]


def _loss(question: Question, windows: Sequence[int], say: Say) -> Loss:
    solved, base = solve_base(question, say)
    runs = {(run.product, run.first): run.pouches for run in base.runs}
    current = runs == {(run.product, run.first): run.pouches for run in question.published}
    problem, less = solve_without(question, base, windows, effort=EFFORT)
    without = made_by_product(problem, less.choice)
    return Loss(
        starts=tuple(question.problem.windows[w].start for w in windows),
        products=products_lost(made_by_product(question.problem, solved.choice), without),
        moves=_moves(base.runs, runs_of(problem, less.choice)),
        current=current or question.plan is None,
        **weighed(solved, less),
    )


def solve_without(
    question: Question, base: Base, windows: Collection[int], *, effort: Effort
) -> tuple[Problem, Solved]:
    """The season without the windows, from what is left of it as it stands."""
    barred = without_windows(question.problem, windows)
    start, near = choice_from(barred, base.runs), tuple(sorted(windows))
    known = Known(start, base.cuts, base.most, near=near)
    return barred, answer(barred, question.timed.about(barred), effort, known=known)


def weighed(base: Solved, less: Solved) -> dict[str, float]:
    """Worth with and without, the difference found, and what is proven of it.

    What is possible without is possible with, so the season as it stands is at least as good.
    """
    worth = max(base.worth, less.worth)
    return {
        "worth_with": round(worth, 4),
        "worth_without": round(less.worth, 4),
        "lost": round(worth - less.worth, 4),
        "least": round(max(0.0, worth - less.bound), 4),
        "most": round(max(base.bound, worth) - less.worth, 4),
    }


def products_lost(before: dict[str, int], after: dict[str, int]) -> tuple[Portions, ...]:
    """Portions fewer of each product; where it is more, below nought."""
    return tuple(
        Portions(product=name, portions=before.get(name, 0) - after.get(name, 0))
        for name in sorted({*before, *after})
        if before.get(name, 0) != after.get(name, 0)
    )


def _moves(before: Sequence[EarlierRun], after: Sequence[EarlierRun]) -> tuple[Move, ...]:
    """Where more of a product is made than before."""
    more: dict[tuple[dt.datetime, str], int] = defaultdict(int)
    for sign, runs in ((-1, before), (1, after)):
        for run in runs:
            more[run.first, run.product] += sign * run.pouches
    return tuple(
        Move(product=product, portions=count, start=start)
        for (start, product), count in sorted(more.items())
        if count > 0
    )
