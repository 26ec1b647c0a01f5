"""What is printed: the book, labels, the tally; and the page that leads to all that is seldom."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from harvestplan.page.answering import shows
from harvestplan.page.guard import PRINTED_CSP
from harvestplan.page.site import Site, Wrong
from harvestplan.plan.file_names import LABELS

PAPERS = {
    "labels.html": "All labels of the season",
    "tally.html": "Tally sheet for the freezer door",
}
OF_A_SESSION = re.compile(r"\d{4}-\d\d-\d\d(-\d+)?\.html", re.ASCII)
LARGEST = 30_000_000


def routes(site: Site) -> list[Route]:
    """The book, labels, and all that is seldom wanted."""
    return [
        shows(site, "/more", show_more),
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
    )


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
