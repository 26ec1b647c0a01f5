"""`plan --sturdy`: evenings held beside the plan's own, and let go again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from harvestplan.household import Household
    from harvestplan.plan.models import Plan

Share = Annotated[
    float | None,
    typer.Option(
        "--sturdy",
        min=0,
        max=0.95,
        help="Keep further evenings free, so many that in this share of past years wants are met "
        "as far as any plan could: 0.8 for four years of five. Later plans keep them; 0 lets them "
        "go. Takes many minutes; Ctrl-C ends it with what is known.",
        metavar="SHARE",
    ),
]


def ready_to_hold(
    household: Household, earlier: Plan | None, share: float | None, *, now: str | None
) -> Plan | None:
    """The earlier plan, without the evenings it holds where they are let go.

    Raises typer.BadParameter together with --now, and before anything is planned what
    `years_to_try` raises.
    """
    if share is None:
        return earlier
    if now is not None:
        raise typer.BadParameter("plan the evening with --now first", param_hint="--sturdy")
    if share:
        from harvestplan.foresight.sturdy import years_to_try

        years_to_try(household)
    if share or earlier is None:
        return earlier
    # Its shopping still has pouches for what was held: it does not stand as it is.
    return earlier.model_copy(update={"sturdy": None, "basis": ""})


def with_evenings_held(
    folder: Path,
    made: Plan,
    household: Household,
    *,
    share: float | None,
    seed: int,
    say: Callable[[str], None],
    on: str | None = None,
) -> Plan:
    """The plan, written already, with evenings held and written anew; as it is without `share`."""
    from harvestplan.foresight.sturdy import sturdy
    from harvestplan.outputs.write_all import write_outputs
    from harvestplan.planning.make import holding

    if not share:
        return made
    found = sturdy(folder, made, share, seed=seed, say=say, on=on)
    if found is None:
        say("No evenings were chosen yet, so the plan stays as it was.")
        return made
    held = holding(made, household, found)
    season, library = household.season, household.library
    write_outputs(held, season, library, out=folder / "out", own=household.own)
    return held
