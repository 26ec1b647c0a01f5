"""Which tests take long, and which take longest."""

from __future__ import annotations

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
    "outputs/test_names_at_random.py",
    "outputs/test_publish",
    "outputs/test_pull.py",
    "outputs/test_whose_entries.py",
    "readers/",
    "records/test_diary.py",
    "schedule/test_change.py",
    "schedule/test_diary_in_plan.py",
    "schedule/test_edits_in_summer.py",
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
    "test_terminal.py",
    "trust/test_bad_seasons.py",
    "trust/test_disorder.py",
    "trust/test_encodings.py",
    "trust/test_faults.py",
    "trust/test_fuzz.py",
    "trust/test_how_things_stand.py",
    "trust/test_kills",
    "trust/test_pipes.py",
    "trust/test_random_seasons.py",
    "trust/test_security.py",
    "trust/test_surroundings.py",
    "trust/test_two_seasons.py",
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


def turn(place: str) -> int:
    """How many of the longest come before a file, named from this folder; the others are last."""
    return next((n for n, first in enumerate(LONGEST) if place.startswith(first)), len(LONGEST))
