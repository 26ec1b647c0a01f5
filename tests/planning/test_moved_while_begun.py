"""A session that packs what a promised one begins stays, whatever the household asks."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest
from page.served import SATURDAY, demo_season

from harvestplan.check import check_plan
from harvestplan.household import Household
from harvestplan.plan.file import published_plan
from harvestplan.plan.models import Plan, Session
from harvestplan.planning.make import make_plan
from harvestplan.planning.read import read_household
from harvestplan.planning.remedies import NEARBY_ONLY
from harvestplan.records.diary import append_event
from harvestplan.records.moved_sessions import BEGUN

pytestmark = pytest.mark.heavy


def _packing(plan: Plan) -> Session:
    """A session ahead that packs what the session of the day begins."""
    begun = {r.id for s in plan.sessions if s.start.date() == SATURDAY for r in s.runs}
    return next(
        s
        for s in plan.sessions
        if not s.is_visit
        and any(run.second_sitting_of in begun for run in s.runs)
        and s.start.date() > SATURDAY
    )


def _moved(folder: Path, session: Session, to: dt.datetime) -> Household:
    line = f"session {session.start:%Y-%m-%d %H:%M} to {to:%Y-%m-%d %H:%M}"
    append_event(folder, "moved", line, on=SATURDAY)
    return read_household(folder, SATURDAY)


def test_it_stays_and_the_plan_says_why(tmp_path: Path) -> None:
    folder = demo_season(tmp_path)
    plan = published_plan(folder)
    assert plan is not None
    session = _packing(plan)
    free = [w for w in read_household(folder, SATURDAY).usual if w.start.date() > SATURDAY]
    to = next(w.start for w in free if w.start < session.start)
    household = _moved(folder, session, to)
    after = make_plan(household, SATURDAY, plan, effort=NEARBY_ONLY, say=lambda text: None)
    stands = next(s for s in after.sessions if s.uid == session.uid)
    assert (stands.start, stands.runs) == (session.start, session.runs)
    told = [w.message for w in after.warnings if w.code == "moved-session"]
    assert len(told) == 1 and BEGUN in told[0]
    assert not check_plan(after, replace(household), plan)
