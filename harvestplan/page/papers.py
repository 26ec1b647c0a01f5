"""What is printed: the book, labels, the tally; and the page that leads to all that is seldom."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from harvestplan.outputs.session_names import label_pages
from harvestplan.page.answering import shows, takes
from harvestplan.page.fields import one_of
from harvestplan.page.guard import PRINTED_CSP
from harvestplan.page.reading import SeasonReading
from harvestplan.page.recording import record
from harvestplan.page.site import Site, Wrong, back_to, sent
from harvestplan.plan.file_names import LABELS
from harvestplan.records.printed_labels import printed_labels
from harvestplan.words import day

PAPERS = {
    "labels.html": "All labels of the season",
    "tally.html": "Tally sheet for the freezer door",
}
OF_A_SESSION = re.compile(r"\d{4}-\d\d-\d\d(-\d+)?\.html", re.ASCII)
LARGEST = 30_000_000
SOON = dt.timedelta(days=28)
"""Labels are printed for sessions that are near: others may still move (own judgement)."""


@dataclass
class LabelledDay:
    """The labels of what is packed on a day, a page for each session, and whether the household
    says that they are printed."""

    date: dt.date
    words: str
    pages: list[str]
    printed: bool


def routes(site: Site) -> list[Route]:
    """The book, labels, and all that is seldom wanted."""
    return [
        shows(site, "/more", show_more),
        takes(site, "/more/printed", _printed_labels, show_more),
        shows(site, "/book", _book),
        shows(site, "/labels/{name}", _paper),
    ]


def show_more(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """Where the rest is."""
    reading = site.read()
    return site.page(
        request,
        "more.html.j2",
        reading=reading,
        wrong=wrong,
        title="More",
        planned=reading.plan is not None,
        papers=PAPERS,
        labelled=_labelled_days(reading, site.today(reading)),
    )


def _labelled_days(reading: SeasonReading, today: dt.date) -> list[LabelledDay]:
    """Days of the coming weeks on which something is packed."""
    if reading.plan is None:
        return []
    told = {each.day for each in printed_labels(reading.diary)}
    days: dict[dt.date, LabelledDay] = {}
    for name, session in label_pages(reading.plan).items():
        date = session.start.date()
        if today <= date <= today + SOON:
            new = LabelledDay(date, day(date), [], printed=date in told)
            days.setdefault(date, new).pages.append(f"{name}.html")
    return list(days.values())


def _printed_labels(site: Site, request: Request) -> Response:
    reading = site.read()
    today = site.today(reading)
    known = [each.date.isoformat() for each in _labelled_days(reading, today)]
    date = one_of(sent(request), "day", known)
    about = {f"labels {date}"}
    done = record(site, request, "printed", [f"labels {date}"], on=today, about=about, field="day")
    return back_to("/more", done[0].event.code)


def _book(site: Site, request: Request) -> Response:
    """The season's book of today; its links lead to the page's own sheets."""
    # Its charts need numpy, which takes longer to load than the rest of the server.
    from harvestplan.outputs.paper.book import book_bytes

    reading = site.read()
    if reading.season is None or reading.library is None:
        return site.mend(request, reading)
    if reading.plan is None:
        lines = ["There is no plan yet, so there is no book."]
        return site.page(request, "told.html.j2", lines=lines, title="No book yet")
    today = site.today(reading)
    data = book_bytes(reading.plan, reading.season, reading.library, today=today)
    text = data.decode().replace('href="runsheets/', 'href="/sheets/')
    text = text.replace('href="labels/', 'href="/labels/')
    return _printed(text)


def _paper(site: Site, request: Request) -> Response:
    """Labels and the tally, as the last plan wrote them."""
    assert site.folder is not None
    name = request.path_params["name"]
    path = site.folder / "out" / LABELS / name
    known = name in PAPERS or OF_A_SESSION.fullmatch(name)
    there = known and path.is_file() and not path.is_symlink()
    if not there or path.stat().st_size > LARGEST:
        lines = ["This is written with the next plan."]
        return site.page(request, "told.html.j2", status=404, lines=lines, title="Not there yet")
    text = path.read_text(encoding="utf-8", errors="replace")
    return _printed(text.replace('href="../book.html', 'href="/book'))


def _printed(text: str) -> Response:
    headers = {"content-security-policy": PRINTED_CSP}
    return Response(text, media_type="text/html; charset=utf-8", headers=headers)
