"""Which tests take long, and which take longest."""

from __future__ import annotations

HEAVY = (
    "benchmarks/",
    "browser/",
    "commands/test_cli.py",
    "commands/test_foresight_commands.py",
    "commands/test_new_command.py",
    "forecast/test_backtest.py",
    "foresight/",
    "inputs/test_busy_expansion.py",
    "inputs/test_busy_guard.py",
    "inputs/test_busy_hostile.py",
    "kitchen/test_drying.py",
    "kitchen/test_kitchen_end_to_end.py",
    "outputs/calendar/test_caldav.py",
    "outputs/calendar/test_other_readers.py",
    "outputs/calendar/test_publish.py",
    "outputs/calendar/test_pulled.py",
    "outputs/calendar/test_readers_agree.py",
    "outputs/calendar/test_reimport.py",
    "planning/test_cut_short.py",
    "planning/test_diary_in_plan.py",
    "planning/test_edits_in_summer.py",
    "planning/test_learning.py",
    "planning/test_missed_sessions.py",
    "planning/test_moves_at_random.py",
    "planning/test_picks_in_plan.py",
    "planning/test_replan.py",
    "outputs/calendar/test_whose_entries.py",
    "outputs/test_names_at_random.py",
    "readers/",
    "records/test_diary.py",
    "schedule/goals/test_moved_pouches.py",
    "schedule/search/test_random_seasons.py",
    "schedule/search/test_tiny_seasons.py",
    "schedule/session/test_minutes_published.py",
    "schedule/session/test_tiny_evenings.py",
    "seasons/test_without_machine.py",
    "test_demo.py",
    "commands/test_plain_output.py",
    "trust/test_bad_seasons.py",
    "trust/test_disorder.py",
    "trust/test_encodings.py",
    "trust/test_faults.py",
    "trust/test_fuzz.py",
    "trust/test_how_things_stand.py",
    "trust/test_kills",
    "trust/test_pipes.py",
    "trust/test_security.py",
    "trust/test_surroundings.py",
    "trust/test_two_seasons.py",
    "trust/test_written_seasons.py",
)
"""Files and folders, from this one, that lay out whole seasons or start other programs."""
LONGEST = (
    "test_demo.py",
    "trust/test_written_seasons.py",
    "commands/test_cli.py",
    "planning/test_replan.py",
    "foresight/test_sowing.py",
    "kitchen/test_drying.py",
    "commands/test_new_command.py",
    "planning/test_cut_short.py",
    "foresight/test_risk.py",
    "planning/test_learning.py",
    "trust/",
    "planning/test_moves_at_random.py",
    "outputs/calendar/test_pulled.py",
    "schedule/",
)
"""Those that take longest, the longest first, so that two processes end at about the same time."""


def turn(place: str) -> int:
    """How many of the longest come before a file, named from this folder; the others are last."""
    return next((n for n, first in enumerate(LONGEST) if place.startswith(first)), len(LONGEST))
