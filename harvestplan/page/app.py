"""All pages behind the guard."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import cache
from importlib.resources import files

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from harvestplan.page import (
    begin,
    feeds,
    files_page,
    garden,
    now,
    papers,
    phones,
    plan_page,
    season_page,
    session_page,
    sheet,
    store_page,
    what_if,
)
from harvestplan.page.guard import App, Guard
from harvestplan.page.rendering import stylesheet
from harvestplan.page.site import Site

ROOMS: tuple[Callable[[Site], list[Route]], ...] = (
    now.routes,
    season_page.routes,
    session_page.routes,
    garden.routes,
    store_page.routes,
    plan_page.routes,
    begin.routes,
    files_page.routes,
    phones.routes,
    feeds.routes,
    papers.routes,
    what_if.routes,
    sheet.routes,
)
KINDS = {"page.js": "text/javascript", "style.css": "text/css", "leaf.svg": "image/svg+xml"}


def make_app(site: Site) -> App:
    """The household's page as an ASGI application."""
    routes = [route for room in ROOMS for route in room(site)]
    routes.append(Route("/static/{name}", _static, methods=["GET"]))
    routes.append(Route("/favicon.ico", _icon, methods=["GET"]))
    app = Starlette(routes=routes, exception_handlers={404: _no_such(site), 405: _no_such(site)})
    app.router.redirect_slashes = False
    return Guard(app, site)


def _static(request: Request) -> Response:
    """Style, script and icon; asked for again only where they changed."""
    name = request.path_params["name"]
    if name not in KINDS:
        return Response(status_code=404)
    data, tag = _static_file(name)
    headers = {"etag": tag, "cache-control": "no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    return Response(data, media_type=KINDS[name], headers=headers)


def _icon(request: Request) -> Response:
    """The icon, where browsers look for one unasked."""
    data, _ = _static_file("leaf.svg")
    return Response(data, media_type=KINDS["leaf.svg"])


@cache
def _static_file(name: str) -> tuple[bytes, str]:
    if name == "style.css":
        data = stylesheet().encode()
    else:
        data = (files("harvestplan.page") / "static" / name).read_bytes()
    return data, f'"{hashlib.sha256(data).hexdigest()[:20]}"'


def _no_such(site: Site) -> Callable[[Request, Exception], Response]:
    def answer(request: Request, error: Exception) -> Response:
        return site.refusal(404, "There is no such page here.", known=True)

    return answer
