"""One session: what is in it, where else it could be and what that would mean, and the move."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from harvestplan.outputs.session_names import food_names, label_pages
from harvestplan.outputs.terminal.summary import session_words
from harvestplan.page.answering import shows, takes
from harvestplan.page.difference import difference, foods_differ
from harvestplan.page.fields import one_of
from harvestplan.page.long_work import LongJob
from harvestplan.page.reading import SeasonReading
from harvestplan.page.recording import record
from harvestplan.page.site import SESSION_GONE, Site, Wrong, back_to, sent, without_places
from harvestplan.plan.models import Session
from harvestplan.words import clock, day, food_name, plural

PATIENCE = 20.0
"""Seconds of waiting after which the page says that the planner is still at it."""
DAYS = 14
"""Days to either side in which a free time for a session is looked for."""


def routes(site: Site) -> list[Route]:
    """One session and its forms."""
    return [
        shows(site, "/session/{uid}", show_session),
        takes(site, "/session/{uid}/look", _look, show_session),
        takes(site, "/session/{uid}/move", _move, show_session),
    ]


def show_session(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """One session: what is in it, and where else it could be."""
    reading = site.read()
    session = reading.live_session(request.path_params["uid"])
    if session is None:
        return site.page(request, "told.html.j2", status=404, lines=[SESSION_GONE], title="Gone")
    job = _fresh(site, _name(site, session), reading)
    told = _told_places(job, session, reading)
    meaning = _fresh(site, _name(site, session, "meaning"), reading)
    jobs = [each for each in (job, meaning) if each]
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
        busy=any(each.state == "running" for each in jobs),
        looked=job is not None and job.state == "done",
        trouble=without_places(" ".join(each.trouble for each in jobs).strip(), site.folder),
        places=_places(told),
        no=[place for place in told if place["why"]],
        meaning=_meaning(meaning, reading) if meaning and meaning.state == "done" else None,
        on=session.start.date().isoformat(),
    )


def _fresh(site: Site, name: str, reading: SeasonReading) -> LongJob | None:
    """The last job of this name, where the season is still the one that it was asked of."""
    job: LongJob | None = site.work.job(name)
    return job if job is not None and job.mark == repr(reading.stamp) else None


def _labels_of(session: Session, reading: SeasonReading) -> str:
    """The name of the page of its labels without ending, empty where it packs nothing."""
    pages = label_pages(reading.plan) if reading.plan else {}
    return next((name for name, each in pages.items() if each.uid == session.uid), "")


def _name(site: Site, session: Session, what: str = "places") -> str:
    return f"{what}-{site.key}-{session.uid}"


def _told_places(
    job: LongJob | None, session: Session, reading: SeasonReading
) -> list[dict[str, Any]]:
    """The times that were tried, as people read them."""
    told = []
    for each in job.result.get("places", []) if job else []:
        start = dt.datetime.fromisoformat(each["start"])
        told.append(
            {
                "at": each["start"],
                "start": f"{start:%Y-%m-%dT%H:%M}",
                "words": f"{day(start.date())}, {clock(start, reading.measures)}",
                "cost": _fits(each["portions"], each["of"]),
                "why": each["why"],
            }
        )
    return told


def _fits(held: int, planned: int) -> str:
    """How much of the session's work a time can hold."""
    if held >= planned:
        return "all of it fits"
    return f"{held} of its {plural(planned, 'portion')} would fit" if held else "little of it fits"


def _places(told: list[dict[str, Any]]) -> list[tuple[str, str]]:
    return [
        (each["start"], f"{each['words']}: {each['cost']}")
        for each in sorted(told, key=lambda place: place["start"])
        if not each["why"]
    ]


def _meaning(job: LongJob, reading: SeasonReading) -> dict[str, Any]:
    """What the move would mean for the household, in sentences."""
    start = dt.datetime.fromisoformat(job.asked["to"])
    return {
        "to": f"{start:%Y-%m-%dT%H:%M}",
        "when": f"{day(start.date())}, {clock(start, reading.measures)}",
        "lines": list(_sentences(job.result)),
        "changes": {title: lines for title, lines in job.result["changes"].items() if lines},
    }


def _sentences(found: dict[str, Any]) -> Iterator[str]:
    yield difference("portion", *found["portions"])
    foods = {food_name(product): counts for product, counts in found["foods"].items()}
    yield from foods_differ(foods)
    yield difference("evening", *found["evenings"])
    if found["visits"][0] != found["visits"][1]:
        yield difference("visit", *found["visits"])
    waits = [f"{food_name(p)}, {plural(days, 'day')}" for p, days in found["waits"].items()]
    told = f"Waits longer before it is put by: {'; '.join(waits)}."
    yield told if waits else "Nothing waits longer."
    if not any(found["changes"].values()):
        yield "No other session changes."


def _look(site: Site, request: Request) -> Response:
    """Tries the free times near the session, in a process of its own."""
    reading, session = site.session_asked(request)
    _work(site, reading, session, "places", days=DAYS)
    return back_to(f"/session/{session.uid}", at="places")


def _work(site: Site, reading: SeasonReading, session: Session, what: str, **more: Any) -> None:
    """Asks the planner something about the session, and waits a while for the answer."""
    name = _name(site, session, what)
    site.work.drop(name)
    asked = {
        "folder": str(site.folder),
        "as_of": site.today(reading).isoformat(),
        "uid": session.uid,
        **more,
    }
    job = site.work.begin(name, what, asked)
    job.mark = repr(reading.stamp)
    job.over.wait(PATIENCE)


def _move(site: Site, request: Request) -> Response:
    """Says what the move would mean, or writes it in the diary: the next plan holds it there."""
    reading, session = site.session_asked(request)
    form = sent(request)
    job: LongJob | None = site.work.job(_name(site, session))
    told = _told_places(job, session, reading)
    starts = {each["start"]: each["at"] for each in told if not each["why"]}
    to = one_of(form, "to", list(starts))
    if form.get("what") == "mean":
        _work(site, reading, session, "meaning", to=starts[to])
        return back_to(f"/session/{session.uid}", at="places")
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
