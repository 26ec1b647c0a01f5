"""Commands that speak with a calendar server, killed at a request."""

from __future__ import annotations

import os
import signal
import sys
from functools import partial
from typing import Any

from trust.forked import Before

LOGIN = {"HARVESTPLAN_CALDAV_USER": "household", "HARVESTPLAN_CALDAV_PASSWORD": "spoon"}
REQUESTS = {"http.client.connect", "http.client.send"}


def _log_in(then: Before) -> object:
    os.environ.update(LOGIN)
    return then()


def logged_in(then: Before) -> Before:
    """The process has the login of the server's household; then comes `then`."""
    return partial(_log_in, then)


def _watch(at: int) -> list[int]:
    count = [0]

    def heard(event: str, _: tuple[Any, ...]) -> None:
        if event in REQUESTS:
            count[0] += 1
            if count[0] == at:
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(heard)
    return count


def killed_at_request(at: int) -> Before:
    """Kills the command before it connects or sends for the `at`th time, be it between the head
    and the body of a request; 0 only counts."""
    return partial(_watch, at)
