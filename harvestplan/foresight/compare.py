"""Variants side by side with the season as it stands."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

from harvestplan.foresight.answers import Outlook
from harvestplan.foresight.asking import Say, ask, outlook, refuse_flawed, solve_base, state
from harvestplan.foresight.changes import Variant
from harvestplan.foresight.worker_processes import in_parallel


def compare(
    folder: Path, as_of: dt.date, variants: Sequence[Variant], *, say: Say
) -> tuple[Outlook, ...]:
    """The season as it stands and then each variant, solved.

    Raises
    ------
    FilesNeedMending
        With every flaw of the files and the changes, before anything is solved.
    NoValidPlan
        Where the season as it stands has no plan.
    """
    refuse_flawed(folder, variants)
    question = state(folder, as_of)
    solved, base = solve_base(question, say)
    stands = outlook("as it stands", question, solved)
    if len(variants) == 1:
        say("The change is being solved.")
    elif variants:
        say(f"{len(variants)} changes are being solved.")
    tasks = [(folder, as_of, variant, base) for variant in variants]
    return (stands, *in_parallel(ask, tasks, say))
