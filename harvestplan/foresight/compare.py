"""Variants side by side with the season as it stands."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path

from harvestplan.foresight.answers import Outlook
from harvestplan.foresight.asking import Say, ask, outlook, refuse_flawed, solve_base, state
from harvestplan.foresight.changes import Variant
from harvestplan.foresight.crew import crew
from harvestplan.foresight.patience import Patience, how_long

SECONDS = 3.0
"""To solve one variant of a household's season, about."""


def compare(
    folder: Path, as_of: dt.date, variants: Sequence[Variant], *, say: Say, on: str | None = None
) -> tuple[Outlook, ...]:
    """The season as it stands and then each variant, solved; after Ctrl-C those solved by then.

    Raises what `solve_each` raises.
    """
    stands, found = solve_each(folder, as_of, variants, say=say, on=on)
    return (stands, *(each for each in found if each is not None))


def solve_each(
    folder: Path, as_of: dt.date, variants: Sequence[Variant], *, say: Say, on: str | None = None
) -> tuple[Outlook, list[Outlook | None]]:
    """The season as it stands, and each variant, by the cluster `on` such an address or here; None
    for what was not solved yet when Ctrl-C came.

    Raises
    ------
    FilesNeedMending
        With every flaw of the files and the changes, before anything is solved.
    NoValidPlan
        Where the season as it stands has no plan.
    ClusterError
        Where the cluster does not answer.
    """
    refuse_flawed(folder, variants)
    question = state(folder, as_of)
    solved, base = solve_base(question, say)
    stands = outlook("as it stands", question, solved)
    if len(variants) == 1:
        say("The change is being solved.")
    elif variants:
        long = how_long(len(variants), SECONDS, len(question.problem.options))
        say(f"{len(variants)} changes are being solved.{long}")
    tasks = [(folder, as_of, variant, base) for variant in variants]
    hear = Patience(len(tasks), "{done} of {all} changes are solved", say)
    with crew(on, len(tasks)) as team:
        found = team.until_stopped(ask, tasks, hear)
    if team.stopped:
        say("Stopped; what follows holds for the changes solved by then.")
    return stands, found
