"""Steady property tests, which tests `tests/run.py --fast` leaves out, and what comes first."""

from __future__ import annotations

import signal
from pathlib import Path

import hypothesis
import pytest
from lengths import HEAVY, turn

# The same cases on every run, and no clock: a busy computer is no fault of the code.
hypothesis.settings.register_profile(
    "steady",
    deadline=None,
    derandomize=True,
    suppress_health_check=[hypothesis.HealthCheck.too_slow],
)
hypothesis.settings.load_profile("steady")
TESTS = Path(__file__).parent


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Marks the heavy ones before pytest chooses by marks; sorts where two processes share them."""
    for item in items:
        if _place(item).startswith(HEAVY):
            item.add_marker(pytest.mark.heavy)
    if hasattr(config, "workerinput"):
        items.sort(key=lambda item: turn(_place(item)))


def _place(item: pytest.Item) -> str:
    return item.path.relative_to(TESTS).as_posix() if item.path.is_relative_to(TESTS) else ""


@pytest.fixture(autouse=True)
def _hear_ctrl_c() -> None:
    """A solver asked by its library's own ways leaves Ctrl-C to kill the process unheard."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
