"""Where a session may go, and what it means: tried in the planner's own model."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from harvestplan.errors import NoValidPlan
from harvestplan.foresight.asking import QuicklyTimed
from harvestplan.household import Household
from harvestplan.inputs.windows import FreeWindow
from harvestplan.outputs.terminal.plan_changes import session_changes, waits_longer
from harvestplan.plan.file import published_plan
from harvestplan.plan.models import Plan, Session, Wish
from harvestplan.plan.spans import overlap
from harvestplan.planning.make import assemble_plan, settle_moves
from harvestplan.planning.read import read_household
from harvestplan.planning.remedies import NEARBY_ONLY
from harvestplan.records.moved_sessions import Wishes, chosen_windows
from harvestplan.schedule.search.pinned_sessions import begin
from harvestplan.schedule.search.solve_season import Known, solve_season

MOST = 14
"""Free times tried: each takes a moment of the solver."""


def places_for(
    folder: Path, as_of: dt.date, uid: str, *, days: int, say: Callable[[str], None]
) -> list[dict[str, Any]]:
    """For each free time within so many days: its start, why it cannot hold the session (or ""),
    and how many portions it could work on there, `of` so many.

    Raises NoValidPlan where the session is not in the plan any more.
    """
    plan, session = _published(folder, uid)
    household = read_household(folder, as_of)
    found = []
    for window in _near(household, plan, session, as_of, days)[:MOST]:
        say(f"{window.start:%Y-%m-%d %H:%M}")
        found.append(_tried(household, plan, session, window, as_of))
    return found


def meaning_of(
    folder: Path, as_of: dt.date, uid: str, to: dt.datetime, *, say: Callable[[str], None]
) -> dict[str, Any]:
    """What it means for the household to move the session to `to`: the season planned with the move
    beside the same without it, near where it bites, and both beside the plan that stands.

    `portions`, `evenings`, `visits` and each product of `foods` are what they are without the move
    and with it; `waits` are days longer by product; `changes` are what else would change of the
    plan that stands, but for what a new plan changes anyway. Raises NoValidPlan where the session
    cannot be there.
    """
    plan, session = _published(folder, uid)
    household = read_household(folder, as_of)
    wished = _wishing(household, session, to, as_of)
    near = (session.window_start, to)
    say("Without the move.")
    without, timed = _planned(household, plan, as_of, near)
    say("With it.")
    moved, _ = _planned(wished, plan, as_of, near, timed)
    if why := _refused(moved.wishes, uid, to):
        raise NoValidPlan(why)
    measures = household.season.household.measures
    stands, *both = (_but(uid, each) for each in (plan, without, moved))
    anyway, then = (session_changes(stands, each, measures) for each in both)
    changes = then.besides(anyway)
    before, after = _foods(without), _foods(moved)
    return {
        "portions": [sum(before.values()), sum(after.values())],
        "evenings": [_ahead(each, as_of, visits=False) for each in (without, moved)],
        "visits": [_ahead(each, as_of, visits=True) for each in (without, moved)],
        "foods": {food: [before.get(food, 0), after.get(food, 0)] for food in {**before, **after}},
        "waits": waits_longer(without, moved),
        "changes": {
            "Would move": changes.moved,
            "Would come": changes.added,
            "Would go": changes.dropped,
            "Would change in size": changes.resized,
        },
    }


def _planned(
    household: Household,
    plan: Plan,
    as_of: dt.date,
    near: tuple[dt.datetime, ...],
    timed: QuicklyTimed | None = None,
) -> tuple[Plan, QuicklyTimed]:
    """As much of the plan that stands as can be made, bettered near these windows; and what was
    timed for it, which another question of the same kitchen need not time again."""
    household, problem, start = settle_moves(household, as_of, plan)
    timed = timed.about(problem) if timed else QuicklyTimed(problem, seed=1)
    made = start or begin(problem, timed)
    known = Known(
        start=None if isinstance(made, str) else made,
        near=tuple(w for w, window in enumerate(problem.windows) if window.start in near),
    )
    solved = solve_season(problem, timed, NEARBY_ONLY, known=known)
    found = assemble_plan(household, problem, solved, timed=timed, earlier=plan, as_of=as_of)
    return found, timed


def _but(uid: str, plan: Plan) -> Plan:
    """The plan without one session."""
    others = tuple(session for session in plan.sessions if session.uid != uid)
    return plan.model_copy(update={"sessions": others})


def _foods(plan: Plan) -> dict[str, int]:
    """Portions planned of each product."""
    return {want.product: want.planned for want in plan.wants}


def _ahead(plan: Plan, as_of: dt.date, *, visits: bool) -> int:
    """How many sessions, or visits, are still to come."""
    return sum(s.live and s.is_visit == visits and s.start.date() >= as_of for s in plan.sessions)


def _published(folder: Path, uid: str) -> tuple[Plan, Session]:
    """The plan that stands, and the session in it."""
    plan = published_plan(folder)
    session = next((s for s in plan.sessions if s.uid == uid and s.live), None) if plan else None
    if plan is None or session is None:
        raise NoValidPlan("This session is not in the plan any more.")
    return plan, session


def _near(
    household: Household, plan: Plan, session: Session, as_of: dt.date, days: int
) -> list[FreeWindow]:
    """Free times near the session's own in which no other session stands, the nearest first."""
    windows = household.usual_visits if session.is_visit else household.usual
    others = [s for s in plan.sessions if s.live and s.uid != session.uid]
    near = [
        window
        for window in windows
        if window.start.date() >= as_of
        and abs((window.start.date() - session.start.date()).days) <= days
        and window.start != session.window_start
        and not any(overlap(other, window) for other in others)
    ]
    return sorted(near, key=lambda window: abs(window.start - session.start))


def _wishing(household: Household, session: Session, to: dt.datetime, as_of: dt.date) -> Household:
    """The household where it has moved the session to `to`."""
    wish = Wish(
        session=session.uid,
        moved_from=session.start,
        moved_to=to,
        seconds=int(session.end.timestamp() - session.start.timestamp()),
        hands=session.hands,
        kind=session.kind,
    )
    moves = (*(w for w in household.wishes.moves if w.session != session.uid), wish)
    wished = replace(household, wishes=Wishes(moves, household.wishes.free))
    return wished.with_times(chosen_windows(moves, as_of))


def _tried(
    household: Household, plan: Plan, session: Session, window: FreeWindow, as_of: dt.date
) -> dict[str, Any]:
    told = {"start": window.start.isoformat(), "why": "", "portions": 0, "of": 0}
    wished = _wishing(household, session, window.start, as_of)
    try:
        wished, problem, _ = settle_moves(wished, as_of, plan)
    except NoValidPlan as error:
        return told | {"why": str(error)}
    if why := _refused(wished.wishes.moves, session.uid, window.start):
        return told | {"why": why}
    there = [w for w, each in enumerate(problem.windows) if each.start == window.start]
    promised = [s for s in problem.history.sessions if s.uid == session.uid]
    stands = sum(run.pouches for s in promised for run in s.runs)
    held = sum(each.pouches for each in problem.pinned if each.window in there)
    earlier = problem.earlier.runs if problem.earlier else ()
    wanted = sum(run.pouches for run in earlier if session.uid in run.sessions)
    return told | {"portions": held + stands, "of": wanted + stands}


def _refused(moves: Sequence[Wish], uid: str, to: dt.datetime) -> str:
    """Why the session cannot be there, or ""."""
    wish = next((w for w in moves if w.session == uid and w.moved_to == to), None)
    return wish.why if wish else "It cannot be held there."
