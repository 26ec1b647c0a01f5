"""Steady property tests, which tests `tests/run.py --fast` leaves out, and what comes first."""

from __future__ import annotations

import signal
from pathlib import Path

import hypothesis
import pytest

# The same cases on every run, and no clock: a busy computer is no fault of the code.
hypothesis.settings.register_profile("steady", deadline=None, derandomize=True)
hypothesis.settings.load_profile("steady")
TESTS = Path(__file__).parent
HEAVY = (
    "benchmarks/",
    "browser/",
    "forecast/test_backtest.py",
    "foresight/",
    "inputs/test_busy_expansion.py",
    "inputs/test_busy_guard.py",
    "inputs/test_busy_hostile.py",
    "kitchen/test_drying.py",
    "kitchen/test_kitchen_end_to_end.py",
    "outputs/test_calendar_agreement.py",
    "outputs/test_calendar_re",
    "outputs/test_moves_at_random.py",
    "outputs/test_publish",
    "outputs/test_pull.py",
    "readers/",
    "records/test_diary.py",
    "schedule/test_change.py",
    "schedule/test_diary_in_plan.py",
    "schedule/test_minutes_published.py",
    "schedule/test_picks_in_plan.py",
    "schedule/test_cut_short.py",
    "schedule/test_missed_sessions.py",
    "schedule/test_replan.py",
    "schedule/test_season.py",
    "schedule/test_tiny_seasons.py",
    "test_cli.py",
    "test_demo.py",
    "test_learning.py",
    "test_new_command.py",
    "trust/test_bad_seasons.py",
    "trust/test_faults.py",
    "trust/test_fuzz.py",
    "trust/test_kills",
    "trust/test_pipes.py",
    "trust/test_random_seasons.py",
    "trust/test_security.py",
    "trust/test_surroundings.py",
)
"""Files and folders, from this one, that lay out whole seasons or start other programs."""
LONGEST = (
    "test_demo.py",
    "trust/test_random_seasons.py",
    "test_cli.py",
    "schedule/test_replan.py",
    "foresight/test_sowing.py",
    "kitchen/test_drying.py",
    "test_new_command.py",
    "schedule/test_cut_short.py",
    "foresight/test_risk.py",
    "test_learning.py",
    "trust/",
    "outputs/test_moves_at_random.py",
    "outputs/test_pull.py",
    "schedule/",
)
"""Those that take longest, the longest first, so that two processes end at about the same time."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Marks the heavy ones before pytest chooses by marks; sorts where two processes share them."""
    for item in items:
        if _place(item).startswith(HEAVY):
            item.add_marker(pytest.mark.heavy)
    if hasattr(config, "workerinput"):
        items.sort(key=_turn)


def _place(item: pytest.Item) -> str:
    return item.path.relative_to(TESTS).as_posix() if item.path.is_relative_to(TESTS) else ""


def _turn(item: pytest.Item) -> int:
    turns = (turn for turn, first in enumerate(LONGEST) if _place(item).startswith(first))
    return next(turns, len(LONGEST))


@pytest.fixture(autouse=True)
def _hear_ctrl_c() -> None:
    """A solver asked by its library's own ways leaves Ctrl-C to kill the process unheard."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
