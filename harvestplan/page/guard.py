"""What a request must be before any page sees it: from a known device, by a known name, and where
it changes something from a form of ours.

DNS rebinding is met by the Host header, forged forms by their origin and their token; answers say
to the browser what they may load and who may frame them.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any, Protocol
from urllib.parse import parse_qsl, urlsplit

from starlette.datastructures import Headers
from starlette.responses import Response

from harvestplan.page.tokens import is_sound

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LONGEST_BODY = 400_000
"""Bytes of a form: a season file as text, with room to spare."""
MOST_FIELDS = 800
LONGEST_PATH = 500
HERE = "here"
"""The device that this computer is to its own server."""

CSP = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
PRINTED_CSP = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src 'self'; form-action 'none'; "
    "base-uri 'none'; frame-ancestors 'none'"
)
"""For book and labels, which carry their style in themselves and no script."""
USUAL_HEADERS = {
    "content-security-policy": CSP,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cache-control": "no-store",
}
OPEN = ("/pair", "/static/", "/calendar/", "/favicon.ico")
"""What a device may ask for that is not paired yet."""


class Doors(Protocol):
    """What the guard asks of the server it guards."""

    def hosts(self) -> frozenset[str]: ...
    def own_address(self) -> str: ...
    def device_of(self, cookie: str) -> str | None: ...
    def secret(self) -> str: ...
    def refusal(self, status: int, words: str, *, known: bool) -> Response: ...


class Guard:
    """Stands before the pages."""

    def __init__(self, app: App, doors: Doors) -> None:
        self.app, self.doors = app, doors

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        headers = Headers(scope=scope)
        found = self._device(scope, headers)
        scope.setdefault("state", {})["device"] = found
        scope["state"]["form"] = {}
        told = self._at_the_door(scope, headers, found)
        if told is None and scope["method"] == "POST":
            told = await self._form(scope, headers, receive, device=found)
        answer: App = self.app
        if told is not None:
            answer = self.doors.refusal(*told, known=found is not None)
        await answer(scope, receive, _with_headers(send))

    def _device(self, scope: Scope, headers: Headers) -> str | None:
        server = scope.get("server")
        if server and server[0] == self.doors.own_address():
            return HERE
        return self.doors.device_of(headers.get("cookie", ""))

    def _at_the_door(
        self, scope: Scope, headers: Headers, device: str | None
    ) -> tuple[int, str] | None:
        if headers.get("host", "").lower() not in self.doors.hosts():
            return 421, "This is not an address of this page."
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return 405, "This page does not know how to do that."
        if len(scope.get("raw_path") or b"") + len(scope.get("query_string", b"")) > LONGEST_PATH:
            return 414, "This address is too long."
        path = scope["path"]
        is_open = any(path == each or path.startswith(each) for each in OPEN)
        if device is None and not is_open:
            return 403, "This device is not paired with the household's page yet."
        return None

    async def _form(
        self, scope: Scope, headers: Headers, receive: Receive, *, device: str | None
    ) -> tuple[int, str] | None:
        """Reads the form into the request's state, or says why it is none of ours."""
        if not _same_origin(headers):
            return 403, "This was sent from another page, so nothing was changed."
        kind = headers.get("content-type", "").partition(";")[0].strip().lower()
        if kind != "application/x-www-form-urlencoded":
            return 415, "This is no form of this page."
        body = await _body(receive)
        if body is None:
            return 413, "This is more than a form of this page may hold. Nothing was changed."
        try:
            pairs = parse_qsl(
                body.decode("ascii"),
                keep_blank_values=True,
                max_num_fields=MOST_FIELDS,
                errors="strict",
            )
        except ValueError:
            return 400, "This form cannot be read. Nothing was changed."
        form = dict(reversed(pairs))
        code, token = form.get("code", ""), form.get("token", "")
        if not is_sound(self.doors.secret(), device or "", scope["path"], code, token):
            return 403, "This form is from another time. Open the page anew and try again."
        scope["state"]["form"] = form
        return None


def _same_origin(headers: Headers) -> bool:
    """Whether the browser says that the form was on a page of ours; silence is not enough."""
    host, origin = headers.get("host", "").lower(), headers.get("origin")
    if origin is not None:
        return origin.lower() == f"http://{host}"
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site == "same-origin"
    told = urlsplit(headers.get("referer", ""))
    return told.scheme == "http" and told.netloc.lower() == host


async def _body(receive: Receive) -> bytes | None:
    """What is sent, or None where it is too much."""
    parts, size = [], 0
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return None
        part = message.get("body", b"")
        size += len(part)
        if size > LONGEST_BODY:
            return None
        parts.append(part)
        if not message.get("more_body"):
            return b"".join(parts)


def _with_headers(send: Send) -> Send:
    async def sent(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            named = {name.lower() for name, _ in message["headers"]}
            message["headers"] = [
                *message["headers"],
                *(
                    (name.encode(), value.encode())
                    for name, value in USUAL_HEADERS.items()
                    if name.encode() not in named
                ),
            ]
        await send(message)

    return sent
