"""Phones and tablets: the page in the home network, devices paired by a code, calendars to
subscribe to."""

from __future__ import annotations

import ipaddress
import socket
from typing import Any

import segno
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from harvestplan.outputs.calendar.kinds import KINDS
from harvestplan.page.answering import shows, takes
from harvestplan.page.devices import COOKIE
from harvestplan.page.feeds import feed_path, new_feed_paths
from harvestplan.page.fields import text_sent
from harvestplan.page.guard import HERE
from harvestplan.page.rendering import rendered
from harvestplan.page.site import Site, Wrong, back_to, device_of, sent
from harvestplan.page.tokens import new_code, token_for

YEAR = 365 * 86400
FEEDS = {
    "sessions": "When to be in the kitchen",
    "garden": "What to pick, what to give away",
    "shopping": "What to buy, and by when",
}


def routes(site: Site) -> list[Route]:
    """The page of phones, and the door for a new one."""
    return [
        shows(site, "/phones", show_phones),
        takes(site, "/phones/share", _share, show_phones),
        takes(site, "/phones/alone", _alone, show_phones),
        takes(site, "/phones/code", _code, show_phones),
        takes(site, "/phones/away", _send_away, show_phones),
        takes(site, "/phones/feeds", _new_feeds, show_phones),
        Route("/pair", lambda request: _show_pair(site, request), methods=["GET"]),
        Route("/pair", lambda request: _pair(site, request), methods=["POST"]),
    ]


def home_addresses() -> list[str]:
    """This computer's own addresses in private networks (RFC 1918), the likeliest first.

    Nothing is sent: a datagram socket only has the system say which way it would go.
    """
    found: list[str] = []
    for there in ("10.255.255.255", "192.168.255.255", "172.31.255.255"):
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
            try:
                way.connect((there, 9))
                found.append(str(way.getsockname()[0]))
            except OSError:
                continue
    return [
        each
        for each in dict.fromkeys(found)
        if (at := ipaddress.ip_address(each)).is_private and not at.is_loopback
    ]


def show_phones(site: Site, request: Request, wrong: Wrong | None = None) -> Response:
    """Whether the home network sees the page, who is paired, and the calendars' addresses."""
    reading = site.read()
    local = device_of(request) == HERE
    shared = site.shared_address
    code = site.devices.code() if local and shared else None
    address = f"http://{shared}:{site.port}" if shared else ""
    return site.page(
        request,
        "phones.html.j2",
        reading=reading,
        wrong=wrong,
        title="Phones and calendars",
        shared=address,
        code=f"{code[:3]} {code[3:]}" if code else "",
        pair_qr=qr(f"{address}/pair?code={code}") if code else "",
        devices=[(key, each["name"], each["since"]) for key, each in site.devices.all().items()],
        own=device_of(request),
        feeds=list(_feeds(site, address)) if shared else [],
        planned=reading.plan is not None,
    )


def _feeds(site: Site, address: str) -> Any:
    for name, words in FEEDS.items():
        if name in KINDS:
            at = f"{address.removeprefix('http')}{feed_path(site, name)}"
            yield {"words": words, "webcal": f"webcal{at}", "http": f"http{at}", "name": name,
                   "qr": qr(f"webcal{at}")}  # fmt: skip


def qr(text: str) -> Markup:
    """A QR code as SVG (ISO/IEC 18004), its text for those who cannot scan stands beside it."""
    code = segno.make(text, error="m", micro=False)
    size = code.symbol_size(border=2)[0]
    path = "".join(
        f"M{x} {y}h1v1h-1z"
        for y, row in enumerate(code.matrix_iter(border=2))
        for x, dark in enumerate(row)
        if dark
    )
    return Markup(
        '<svg class="qr" viewBox="0 0 {0} {0}" role="img" aria-label="Code to scan with a phone" '
        'shape-rendering="crispEdges"><path d="{1}" fill="#000"/></svg>'
    ).format(size, path)


def _only_here(request: Request) -> None:
    if device_of(request) != HERE:
        raise Wrong("This can be done at the computer alone, on which the page runs.")


def _share(site: Site, request: Request) -> Response:
    """Begins to listen in the home network."""
    _only_here(request)
    addresses = [site.home_address] if site.home_address else home_addresses()
    if not addresses:
        raise Wrong("This computer is in no home network just now. Look at its Wi-Fi or cable.")
    site.sharing.begin(addresses[0])
    return back_to("/phones")


def _alone(site: Site, request: Request) -> Response:
    _only_here(request)
    site.sharing.end()
    return back_to("/phones")


def _code(site: Site, request: Request) -> Response:
    _only_here(request)
    site.devices.new_code()
    return back_to("/phones", at="pair")


def _send_away(site: Site, request: Request) -> Response:
    key = sent(request).get("device", "")
    if key != device_of(request):
        _only_here(request)
    site.devices.send_away(key)
    return back_to("/phones")


def _new_feeds(site: Site, request: Request) -> Response:
    _only_here(request)
    new_feed_paths(site)
    return back_to("/phones", at="calendars")


def _show_pair(site: Site, request: Request, wrong: str = "", status: int = 200) -> Response:
    """Asks a device for the code; anybody at the door may see this."""
    code = new_code()
    token = token_for(site.secret(), device_of(request), "/pair", code)
    asked = request.query_params.get("code", "")
    text = rendered(
        "pair.html.j2",
        title="Pair this device",
        code=code,
        token=token,
        asked=asked if asked.isdigit() and len(asked) == 6 else "",
        wrong=wrong,
    )
    return HTMLResponse(text, status)


def _pair(site: Site, request: Request) -> Response:
    """Pairs a device that knows the code."""
    form = sent(request)
    said = "".join(form.get("figures", "").split())[:20]
    try:
        name = text_sent(form, "name", longest=40)
    except Wrong as wrong:
        return _show_pair(site, request, wrong.message, 422)
    cookie = site.devices.pair(said, name)
    if cookie is None:
        words = (
            "That is not the code, or it is over. Look at the computer again; after five tries "
            "wait a minute, and have a new code shown."
        )
        return _show_pair(site, request, words, 403)
    answer = back_to("/")
    answer.set_cookie(COOKIE, cookie, max_age=YEAR, httponly=True, samesite="lax", path="/")
    return answer
