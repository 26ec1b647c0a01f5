"""Who can reach the real server: this computer alone, unless somebody asks for more."""

from __future__ import annotations

import contextlib
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest
from page.running import Running
from page.served import SATURDAY, demo_season

pytestmark = pytest.mark.heavy


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Running]:
    running = Running(demo_season(tmp_path), tmp_path / "keeps", SATURDAY)
    running.begin()
    yield running
    running.kill()


def _others() -> set[str]:
    """Addresses under which this computer is reached by others, and a second one of its own."""
    found = {"127.0.0.2"}
    with contextlib.suppress(OSError):
        found |= {each[4][0] for each in socket.getaddrinfo(socket.gethostname(), None)}
    return {address for address in found if address != "127.0.0.1"}


def test_it_listens_on_this_computer_alone(server: Running) -> None:
    assert server.ask("GET", "/")[0] == 200
    for address in _others():
        family = socket.AF_INET6 if ":" in address else socket.AF_INET
        with socket.socket(family) as to, pytest.raises(OSError):
            to.settimeout(30)
            to.connect((address, server.port))


@pytest.mark.parametrize(
    "torn",
    [
        b"GET / HTTP/1.1\r\n" + b"x: " + b"a" * 100_000 + b"\r\n\r\n",
        b"GET /" + b"a" * 100_000 + b" HTTP/1.1\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(200),
        b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
        b"POST /store/gone HTTP/1.1\r\nHost: x\r\nContent-Length: 5\r\n"
        b"Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
        b"POST /store/gone HTTP/1.1\r\nHost: x\r\nContent-Length: -5\r\n\r\n",
        b"GET http://evil.example/ HTTP/1.1\r\nHost: evil.example\r\n\r\n",
        b"",
    ],
    ids=range(8),
)
def test_what_is_no_request_ends_in_a_refusal(server: Running, torn: bytes) -> None:
    with socket.create_connection(("127.0.0.1", server.port), timeout=60) as to:
        to.sendall(torn)
        to.shutdown(socket.SHUT_WR)
        told = b""
        with contextlib.suppress(ConnectionResetError):
            while part := to.recv(65536):
                told += part
    assert not told or told.split()[1][:1] == b"4"
    assert b"Traceback" not in told and b"Willow Bend" not in told
    assert server.ask("GET", "/")[0] == 200
