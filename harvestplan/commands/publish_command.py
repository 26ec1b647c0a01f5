"""The command that brings the calendar to where the household looks, and takes its changes in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from harvestplan.commands.options import HERE, AsJson, AsOf, InDir, read_day

Url = Annotated[str | None, typer.Argument(metavar="[URL]", help="A calendar on a CalDAV server.")]
ToFolder = Annotated[
    Path | None,
    typer.Option("--folder", help="Write the calendar files there instead.", metavar="DIR"),
]
DryRun = Annotated[bool, typer.Option("--dry-run", help="Only say what would be.")]
Pull = Annotated[
    bool,
    typer.Option("--pull", help="Write in the diary what somebody moved or deleted there."),
]
Yes = Annotated[
    bool,
    typer.Option("--yes", help="Go on where most is gone there, or may be another season's."),
]


def add_publish_command(app: typer.Typer) -> None:
    """Add the command `publish`."""
    app.command("publish")(publish)


def publish(
    url: Url = None,
    folder: InDir = HERE,
    to_folder: ToFolder = None,
    *,
    dry_run: DryRun = False,
    pull: Pull = False,
    yes: Yes = False,
    as_of: AsOf = None,
    as_json: AsJson = False,
) -> None:
    """Bring the calendar to a CalDAV server, as often as you like, or to a folder.

    User and password come from HARVESTPLAN_CALDAV_USER and HARVESTPLAN_CALDAV_PASSWORD; without
    the latter from the system's keyring, where Python's package keyring is installed.
    """
    from harvestplan.outputs.calendar import publish_text as words
    from harvestplan.outputs.calendar.caldav import connect
    from harvestplan.outputs.calendar.publish import need, write_folder
    from harvestplan.outputs.calendar.publish import publish as put
    from harvestplan.outputs.calendar.pulled import take_in, waiting
    from harvestplan.plan.file import read_plan
    from harvestplan.plan.file_names import PLAN

    out = folder / "out"
    if (url is None) == (to_folder is None):
        raise typer.BadParameter("name either the address of a calendar or --folder DIR")
    if to_folder is not None:
        print(words.folder_text(write_folder(out, to_folder)))
        return
    server = connect(url or "")
    if pull:
        taken = take_in(folder, server, read_day(as_of), dry_run=dry_run, sure=yes)
        print(words.taken_json(taken) if as_json else words.taken_text(taken, dry_run))
        return
    plan = read_plan(need(out / PLAN))
    done = put(out, server, dry_run, waiting=waiting(folder, plan), sure=yes)
    shown = words.published_text(done, server.url, dry_run)
    print(words.published_json(done) if as_json else shown)
    if done.clashes:
        raise typer.Exit(1)
