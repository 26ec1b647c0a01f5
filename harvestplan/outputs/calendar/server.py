"""One calendar server and how it is spoken to: a small HTTP client over http.client.

TLS with the system's trust, and a certificate of the household's own where it names one; plain
HTTP to this very computer, and into the home network where the household accepts it. Follows no
redirect, so that a password goes nowhere but to the server that the person named.
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
from pathlib import Path
from typing import Any
from urllib.parse import SplitResult, quote, unquote, urljoin, urlsplit

from harvestplan.errors import HarvestPlanError, printable
from harvestplan.outputs.calendar.multistatus import Incomplete

USER, PASSWORD = "HARVESTPLAN_CALDAV_USER", "HARVESTPLAN_CALDAV_PASSWORD"
SERVICE = "harvestplan"
"""The service under which the system's keyring holds the password."""
TIMEOUT = 60
"""Seconds to wait for the server's next word."""
DEADLINE = 180
"""Seconds for a whole exchange, however often the server says a word of it."""
LARGEST_ANSWER = 20_000_000
_LARGEST_TRUST = 1_000_000
_PORTS = {"http": 80, "https": 443}
IN_PATHS = "@:+,;=!$&'()*~-._"
"""What stands in a path as it is, beside letters and digits (RFC 3986, 3.3)."""


class ServerRefused(HarvestPlanError):
    """The calendar server cannot be reached, cannot be trusted, or said no."""


@dataclass(frozen=True)
class Login:
    """User name and password; neither is ever shown."""

    user: str = field(repr=False)
    password: str = field(repr=False)


@dataclass(frozen=True)
class Terms:
    """What the household accepts of a server: certificates in the file `trust`, beside those the
    system knows; with `plain`, that it is spoken to in the clear inside the home network."""

    trust: Path | None = None
    plain: bool = False


USUAL_TERMS = Terms()


@dataclass(frozen=True)
class Answer:
    """Status, body and the header fields that matter here ("" where there is none)."""

    status: int
    body: bytes
    location: str = ""


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


class Server:
    """The server of the address `url`.

    Raises ServerRefused for an address that is not https (or http to this computer, or by `terms`
    into the home network), and for one with a password in it.
    """

    def __init__(self, url: str, login: Login | None = None, terms: Terms = USUAL_TERMS) -> None:
        parts = split_url(url)
        if parts.username or parts.password:
            raise ServerRefused(f"Leave user and password out of the address; set {USER} instead.")
        if parts.scheme not in _PORTS or not parts.hostname:
            raise ServerRefused("The address of a calendar begins with https://")
        try:
            self.port = parts.port
        except ValueError:
            raise ServerRefused("The port in the address is no number up to 65535.") from None
        self.host, self.secure = parts.hostname, parts.scheme == "https"
        self._login, self._terms = login, terms
        self._number = self.host if self.secure else _plain_way(self.host, terms)
        self.root = f"{parts.scheme}://{parts.netloc.lower()}"

    @property
    def exposed(self) -> str:
        """What everybody on the network can read, as a warning; "" where nobody can."""
        if self.secure or _is_this_computer(self.host):
            return ""
        secret = "your user name and password, and " if self._login else ""
        return (
            f"Warning: to {self.host} everything goes unencrypted. Whoever is on your network can "
            f"read {secret}when you are at home, and can change it on the way."
        )

    def ask(
        self,
        method: str,
        path: str,
        body: bytes | None = None,
        head: dict[str, str] | None = None,
        *,
        anonymous: bool = False,
    ) -> Answer:
        """One exchange; ServerRefused where the server cannot be reached or believed."""
        fields = {"User-Agent": "harvestplan"} | (head or {})
        if self._login is not None and not anonymous:
            pair = f"{self._login.user}:{self._login.password}".encode()
            fields |= {"Authorization": f"Basic {base64.b64encode(pair).decode()}"}
        began = time.monotonic()
        try:
            return self._exchange(method, path, body, head=fields)
        except ssl.SSLCertVerificationError as error:
            raise ServerRefused(self._distrust(error.verify_message)) from None
        except ssl.SSLError as error:
            why = f"no encrypted talk came about ({printable(error.reason or type(error).__name__)}"
            raise ServerRefused(f"{self.host}: {why}). Perhaps the port is another one.") from None
        except (OSError, http.client.HTTPException) as error:
            why = getattr(error, "strerror", None) or type(error).__name__
            if time.monotonic() - began >= DEADLINE:
                why = f"after {DEADLINE} seconds it was still at the same answer"
            elif isinstance(error, http.client.IncompleteRead):
                why = "it broke off in the middle of its answer"
            raise ServerRefused(
                f"{self.host} does not answer: {printable(str(why))}. Is it switched on, and is "
                "this computer in its network?"
            ) from None

    def _distrust(self, why: str) -> str:
        return (
            f"{self.host}: its certificate cannot be trusted ({printable(why)}). Nothing was sent. "
            "If it is a server of your own, save its certificate, or that of the authority that "
            "signed it, in a file (PEM), and name that: --trust FILE."
        )

    def path_of(self, href: str, base: str) -> str:
        """The path on this server that `href`, read at the path `base`, names; Incomplete where it
        leads elsewhere (RFC 4918, 8.3)."""
        try:
            parts = split_url(urljoin(f"{self.root}{base}", href))
            there = (parts.scheme, parts.hostname, parts.port or _PORTS.get(parts.scheme))
        except (ServerRefused, ValueError):
            raise Incomplete(f"{printable(href)} is no address") from None
        scheme = "https" if self.secure else "http"
        here = there == (scheme, self.host, self.port or _PORTS[scheme])
        if not here or parts.query or parts.fragment or not _stays(parts.path):
            raise Incomplete(f"{printable(href)} leads elsewhere")
        return quote(parts.path, safe=f"{IN_PATHS}/%")

    def _exchange(
        self, method: str, path: str, body: bytes | None, *, head: dict[str, str]
    ) -> Answer:
        connection = self._connection()
        connection.connect()
        alarm = threading.Timer(DEADLINE, _hang_up, [connection.sock])
        alarm.daemon = True
        alarm.start()
        try:
            connection.request(method, path, body, head | {"Host": self.root.partition("//")[2]})
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
        return Answer(answer.status, data, answer.headers.get("Location", ""))

    def _connection(self) -> http.client.HTTPConnection:
        if not self.secure:
            return http.client.HTTPConnection(self._number, self.port, timeout=TIMEOUT)
        trust = ssl.create_default_context()
        if self._terms.trust is not None:
            _also_trust(trust, self._terms.trust)
        return http.client.HTTPSConnection(self.host, self.port, timeout=TIMEOUT, context=trust)


def split_url(url: str) -> SplitResult:
    """The address in its parts; ServerRefused for what is none."""
    try:
        parts = urlsplit(url.strip())
        (parts.hostname or "").encode("idna")
    except ValueError:
        raise ServerRefused("That is no address; it looks like https://server/you/cal/") from None
    return parts


def segments(path: str) -> list[str]:
    """The parts of a path between its strokes, decoded."""
    return [unquote(segment) for segment in path.split("/")]


def _stays(path: str) -> bool:
    """Whether no part of the path climbs out of it, however often a server decodes it."""
    for segment in path.split("/"):
        part = segment
        while unquote(part) != part:
            part = unquote(part)
            if set(part) & set("/\\\0"):
                return False
        if part in (".", "..") or set(part) & set("\\\0"):
            return False
    return True


def _also_trust(trust: ssl.SSLContext, file: Path) -> None:
    try:
        with file.open("rb") as source:
            data = source.read(_LARGEST_TRUST + 1)
        if len(data) > _LARGEST_TRUST:
            raise ValueError
        trust.load_verify_locations(cadata=data.decode("ascii"))
    except OSError as error:
        why = "it holds no certificate" if isinstance(error, ssl.SSLError) else error.strerror
        raise ServerRefused(f"{printable(str(file))}: {why}.") from None
    except ValueError:
        raise ServerRefused(
            f"{printable(str(file))}: it holds no certificate in PEM form, which begins with "
            "-----BEGIN CERTIFICATE-----."
        ) from None


def _plain_way(host: str, terms: Terms) -> str:
    """The number to call for plain http; ServerRefused where that is not accepted."""
    if _is_this_computer(host):
        return host
    number = _at_home(host)
    if number is None:
        raise ServerRefused(
            "Only https:// keeps the password and your evenings private. Plain http:// goes to "
            "this computer, or to one in your home network alone."
        )
    if not terms.plain:
        raise ServerRefused(
            f"http:// to {host} is not encrypted: whoever is on your network can read your user "
            "name and password and when you are at home, and can change it on the way. Better is "
            "https:// with the server's own certificate (--trust FILE). If you accept it for your "
            "home network, add --plain-http."
        )
    return number


def _at_home(host: str) -> str | None:
    """The number of a host whose every address is private (RFC 1918, RFC 4193, link-local)."""
    try:
        found = {str(each[4][0]) for each in socket.getaddrinfo(host, None, 0, socket.SOCK_STREAM)}
        numbers = [ipaddress.ip_address(number.partition("%")[0]) for number in sorted(found)]
    except (OSError, ValueError):
        numbers = []
    return sorted(found)[0] if numbers and all(map(_is_private, numbers)) else None


_PRIVATE = tuple(
    map(
        ipaddress.ip_network,
        ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "fc00::/7",
         "fe80::/10"),
    )
)  # fmt: skip


def _is_private(number: ipaddress.IPv4Address | ipaddress.IPv6Address) -> bool:
    return any(number in each for each in _PRIVATE if each.version == number.version)


def _is_this_computer(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _hang_up(line: socket.socket) -> None:
    with contextlib.suppress(OSError):
        line.shutdown(socket.SHUT_RDWR)
