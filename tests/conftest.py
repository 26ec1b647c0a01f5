"""Which tests `tests/run.py --fast` leaves out: those that take seconds each."""

from __future__ import annotations

from pathlib import Path

import pytest

TESTS = Path(__file__).parent
HEAVY = (
    "browser/",
    "foresight/",
    "inputs/test_busy_expansion.py",
    "inputs/test_busy_guard.py",
    "inputs/test_busy_hostile.py",
    "outputs/test_calendar_re",
    "outputs/test_publish",
    "outputs/test_pull.py",
    "readers/",
    "schedule/test_replan.py",
    "schedule/test_season.py",
    "test_cli.py",
    "test_demo.py",
    "trust/test_faults.py",
    "trust/test_fuzz.py",
    "trust/test_kills.py",
    "trust/test_random_seasons.py",
    "trust/test_surroundings.py",
)
"""Files and folders, from this one, that lay out whole seasons or start other programs."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Marks them before pytest chooses by marks."""
    for item in items:
        if item.path.is_relative_to(TESTS) and item.path.relative_to(TESTS).as_posix().startswith(
            HEAVY
        ):
            item.add_marker(pytest.mark.heavy)
