"""The command that brings the calendar to where the household looks, and takes its changes in."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from harvestplan.commands.options import HERE, AsJson, AsOf, InDir, read_day

if TYPE_CHECKING:
    from harvestplan.outputs.calendar.caldav import Collection
    from harvestplan.outputs.calendar.discovery import Place
    from harvestplan.outputs.calendar.pulled import Taken
    from harvestplan.outputs.calendar.server import Terms
    from harvestplan.outputs.calendar.targets import Target

Url = Annotated[
    str | None,
    typer.Argument(metavar="[URL]", help="A CalDAV server, an account there, or a calendar."),
]
ToFolder = Annotated[
    Path | None,
    typer.Option("--folder", help="Write the calendar files there instead.", metavar="DIR"),
]
Only = Annotated[
    list[str] | None,
    typer.Option(
        "--only",
        help="What the calendar holds: sessions, garden, shopping; several with commas. Without "
        "it sessions and shopping, or what it held before.",
        metavar="KINDS",
    ),
]
Make = Annotated[
    str | None,
    typer.Option(
        "--make",
        help='Make a calendar of this name there, as "Kitchen and store", and one for each other '
        "kind.",
        metavar="NAME",
    ),
]
Todos = Annotated[
    str | None,
    typer.Option("--todos", help="The list that takes the shopping list as to-dos.", metavar="URL"),
]
Trust = Annotated[
    Path | None,
    typer.Option(
        "--trust", help="The certificate of your own server, or who signed it.", metavar="FILE"
    ),
]
PlainHttp = Annotated[
    bool,
    typer.Option("--plain-http", help="Accept http:// inside your home network, unencrypted."),
]
PutBack = Annotated[
    bool,
    typer.Option("--put-back", help="Put back to the plan's times what somebody changed there."),
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
    only: Only = None,
    make: Make = None,
    todos: Todos = None,
    trust: Trust = None,
    plain_http: PlainHttp = False,
    put_back: PutBack = False,
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
    from harvestplan.outputs.calendar.folder import write_folder
    from harvestplan.outputs.calendar.kinds import read_kinds
    from harvestplan.outputs.calendar.server import Terms

    holds = read_kinds(only or [])
    if (url is None) == (to_folder is None):
        raise typer.BadParameter("name either an address or --folder DIR")
    if to_folder is not None:
        print(words.folder_text(write_folder(folder / "out", to_folder, holds)))
        return
    asked = _Asked(folder, read_day(as_of), dry_run=dry_run, sure=yes, put_back=put_back,
                   as_json=as_json, terms=Terms(trust, plain_http))  # fmt: skip
    place, targets = asked.find(url or "", holds, make=make, todos=todos or "")
    if pull:
        asked.pull(targets)
    elif not asked.publish(targets, place):
        raise typer.Exit(1)


@dataclass(frozen=True)
class _Asked:
    """What was asked for, whatever the calendar."""

    folder: Path
    on: dt.date
    dry_run: bool
    sure: bool
    put_back: bool
    as_json: bool
    terms: Terms

    def find(
        self, url: str, holds: Sequence[str], *, make: str | None, todos: str
    ) -> tuple[Place, list[Target]]:
        """What stands at the address, and which calendars it is about."""
        from harvestplan.outputs.calendar.caldav import login_for
        from harvestplan.outputs.calendar.discovery import Account
        from harvestplan.outputs.calendar.record import read_record
        from harvestplan.outputs.calendar.standing import need
        from harvestplan.outputs.calendar.targets import bring_names_up_to_date, choose, made
        from harvestplan.plan.file_names import PLAN

        need(self.folder / "out" / PLAN)
        account = Account(url, login_for(url, self.terms), self.terms)
        if account.server.exposed:
            print(account.server.exposed, file=sys.stderr)
        place = account.look()
        if make is not None and self.dry_run:
            raise typer.BadParameter("--make makes a calendar; leave out --dry-run")
        if make is not None:
            return place, made(account, place, make, holds)
        record = read_record(self.folder / "out")
        if not self.dry_run:
            for line in bring_names_up_to_date(account, place, record):
                print(line, file=sys.stderr)
        return place, choose(place, record, holds=holds, todos=todos)

    def _at(self, url: str) -> Collection:
        from harvestplan.outputs.calendar.caldav import connect

        return connect(url, self.terms)

    def pull(self, targets: Sequence[Target]) -> None:
        """Take in what the household changed in these calendars, and say it."""
        from harvestplan.outputs.calendar import publish_text as words
        from harvestplan.outputs.calendar.pulled import take_in
        from harvestplan.outputs.calendar.todos import take_ticks

        taken: list[Taken] = []
        ticked: dict[str, str] = {}
        for target in targets:
            server = self._at(target.url)
            taken += take_in(self.folder, server, self.on, dry_run=self.dry_run, sure=self.sure)
            if target.todos:
                list_there = self._at(target.todos)
                ticked |= take_ticks(self.folder, list_there, self.on, dry_run=self.dry_run)
        if self.as_json:
            print(words.taken_json(taken, ticked))
            return
        print(words.taken_text(taken, self.dry_run))
        if ticked:
            print(words.ticked_text(ticked, self.dry_run))

    def publish(self, targets: Sequence[Target], place: Place) -> bool:
        """Bring each calendar up to date and say it; False where something changed meanwhile."""
        from harvestplan.outputs.calendar import publish_text as words
        from harvestplan.outputs.calendar.publish import publish as put
        from harvestplan.outputs.calendar.pulled import waiting
        from harvestplan.outputs.calendar.targets import task_lists
        from harvestplan.outputs.calendar.todos import publish_todos
        from harvestplan.plan.file import read_plan
        from harvestplan.plan.file_names import PLAN

        out = self.folder / "out"
        plan = read_plan(out / PLAN)
        waits = waiting(self.folder, plan)
        every, lists, said, clashes = [], [], [], False
        for target in targets:
            server = self._at(target.url)
            done = put(out, server, self.dry_run, holds=target.holds, waiting=waits,
                       put_back=self.put_back, sure=self.sure)  # fmt: skip
            every.append(done)
            said.append(words.published_text(done, server.url, self.dry_run, plan))
            clashes = clashes or bool(done.clashes)
            if "shopping" not in done.holds:
                continue
            if not target.todos:
                said.append(task_lists(place))
                continue
            list_there = self._at(target.todos)
            ticks = publish_todos(out, list_there, beside=server.url, dry_run=self.dry_run)
            lists.append(ticks)
            said.append(words.todos_text(ticks, self.dry_run))
            clashes = clashes or bool(ticks.clashes)
        print(words.published_json(every, lists) if self.as_json else "\n".join(said))
        return not clashes
