"""The season, week by week: sessions and visits, days kept free, and times added by a form."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from itertools import groupby
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from harvestplan.outputs.terminal.summary import session_words
from harvestplan.page import file_edit
from harvestplan.page.answering import shows, takes
from harvestplan.page.fields import day_sent, time_sent
from harvestplan.page.reading import SeasonReading
from harvestplan.page.recording import record
from harvestplan.page.shortfall import shortfall
from harvestplan.page.site import Site, Wrong, back_to, sent, without_places
from harvestplan.plan.models import Session
from harvestplan.records.events import KeepFree, Moved
from harvestplan.words import clock, day

STATUS = {"firm": "promised", "done": "done"}


def routes(site: Site) -> list[Route]:
    """The season and its forms."""
    return [
        shows(site, "/season", show_season),
        takes(site, "/season/free", _free, show_season),
        takes(site, "/season/evening", _evening, show_season),
        takes(site, "/season/away", _away, show_season),
    ]


def show_season(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """Weeks with their sessions and visits."""
    reading = site.read()
    if reading.season is None:
        return site.mend(request, reading)
    today = site.today(reading)
    plan = reading.plan
    live = sorted((s for s in plan.sessions if s.live), key=lambda s: s.start) if plan else []
    ahead = [s for s in live if s.start.date() >= today]
    return site.page(
        request,
        "season.html.j2",
        reading=reading,
        wrong=wrong,
        title="The season",
        weeks=list(_weeks(ahead, reading)),
        past=list(_weeks([s for s in live if s.start.date() < today], reading)),
        wishes=list(_wishes(reading)),
        away=[f"{day(a.start)} to {day(a.end)}" for a in reading.season.away],
        extra=[
            f"{day(w.date)}, {w.start:%H:%M} to {w.end:%H:%M}"
            for w in reading.season.extra_window
            if w.date >= today
        ],
        start=(start := max(today, reading.season.season.start).isoformat()),
        evening=_evening_asked(request) or (start, "18:00", "21:00"),
        short=shortfall(plan, reading.library) if plan and reading.library else None,
        no_plan=plan is None,
        kept_free=[
            f"{day(time.start.date())}, {clock(time.start, reading.measures)}"
            for time in (plan.kept_free if plan else ())
        ],
    )


def _evening_asked(request: Request) -> tuple[str, ...]:
    """Day, start and end of one more evening that a link here names, or nothing."""
    on, *hours = (request.query_params.get(name, "") for name in ("on", "start", "end"))
    try:
        times = [f"{dt.time.fromisoformat(each):%H:%M}" for each in hours]
        return dt.date.fromisoformat(on).isoformat(), *times
    except ValueError:
        return ()


def _weeks(sessions: list[Session], reading: SeasonReading) -> Iterator[dict[str, Any]]:
    def monday(session: Session) -> dt.date:
        date = session.start.date()
        return date - dt.timedelta(days=date.weekday())

    for start, found in groupby(sessions, key=monday):
        rows = [
            {
                "uid": session.uid,
                "day": day(session.start.date()),
                "words": session_words(session, reading.measures),
                "status": STATUS.get(session.status, ""),
            }
            for session in found
        ]
        yield {"monday": day(start), "rows": rows}


def _wishes(reading: SeasonReading) -> Iterator[dict[str, str]]:
    """What was asked of the next plan since the last one was made."""
    plan = reading.plan
    for event in reading.diary.events:
        if not isinstance(event, Moved | KeepFree):
            continue
        if plan is not None and event.date < plan.as_of:
            continue
        if isinstance(event, Moved):
            words = f"{day(event.session.date())} to {day(event.to.date())}, {event.to:%H:%M}"
            words = f"Moved: {words}"
        else:
            words = f"Kept free: {day(event.day)}"
        yield {"words": words, "code": event.code}


def _free(site: Site, request: Request) -> Response:
    """Keeps an evening free of sessions."""
    form = sent(request)
    reading = site.read()
    on = day_sent(form, site.today(reading))
    if not form.get("on"):
        raise Wrong("Which day? Choose one.", "on")
    done = record(
        site, request, "keep", [f"free {on}"], on=site.today(reading), about={on.isoformat()},
        field="on",
    )  # fmt: skip
    return back_to("/season", done[0].event.code)


def _evening(site: Site, request: Request) -> Response:
    """Adds an evening: an [[extra_window]] in the household's file."""
    form = sent(request)
    on = day_sent(form, dt.date.min) if form.get("on") else None
    if on is None:
        raise Wrong("Which day? Choose one.", "on")
    start, end = time_sent(form, "start"), time_sent(form, "end")
    if end <= start:
        raise Wrong("It ends before it begins.", "end")
    values = {"date": on.isoformat(), "start": f"{start}", "end": f"{end}"}
    _append(site, "extra_window", values, "on")
    return back_to("/season", at="times")


def _away(site: Site, request: Request) -> Response:
    """Adds days on which nobody is there: an [[away]] in the household's file."""
    form = sent(request)
    days = [day_sent(form, dt.date.min, name) for name in ("start", "end")]
    if not form.get("start") or not form.get("end"):
        raise Wrong(
            "From which day to which? Choose both.", "end" if form.get("start") else "start"
        )
    if days[1] < days[0]:
        raise Wrong("The last day is before the first.", "end")
    values = {"start": days[0].isoformat(), "end": days[1].isoformat()}
    _append(site, "away", values, "start")
    return back_to("/season", at="times")


def _append(site: Site, table: str, values: dict[str, str], field: str) -> None:
    """One more table in the file where such stand, once: what is there already stays one."""
    folder = site.folder
    assert folder is not None
    name = file_edit.home_of(folder, table)
    text = file_edit.text_of(folder, name)
    after = file_edit.with_table(text, table, values)
    if after == text:
        return  # the form was sent twice
    flaws = file_edit.new_flaws(folder, {name: after})
    if flaws:
        raise Wrong(without_places(flaws[0].message, folder), field, "", flaws[0].hint)
    file_edit.save(folder, name, after, seen=file_edit.digest(text))
