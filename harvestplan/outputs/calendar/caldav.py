"""A small client for one calendar on a CalDAV server (RFC 4791), over http.client.

Speaks TLS with the system's trust, or plain HTTP to this very computer; follows no redirect, so
that a password goes nowhere but to the server that the person named.
"""

from __future__ import annotations

import base64
import contextlib
import http.client
import importlib
import ipaddress
import os
import socket
import ssl
import threading
import time
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import SplitResult, quote, unquote, urljoin, urlsplit

from harvestplan.errors import HarvestPlanError, printable
from harvestplan.outputs.calendar.multistatus import Incomplete, Resource, read_multistatus

USER, PASSWORD = "HARVESTPLAN_CALDAV_USER", "HARVESTPLAN_CALDAV_PASSWORD"
SERVICE = "harvestplan"
"""The service under which the system's keyring holds the password."""
TIMEOUT = 60
"""Seconds to wait for the server's next word."""
DEADLINE = 180
"""Seconds for a whole exchange, however often the server says a word of it."""
LARGEST_ANSWER = 20_000_000
_LONGEST_NAME = 500
"""Letters of a resource's name; file systems hold 255 bytes."""
_PORTS = {"http": 80, "https": 443}
_IN_PATHS = "@:+,;=!$&'()*~-._"
"""What stands in a path as it is, beside letters and digits (RFC 3986, 3.3)."""
_QUERY = b"""<?xml version="1.0" encoding="utf-8"?>
<C:calendar-query xmlns:D="DAV:" xmlns:C="urn:ietf:params:xml:ns:caldav">
<D:prop><D:getetag/><C:calendar-data/></D:prop>
<C:filter><C:comp-filter name="VCALENDAR"><C:comp-filter name="VEVENT"/></C:comp-filter></C:filter>
</C:calendar-query>"""


class ServerRefused(HarvestPlanError):
    """The calendar server cannot be reached, cannot be trusted, or said no."""


class ChangedMeanwhile(HarvestPlanError):
    """Somebody changed a resource between reading and writing (HTTP status 412)."""


@dataclass(frozen=True)
class Login:
    """User name and password; neither is ever shown."""

    user: str = field(repr=False)
    password: str = field(repr=False)


def find_login(host: str) -> Login | None:
    """From the environment, or for the password the system's keyring; None without a user name."""
    user = os.environ.get(USER, "")
    if not user:
        return None
    password = os.environ.get(PASSWORD)
    if password is None:
        password = _from_keyring(host, user)
    if password is None:
        raise ServerRefused(
            f"{USER} is set, but there is no password. Set {PASSWORD}, or keep the password in "
            f'the system\'s keyring (package "keyring") under the service "{SERVICE}@{host}".'
        )
    return Login(user, password)


def _from_keyring(host: str, user: str) -> str | None:
    try:
        keyring: Any = importlib.import_module("keyring")
    except ImportError:
        return None
    try:
        found = keyring.get_password(f"{SERVICE}@{host}", user)
    except Exception:  # each system's store fails in its own way; without one there is no password
        return None
    return found if isinstance(found, str) else None


class Collection:
    """The calendar at `url`. Its methods raise ServerRefused where the server cannot or will not.

    Raises ServerRefused for an address that is not https (or http to this computer), and for one
    with a password in it.
    """

    def __init__(self, url: str, login: Login | None = None) -> None:
        parts = _split(url)
        if parts.username or parts.password:
            raise ServerRefused(f"Leave user and password out of the address; set {USER} instead.")
        if parts.scheme not in ("https", "http") or not parts.hostname:
            raise ServerRefused("The address of a calendar begins with https://")
        if parts.scheme == "http" and not _this_computer(parts.hostname):
            raise ServerRefused("Only https:// keeps the password and your evenings private.")
        try:
            self.port = parts.port
        except ValueError:
            raise ServerRefused("The port in the address is no number up to 65535.") from None
        self.host, self.secure = parts.hostname, parts.scheme == "https"
        plain = (quote(segment, safe=_IN_PATHS) for segment in _segments(parts.path.rstrip("/")))
        self.path = f"{'/'.join(plain)}/"
        self.url = f"{parts.scheme}://{parts.netloc}{self.path}"
        self._login = login

    def read(self) -> list[Resource]:
        """Every resource with an event in it, as it stands; ServerRefused also where the answer is
        not whole."""
        head = {"Depth": "1", "Content-Type": "application/xml; charset=utf-8"}
        status, body, _ = self._ask("REPORT", self.path, _QUERY, head=head)
        if status != 207:
            raise self._refusal(status, "read the calendar")
        try:
            return read_multistatus(body, self._entry)
        except Incomplete as why:
            raise ServerRefused(
                f"{self.host} sent an answer that is incomplete, or none of a calendar: {why}. "
                "Nothing was taken from it. Try again later; if it stays so, look at the address."
            ) from None

    def create(self, name: str, data: bytes) -> None:
        """Put a new resource; raises ChangedMeanwhile where there is one of that name."""
        self._put(self.path + quote(name, safe=""), data, {"If-None-Match": "*"})

    def update(self, old: Resource, data: bytes) -> None:
        """Put `data` in place of `old`; raises ChangedMeanwhile where it is no longer so."""
        self._put(old.path, data, _if_match(old))

    def delete(self, old: Resource) -> None:
        """Delete it; that it is gone already is no error."""
        status, _, _ = self._ask("DELETE", self._sound(old.path), None, head=_if_match(old))
        if status == 412:
            raise ChangedMeanwhile("it was changed there meanwhile")
        if status not in (200, 202, 204, 404, 410):
            raise self._refusal(status, "delete an entry")

    def _put(self, path: str, data: bytes, head: dict[str, str]) -> None:
        kind = {"Content-Type": "text/calendar; charset=utf-8"}
        status, _, _ = self._ask("PUT", self._sound(path), data, head=kind | head)
        if status == 412:
            raise ChangedMeanwhile("it was changed there meanwhile")
        if status not in (200, 201, 204):
            raise self._refusal(status, "write an entry")

    def _ask(
        self, method: str, path: str, body: bytes | None, *, head: dict[str, str]
    ) -> tuple[int, bytes, http.client.HTTPMessage]:
        if self._login is not None:
            pair = f"{self._login.user}:{self._login.password}".encode()
            head = head | {"Authorization": f"Basic {base64.b64encode(pair).decode()}"}
        began = time.monotonic()
        try:
            return self._exchange(method, path, body, head={"User-Agent": "harvestplan", **head})
        except ssl.SSLCertVerificationError as error:
            why = f"its certificate cannot be trusted ({error.verify_message})"
            raise ServerRefused(f"{self.host}: {why}. Nothing was sent.") from None
        except (OSError, http.client.HTTPException) as error:
            why = getattr(error, "strerror", None) or type(error).__name__
            if time.monotonic() - began >= DEADLINE:
                why = f"after {DEADLINE} seconds it was still at the same answer"
            elif isinstance(error, http.client.IncompleteRead):
                why = "it broke off in the middle of its answer"
            raise ServerRefused(f"{self.host} does not answer: {printable(str(why))}.") from None

    def _exchange(
        self, method: str, path: str, body: bytes | None, *, head: dict[str, str]
    ) -> tuple[int, bytes, http.client.HTTPMessage]:
        connection = self._connection()
        connection.connect()
        alarm = threading.Timer(DEADLINE, _hang_up, [connection.sock])
        alarm.daemon = True
        alarm.start()
        try:
            connection.request(method, path, body, head)
            answer = connection.getresponse()
            data = answer.read(LARGEST_ANSWER + 1)
        finally:
            alarm.cancel()
            connection.close()
        if len(data) > LARGEST_ANSWER:
            size = f"{LARGEST_ANSWER // 1_000_000} MB"
            raise ServerRefused(f"{self.host} sent over {size}; give harvestplan its own calendar.")
        if answer.length:
            raise http.client.IncompleteRead(data, answer.length)
        return answer.status, data, answer.headers

    def _connection(self) -> http.client.HTTPConnection:
        if self.secure:
            trust = ssl.create_default_context()
            return http.client.HTTPSConnection(self.host, self.port, timeout=TIMEOUT, context=trust)
        return http.client.HTTPConnection(self.host, self.port, timeout=TIMEOUT)

    def _entry(self, href: str) -> str:
        """The path of the calendar's entry that `href` names (RFC 4918, 8.3); Incomplete for
        whatever is no entry of this calendar, above all the calendar itself."""
        try:
            parts = _split(urljoin(self.url, href))
            there = (parts.scheme, parts.hostname, parts.port or _PORTS.get(parts.scheme))
        except (ServerRefused, ValueError):
            raise Incomplete(f"{printable(href)} is no address") from None
        scheme = "https" if self.secure else "http"
        folder, _, name = parts.path.rpartition("/")
        here = there == (scheme, self.host, self.port or _PORTS[scheme])
        inside = _segments(folder) == _segments(self.path.rstrip("/"))
        if not here or not inside or not _is_name(name) or parts.query or parts.fragment:
            raise Incomplete(f"{printable(href)} is no entry of this calendar")
        return quote(parts.path, safe=f"{_IN_PATHS}/%")

    def _sound(self, path: str) -> str:
        """The path, if it may be written to."""
        try:
            return self._entry(path)
        except Incomplete as why:
            raise ServerRefused(f"{self.host}: {why}, so nothing was written there.") from None

    def _refusal(self, status: int, doing: str) -> ServerRefused:
        hint = f"It answered {status}."
        if status == 401:
            hint = f"It wants another user or password: set {USER} and {PASSWORD}."
        elif status == 403:
            hint = "This user may not write there."
        elif status in (404, 405, 409):
            hint = f"There is no calendar at {printable(self.path)} (it answered {status})."
        elif 300 <= status < 400:
            hint = "The calendar has moved; look up its new address."
        return ServerRefused(f"{self.host} would not let us {doing}. {hint}")


def connect(url: str) -> Collection:
    """The calendar at `url`, with the user's login where there is one."""
    bare = Collection(url)
    return Collection(url, find_login(bare.host))


def _split(url: str) -> SplitResult:
    """The address in its parts; ServerRefused for what is none."""
    try:
        parts = urlsplit(url.strip())
        (parts.hostname or "").encode("idna")
    except ValueError:
        raise ServerRefused("That is no address; it looks like https://server/you/cal/") from None
    return parts


def _segments(path: str) -> list[str]:
    return [unquote(segment) for segment in path.split("/")]


def _is_name(segment: str) -> bool:
    """Whether a path's last segment names an entry, however often a server decodes it."""
    if len(segment) > _LONGEST_NAME:
        return False
    while segment not in ("", ".", "..") and not set(segment) & set("/\\\0"):
        decoded = unquote(segment)
        if decoded == segment:
            return True
        segment = decoded
    return False


def _hang_up(line: socket.socket) -> None:
    with contextlib.suppress(OSError):
        line.shutdown(socket.SHUT_RDWR)


def _if_match(old: Resource) -> dict[str, str]:
    # A weak tag never matches (RFC 9110, 13.1.1), so it cannot guard.
    return {"If-Match": old.etag} if old.etag and not old.etag.startswith("W/") else {}


def _this_computer(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"
