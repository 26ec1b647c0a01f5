"""The season, week by week: sessions and visits, moved, given up, and times added by a form."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from itertools import groupby
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from harvestplan.outputs.session_names import food_names, sheet_names
from harvestplan.outputs.terminal.summary import session_words
from harvestplan.page import file_edit
from harvestplan.page.answering import shows, takes
from harvestplan.page.fields import day_sent, one_of, time_sent
from harvestplan.page.reading import SeasonReading
from harvestplan.page.recording import record
from harvestplan.page.site import Site, Wrong, back_to, sent, without_places
from harvestplan.plan.models import Session
from harvestplan.records.events import KeepFree, Moved
from harvestplan.words import clock, day, plural

DAYS = 14
"""Days to either side in which a free time for a session is looked for."""
STATUS = {"firm": "promised", "done": "done"}


def routes(site: Site) -> list[Route]:
    """The season, one session, and their forms."""
    return [
        shows(site, "/season", show_season),
        takes(site, "/season/free", _free, show_season),
        takes(site, "/season/evening", _evening, show_season),
        takes(site, "/season/away", _away, show_season),
        shows(site, "/session/{uid}", show_session),
        takes(site, "/session/{uid}/look", _look, show_session),
        takes(site, "/session/{uid}/move", _move, show_session),
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
        start=max(today, reading.season.season.start).isoformat(),
        no_plan=plan is None,
        kept_free=[
            f"{day(time.start.date())}, {clock(time.start, reading.measures)}"
            for time in (plan.kept_free if plan else ())
        ],
    )


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


def show_session(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """One session: what is in it, and where else it could be."""
    reading = site.read()
    session = _of(reading, request.path_params["uid"])
    if session is None:
        lines = ["This session is not in the plan any more."]
        return site.page(request, "told.html.j2", status=404, lines=lines, title="Gone")
    job = site.work.job(_name(site, session))
    fresh = job is not None and job.asked.get("stamp") == repr(reading.stamp)
    found = job.result.get("places", []) if fresh and job is not None else []
    return site.page(
        request,
        "session.html.j2",
        reading=reading,
        wrong=wrong,
        title=day(session.start.date(), year=True),
        uid=session.uid,
        words=session_words(session, reading.measures),
        foods=food_names(session),
        labels=_labels_of(session, reading),
        movable=session.status in ("planned", "firm") and session.cut_at is None,
        looked=fresh and job is not None and job.state == "done",
        trouble=without_places(job.trouble, site.folder) if fresh and job is not None else "",
        places=_places(found, session, reading),
        no=[p for p in _told_places(found, session, reading) if p["why"]],
        on=session.start.date().isoformat(),
    )


def _of(reading: SeasonReading, uid: str) -> Session | None:
    sessions = reading.plan.sessions if reading.plan else ()
    return next((s for s in sessions if s.uid == uid and s.live), None)


def _labels_of(session: Session, reading: SeasonReading) -> str:
    """The name of the page of its labels without ending, empty where it packs nothing."""
    if reading.plan is None or not any(run.pouches for run in session.runs):
        return ""
    names = (name for name, each in sheet_names(reading.plan).items() if each.uid == session.uid)
    return next(names, "").removesuffix(".txt")


def _name(site: Site, session: Session) -> str:
    return f"places-{site.key}-{session.uid}"


def _told_places(found: Any, session: Session, reading: SeasonReading) -> list[dict[str, Any]]:
    planned = sum(run.pouches for run in session.runs)
    told = []
    for each in found:
        start = dt.datetime.fromisoformat(each["start"])
        lost = max(0, planned - each["portions"])
        told.append(
            {
                "start": f"{start:%Y-%m-%dT%H:%M}",
                "words": f"{day(start.date())}, {clock(start, reading.measures)}",
                "cost": f"{plural(lost, 'portion')} fewer" if lost else "all of it fits",
                "why": each["why"],
            }
        )
    return told


def _places(found: Any, session: Session, reading: SeasonReading) -> list[tuple[str, str]]:
    return [
        (each["start"], f"{each['words']}: {each['cost']}")
        for each in sorted(_told_places(found, session, reading), key=lambda e: e["start"])
        if not each["why"]
    ]


def _look(site: Site, request: Request) -> Response:
    """Tries the free times near the session, in a process of its own."""
    reading = site.read()
    session = _of(reading, request.path_params["uid"])
    if session is None or reading.season is None:
        raise Wrong("This session is not in the plan any more.")
    name = _name(site, session)
    site.work.drop(name)
    asked = {
        "folder": str(site.folder),
        "as_of": site.today(reading).isoformat(),
        "uid": session.uid,
        "days": DAYS,
    }
    job = site.work.begin(name, "places", asked)
    job.over.wait()
    job.asked["stamp"] = repr(reading.stamp)
    return back_to(f"/session/{session.uid}", at="places")


def _move(site: Site, request: Request) -> Response:
    """Writes the move in the diary; the next plan holds it there."""
    reading = site.read()
    session = _of(reading, request.path_params["uid"])
    if session is None:
        raise Wrong("This session is not in the plan any more.")
    form = sent(request)
    job = site.work.job(_name(site, session))
    found = job.result.get("places", []) if job is not None else []
    starts = [key for key, _ in _places(found, session, reading)]
    to = one_of(form, "to", starts)
    line = f"session {session.start:%Y-%m-%d %H:%M} to {to.replace('T', ' ')}"
    done = record(
        site,
        request,
        "moved",
        [line],
        on=site.today(reading),
        about={session.start.date().isoformat()},
        field="to",
    )
    return back_to("/season", done[0].event.code)
