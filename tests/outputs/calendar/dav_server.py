"""Real CalDAV servers of two makes on this computer, for as long as a test needs them."""

from __future__ import annotations

import base64
import contextlib
import http.client
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from calendar_tools import need

USER = "household"
_HEAD = {"Authorization": "Basic " + base64.b64encode(f"{USER}:spoon".encode()).decode()}


MAKES = ("radicale", "xandikos")
HOME_SET = {"radicale": f"/{USER}/", "xandikos": f"/{USER}/calendars/"}
"""Where each keeps the calendars of USER."""


@contextlib.contextmanager
def calendar_server(folder: Path, make: str = "radicale") -> Iterator[str]:
    """The address of an empty calendar of USER; the server takes any password."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = _radicale(folder, port) if make == "radicale" else _xandikos(folder, port)
    server = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        _wait(port, server)
        address = f"http://127.0.0.1:{port}{HOME_SET[make]}preserving/"
        assert ask(address, "MKCALENDAR")[0] == 201
        yield address
    finally:
        server.terminate()
        try:
            server.wait(60)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait()


def _xandikos(folder: Path, port: int) -> list[str]:
    words = ["serve", "-d", str(folder), "-l", "127.0.0.1", "-p", str(port), "--defaults"]
    own = ["--current-user-principal", f"/{USER}/", "--no-detect-systemd"]
    return [*need("xandikos"), *words, *own, "--state-dir", str(folder / "state")]


def _radicale(folder: Path, port: int) -> list[str]:
    return [
        sys.executable,
        "-m",
        "radicale",
        "--config",
        "",
        "--server-hosts",
        f"127.0.0.1:{port}",
        "--auth-type",
        "none",
        "--storage-filesystem-folder",
        str(folder),
        "--logging-level",
        "error",
    ]


def ask(address: str, method: str, name: str = "", body: str | None = None) -> tuple[int, str]:
    """One request as another program of the household makes it."""
    rest = address.removeprefix("http://")
    host, _, path = rest.partition("/")
    connection = http.client.HTTPConnection(host, timeout=300)
    try:
        data = None if body is None else body.encode()
        kind = {"Content-Type": "text/calendar"} if data else {}
        connection.request(method, f"/{path}{name}", data, _HEAD | kind)
        answer = connection.getresponse()
        return answer.status, answer.read().decode()
    finally:
        connection.close()


def _wait(port: int, server: subprocess.Popen[bytes]) -> None:
    for _ in range(3000):  # five minutes; it takes a second
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
            return
        except OSError:
            assert server.poll() is None, "the calendar server ended"
            time.sleep(0.1)
    raise AssertionError("the calendar server did not come up")
