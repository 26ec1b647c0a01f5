"""Where a session may go: each free time near its own tried in the planner's own model."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from harvestplan.errors import NoValidPlan
from harvestplan.household import Household
from harvestplan.inputs.windows import FreeWindow
from harvestplan.plan.file import published_plan
from harvestplan.plan.models import Plan, Session, Wish
from harvestplan.plan.spans import overlap
from harvestplan.planning.make import state_problem
from harvestplan.planning.read import read_household
from harvestplan.records.moved_sessions import Wishes, chosen_windows
from harvestplan.schedule.search.pinned_sessions import settle
from harvestplan.schedule.session.timed_sessions import TimedSessions

MOST = 14
"""Free times tried: each takes a moment of the solver."""


def places_for(
    folder: Path, as_of: dt.date, uid: str, *, days: int, say: Callable[[str], None]
) -> list[dict[str, Any]]:
    """For each free time within so many days: its start, why it cannot hold the session (or ""),
    and how many portions of the session's fit there.

    Raises NoValidPlan where the session is not in the plan any more.
    """
    plan = published_plan(folder)
    session = next((s for s in plan.sessions if s.uid == uid and s.live), None) if plan else None
    if plan is None or session is None:
        raise NoValidPlan("This session is not in the plan any more.")
    household = read_household(folder, as_of)
    found = []
    for window in _near(household, plan, session, as_of, days)[:MOST]:
        say(f"{window.start:%Y-%m-%d %H:%M}")
        found.append(_tried(household, plan, session, window, as_of))
    return found


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


def _tried(
    household: Household, plan: Plan, session: Session, window: FreeWindow, as_of: dt.date
) -> dict[str, Any]:
    wish = Wish(
        session=session.uid,
        moved_from=session.start,
        moved_to=window.start,
        seconds=int(session.end.timestamp() - session.start.timestamp()),
        hands=session.hands,
        kind=session.kind,
    )
    moves = (*(w for w in household.wishes.moves if w.session != session.uid), wish)
    wished = replace(household, wishes=Wishes(moves, household.wishes.free))
    wished = wished.with_times(chosen_windows(moves, as_of))
    told = {"start": window.start.isoformat(), "why": "", "portions": 0}
    try:
        problem = state_problem(wished, as_of, plan)
        settled = settle(problem, moves, TimedSessions(problem, seed=1))
    except NoValidPlan as error:
        return told | {"why": str(error)}
    if not hasattr(settled[0], "pinned"):
        return told | {"why": str(settled[1])}
    held = sum(pinned.pouches for pinned in settled[0].pinned)
    return told | {"portions": held}
