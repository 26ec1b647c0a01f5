"""The command that opens the household's page in the browser."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated
from urllib.parse import unquote, urlsplit

import typer

from harvestplan.commands.options import AsOf, read_day


def add_open_command(app: typer.Typer) -> None:
    """Add `open`."""
    app.command("open")(_open)


def _open(
    folder: Annotated[Path | None, typer.Argument(metavar="[FOLDER]", show_default=False)] = None,
    as_of: AsOf = None,
    *,
    port: Annotated[
        int | None, typer.Option("--port", min=1024, max=65535, help="Where on this computer.")
    ] = None,
    home: Annotated[
        str | None,
        typer.Option(
            "--home",
            help="This computer's address in the home network, where it has several.",
            metavar="ADDRESS",
        ),
    ] = None,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the browser as well.")
    ] = True,
) -> None:
    """Open the household's page in the browser: plan, record, look, without typing commands."""
    from harvestplan.errors import FilesNeedMending, Flaw
    from harvestplan.page.kept_here import Keep
    from harvestplan.page.serve import serve
    from harvestplan.page.site import Site

    day = None if as_of is None else read_day(as_of)
    site = Site(Keep(), as_of=day, home_address=home)
    if folder is None and any(Path(name).is_file() for name in ("household.toml", "season.toml")):
        folder = Path()
    if folder is not None:
        folder = _folder_of(folder)
        if not any(folder.glob("*.toml")):
            hint = "Write the folder of your season, or leave it out and choose in the browser."
            message = "there is no season in this folder."
            raise FilesNeedMending([Flaw(str(folder), None, "", message=message, hint=hint)])
        site.choose(folder.resolve())
    serve(site, port=port, browse=browser, say=lambda text: print(text, flush=True))


def _folder_of(named: Path) -> Path:
    """The folder itself, or that of the file in it which was opened by a double click; some
    desktops name that file by its URI."""
    if str(named).startswith("file:"):
        named = Path(unquote(urlsplit(str(named)).path))
    return named.parent if named.is_file() else named
