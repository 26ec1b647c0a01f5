"""Starts the server on this computer, opens the browser, and stays until it is closed."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import webbrowser
from collections.abc import Callable, Iterator
from typing import Any

import uvicorn

from harvestplan.errors import HarvestPlanError
from harvestplan.page.app import make_app
from harvestplan.page.long_work import LongWork
from harvestplan.page.sheet_state import Live
from harvestplan.page.site import OWN_ADDRESS, Site

USUAL_PORT = 8730
"""So that bookmarks and paired phones find it again; where it is taken, any free one does."""


class CannotListen(HarvestPlanError):
    """The address in the home network cannot be had."""


class _Server(uvicorn.Server):
    """One of several in a process: Ctrl-C is heard by whoever started them."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield


class Sharing:
    """Listens in the home network as well, while somebody wants it."""

    def __init__(self, site: Site, app: Any, loop: asyncio.AbstractEventLoop) -> None:
        self.site, self.app, self.loop = site, app, loop
        self.server: _Server | None = None

    def begin(self, address: str) -> None:
        """Listen at `address`; called from a page's thread. Raises CannotListen."""
        try:
            door = bound(address, self.site.port)
        except OSError as error:
            raise CannotListen(
                f"The home network cannot be used just now ({error.strerror})."
            ) from None
        self.end()
        self.server = _Server(_config(self.app))
        asyncio.run_coroutine_threadsafe(self.server.serve(sockets=[door]), self.loop)
        self.site.shared_address = address

    def end(self) -> None:
        """Listen there no longer."""
        if self.server is not None:
            self.server.should_exit = True
            self.server = None
        self.site.shared_address = None


def bound(address: str, port: int) -> socket.socket:
    """A listening place; OSError where it is taken."""
    door = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        door.bind((address, port))
    except OSError:
        door.close()
        raise
    return door


def free_door(port: int | None) -> socket.socket:
    """A place on this computer alone: at `port`, or where nothing is asked the usual one or any."""
    for wanted in (port,) if port else (USUAL_PORT, 0):
        try:
            return bound(OWN_ADDRESS, wanted)
        except OSError:
            continue
    raise CannotListen(f"Port {port} is taken by another program. Leave --port out for a free one.")


def _config(app: Any) -> uvicorn.Config:
    return uvicorn.Config(
        app,
        lifespan="off",
        log_config=None,
        access_log=False,
        server_header=False,
        proxy_headers=False,
        h11_max_incomplete_event_size=32_000,
        limit_concurrency=200,
        timeout_keep_alive=20,
        timeout_graceful_shutdown=2,
        ws="none",
        loop="asyncio",
        http="h11",
    )


def serve(site: Site, *, port: int | None, browse: bool, say: Callable[[str], None]) -> None:
    """Serve the site until Ctrl-C; says the address once it answers."""
    door = free_door(port)
    site.port = door.getsockname()[1]
    site.work, site.live = LongWork(), Live(site.keep)
    with contextlib.suppress(KeyboardInterrupt):
        asyncio.run(_served(site, door, browse=browse, say=say))


async def _served(
    site: Site, door: socket.socket, *, browse: bool, say: Callable[[str], None]
) -> None:
    app = make_app(site)
    server = _Server(_config(app))
    site.sharing = Sharing(site, app, asyncio.get_running_loop())
    address = f"http://{OWN_ADDRESS}:{site.port}/"
    task = asyncio.create_task(server.serve(sockets=[door]))
    try:
        while not server.started and not task.done():
            await asyncio.sleep(0.01)
        say(f"The household's page is at {address}\nIt stays until you close this (Ctrl-C).")
        if browse:
            await asyncio.to_thread(webbrowser.open, address)
        await task
    finally:
        site.closing = True
        site.sharing.end()
        server.should_exit = True
        if site.work is not None:
            site.work.close()
        with contextlib.suppress(asyncio.CancelledError):
            await asyncio.shield(task)
