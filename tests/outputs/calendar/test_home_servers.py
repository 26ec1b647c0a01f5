"""Servers in the home network: own certificates, and plain http after a word of warning."""

from __future__ import annotations

import socket
import ssl
from pathlib import Path
from typing import Any

import pytest
import trustme
from outputs.calendar.answering_server import answering, calendar_of

from harvestplan.outputs.calendar.caldav import Collection, connect
from harvestplan.outputs.calendar.server import Login, Server, ServerRefused, Terms

PLAIN = Terms(plain=True)


def at_home(monkeypatch: pytest.MonkeyPatch, *numbers: str) -> None:
    """Names lead to these numbers."""

    def told(host: str, *_: Any, **__: Any) -> list[Any]:
        if not numbers:
            raise socket.gaierror("unknown")
        return [(socket.AF_INET, socket.SOCK_STREAM, 6, "", (number, 0)) for number in numbers]

    monkeypatch.setattr(socket, "getaddrinfo", told)


# Private: RFC 1918 (3), RFC 4193 (3.1), RFC 3927 (2.1), RFC 4291 (2.5.6).
@pytest.mark.parametrize("number", ["192.168.1.20", "10.0.0.7", "172.31.4.4", "169.254.9.9",
                                    "fd12:3456::1", "fe80::1%eth0"])  # fmt: skip
def test_plain_http_inside_the_home_wants_consent(
    monkeypatch: pytest.MonkeyPatch, number: str
) -> None:
    at_home(monkeypatch, number)
    with pytest.raises(ServerRefused) as caught:
        Collection("http://shed.local/cal/", Login("anna", "sesame"))
    for words in ("not encrypted", "user name and password", "at home", "--trust", "--plain-http"):
        assert words in str(caught.value)
    warned = Server("http://shed.local/cal/", Login("anna", "sesame"), PLAIN).exposed
    assert "user name and password" in warned and "unencrypted" in warned
    assert "password" not in Server("http://shed.local/cal/", None, PLAIN).exposed


@pytest.mark.parametrize(
    "numbers",
    [(), ("93.184.216.34",), ("192.168.1.20", "93.184.216.34"), ("172.32.0.1",), ("2001:db8::1",)],
)
def test_plain_http_to_anywhere_else_is_refused_all_the_same(
    monkeypatch: pytest.MonkeyPatch, numbers: tuple[str, ...]
) -> None:
    at_home(monkeypatch, *numbers)
    with pytest.raises(ServerRefused, match="Only https"):
        Collection("http://shed.local/cal/", None, PLAIN)


def test_the_number_that_was_looked_at_is_the_one_called(monkeypatch: pytest.MonkeyPatch) -> None:
    """A name that leads elsewhere a moment later leads nowhere else with the password."""
    with answering(207, calendar_of({})) as server:
        port = server.server_address[1]
        at_home(monkeypatch, "192.168.1.20")
        there = Collection(f"http://shed.local:{port}/cal/", Login("anna", "sesame"), PLAIN)
        called: list[Any] = []

        def connection(address: tuple[str, int], *_: Any, **__: Any) -> socket.socket:
            called.append(address)
            line = socket.socket()
            line.connect(("127.0.0.1", port))
            return line

        monkeypatch.setattr(socket, "create_connection", connection)
        at_home(monkeypatch, "93.184.216.34")
        assert there.read() == []
        assert called == [("192.168.1.20", port)]
        assert server.seen[0]["Host"] == f"shed.local:{port}"


@pytest.fixture
def tls() -> tuple[trustme.CA, ssl.SSLContext]:
    authority = trustme.CA()
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    authority.issue_cert("localhost").configure_cert(context)
    return authority, context


def test_an_own_certificate(tls: tuple[trustme.CA, ssl.SSLContext], tmp_path: Path) -> None:
    authority, context = tls
    file = tmp_path / "home.pem"
    authority.cert_pem.write_to_path(str(file))
    with answering(207, calendar_of({}), context) as server:
        url = f"https://localhost:{server.server_address[1]}/cal/"
        with pytest.raises(ServerRefused, match="--trust FILE") as caught:
            Collection(url).read()
        assert "Nothing was sent" in str(caught.value) and server.seen == []
        assert Collection(url, None, Terms(file)).read() == []
        other = Collection(url.replace("localhost", "127.0.0.1"), None, Terms(file))
        with pytest.raises(ServerRefused, match="cannot be trusted"):
            other.read()  # the certificate is for another name
        trustme.CA().cert_pem.write_to_path(str(file))
        with pytest.raises(ServerRefused, match="cannot be trusted"):
            Collection(url, None, Terms(file)).read()


@pytest.mark.parametrize(
    "data",
    [b"", b"garbage", b"\xff\xfe", b"-----BEGIN CERTIFICATE-----\nxx\n-----END CERTIFICATE-----\n",
     b"x" * 1_100_000, None],
)  # fmt: skip
def test_a_file_that_is_no_certificate_is_named(tmp_path: Path, data: bytes | None) -> None:
    file = tmp_path / "home.pem"
    if data is not None:
        file.write_bytes(data)
    with pytest.raises(ServerRefused, match=r"home\.pem: "):
        Collection("https://localhost:1/cal/", None, Terms(file)).read()


def test_https_to_a_port_that_speaks_plain_http() -> None:
    with answering(207, calendar_of({})) as server:
        url = f"https://localhost:{server.server_address[1]}/cal/"
        with pytest.raises(ServerRefused, match="Perhaps the port is another one"):
            connect(url).read()
