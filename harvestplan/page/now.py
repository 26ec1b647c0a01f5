"""Today: what it asks for, tonight's sheet, what was forgotten to be written down."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from harvestplan.outputs.session_names import food_names
from harvestplan.outputs.terminal.summary import (
    nothing_ahead,
    session_words,
    sessions_ahead,
    week_ahead,
)
from harvestplan.page.answering import shows
from harvestplan.page.reading import SeasonReading
from harvestplan.page.site import Site, Wrong
from harvestplan.plan.models import Plan, Session
from harvestplan.records.events import KeepFree
from harvestplan.records.held_sessions import keeps_free, told
from harvestplan.records.unanswered import ASK_BACK, question, unanswered_picks
from harvestplan.words import clock, day, one_line

FIRST = 4
"""Questions that stand there at once; the others unfold."""
OLD = 14
"""Days after which a plan is called old in the season."""


def routes(site: Site) -> list[Route]:
    """The page of today."""
    return [shows(site, "/", show_now)]


def show_now(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """Today and the six days after it."""
    reading = site.read()
    if reading.season is None:
        return site.mend(request, reading)
    today = site.today(reading)
    plan = reading.plan
    week = list(_week(reading, plan, today)) if plan else []
    return site.page(
        request,
        "now.html.j2",
        reading=reading,
        wrong=wrong,
        title="Today",
        day=day(today, year=True),
        tonight=[_card(s, reading) for s in _on(plan, today)] if plan else [],
        today=[lines for date, lines in week if date == today],
        later=[(day(date), lines) for date, lines in week if date != today],
        nothing=nothing_ahead(plan, today, reading.season) if plan and not week else "",
        asks=(asked := list(asks(reading, today)))[:FIRST],
        asks_more=asked[FIRST:],
        picks=any(pick.date == today for pick in plan.picks) if plan else False,
        no_plan=plan is None,
        age=_age(plan, today) if plan else "",
    )


def _on(plan: Plan, today: dt.date) -> list[Session]:
    return [s for s in plan.sessions if s.live and s.start.date() == today]


def _card(session: Session, reading: SeasonReading) -> dict[str, str]:
    measures = reading.measures
    hours = f"{clock(session.start, measures)} to {clock(session.end, measures)}"
    what = "Visit to pack" if session.is_visit else "In the kitchen"
    foods = "; ".join(food_names(session))
    return {"uid": session.uid, "hours": hours, "what": what, "foods": foods}


def _week(
    reading: SeasonReading, plan: Plan, today: dt.date
) -> Iterator[tuple[dt.date, list[tuple[str, str]]]]:
    """Dates with their lines, each with the session whose sheet belongs to it."""
    uids = {
        (s.start.date(), one_line(session_words(s, reading.measures))): s.uid
        for s in sessions_ahead(plan)
    }
    ahead = week_ahead(plan, today, reading.season, library=reading.library)
    for date, lines in ahead.items():
        yield date, [(line, uids.get((date, line), "")) for line in lines]


def asks(reading: SeasonReading, today: dt.date) -> Iterator[dict[str, str]]:
    """Questions on what the diary does not tell, which the plan counts on meanwhile."""
    plan, diary = reading.plan, reading.diary
    if plan is None:
        return
    since = today - ASK_BACK
    for session in sorted(plan.sessions, key=lambda s: s.start):
        off = any(
            isinstance(e, KeepFree) and keeps_free(e, session.window_start, session.window_end)
            for e in diary.events
        )
        past = session.live and since <= session.start.date() < today
        if past and not off and not told(session, diary) and any(r.pouches for r in session.runs):
            words = f"How did {day(session.start.date())} go? {'; '.join(food_names(session))}"
            yield {"words": words, "to": f"/sheet/{session.uid}#end", "tap": "Write it down"}
    for pick in unanswered_picks(plan, diary.events, today):
        yield {"words": question(pick), "to": f"/garden#{pick.planting}", "tap": "Answer"}


def _age(plan: Plan, today: dt.date) -> str:
    """A word on a plan that was made long ago."""
    days = (today - plan.as_of).days
    return f"This plan was made for {day(plan.as_of, year=True)}." if days >= OLD else ""
