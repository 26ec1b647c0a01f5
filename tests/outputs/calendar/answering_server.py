"""A server on this computer that answers whatever a test wants a calendar server to answer."""

from __future__ import annotations

import contextlib
import http.server
import ssl
import threading
import time
from collections.abc import Iterator, Mapping
from xml.sax.saxutils import escape

EVENT = "BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nUID:1\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
OK = "HTTP/1.1 200 OK"


def response(href: str, data: str = EVENT, etag: str = '"7"', status: str = OK) -> str:
    """One entry of a multistatus (RFC 4918, 14.24)."""
    body = escape(data).replace("\r", "&#13;")
    return (
        f"<response><href>{href}</href><propstat><prop><getetag>{escape(etag)}</getetag>"
        f"<C:calendar-data>{body}</C:calendar-data></prop><status>{status}</status></propstat>"
        "</response>"
    )


def multistatus(*responses: str) -> bytes:
    """A whole answer (RFC 4918, 14.16)."""
    inner = "".join(responses)
    return (
        '<?xml version="1.0" encoding="utf-8"?><multistatus xmlns="DAV:" '
        f'xmlns:C="urn:ietf:params:xml:ns:caldav">{inner}</multistatus>'
    ).encode()


CALENDAR = (
    "<response><href>/cal/</href><propstat><prop><resourcetype><collection/><C:calendar/>"
    f"</resourcetype></prop><status>{OK}</status></propstat></response>"
)
"""What a server tells of a calendar that takes everything (RFC 4791, 4.2)."""


def calendar_of(entries: Mapping[str, str]) -> bytes:
    """A whole answer with these entries, by the names of their resources under /cal/."""
    return multistatus(*(response(f"/cal/{name}", data) for name, data in entries.items()))


class _Handler(http.server.BaseHTTPRequestHandler):
    server: Server

    def _reply(self) -> None:
        self.server.seen.append(dict(self.headers))
        self.server.asked.append(f"{self.command} {self.path}")
        self.rfile.read(int(self.headers.get("Content-Length", 0)))
        status, body = self.server.answer if self.command == "REPORT" else (204, b"")
        if self.command == "PROPFIND":
            status, body = self.server.found
        if self.server.slowly:
            self._drip(status, body)
            return
        self.send_response(status)
        self.send_header("Content-Length", str(self.server.length or len(body)))
        if 300 <= status < 400:
            self.send_header("Location", "https://elsewhere.example/")
        self.end_headers()
        self.wfile.write(body)

    def _drip(self, status: int, body: bytes) -> None:
        """A letter at a time, of the head, or of the body with or without its length told."""
        length = "" if self.server.slowly == "body" else f"Content-Length: {len(body)}\r\n"
        head = f"HTTP/1.0 {status} OK\r\n{length}\r\n".encode()
        slow, fast = (head, body) if self.server.slowly == "head" else (body, b"")
        if slow is body:
            self.wfile.write(head)
        for number in range(60):
            self.wfile.write(slow[number : number + 1])
            time.sleep(0.05)
        self.wfile.write(slow[60:] + fast)

    do_REPORT = do_PUT = do_DELETE = do_PROPFIND = _reply  # noqa: N815  (the names the library looks for)

    def log_message(self, *_: object) -> None:
        pass


class Server(http.server.HTTPServer):
    """What it was asked, with the heads it saw, and what it answers to REPORT and PROPFIND."""

    seen: list[dict[str, str]]
    asked: list[str]
    answer: tuple[int, bytes] = (207, b"")
    found: tuple[int, bytes] = (207, b"")
    length: int | None = None
    slowly: str = ""

    @property
    def address(self) -> str:
        """Where its calendar is."""
        return f"http://localhost:{self.server_address[1]}/cal/"

    def handle_error(self, *_: object) -> None:
        """A client that hangs up is part of the test."""


@contextlib.contextmanager
def answering(status: int, body: bytes, tls: ssl.SSLContext | None = None) -> Iterator[Server]:
    """A server with this answer, for as long as a test needs it."""
    server = Server(("127.0.0.1", 0), _Handler)
    server.seen, server.asked, server.answer = [], [], (status, body)
    server.found = (207, multistatus(CALENDAR))
    if tls is not None:
        server.socket = tls.wrap_socket(server.socket, server_side=True)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        thread.join()
        server.server_close()
