"""The command that shows every caution on one page."""

from __future__ import annotations

from typing import Annotated

import typer

from harvestplan.commands.options import HERE, AsJson, InDir


def add_caution_commands(app: typer.Typer) -> None:
    """Add `cautions`."""
    app.command("cautions")(_cautions)


def _cautions(
    folder: InDir = HERE,
    every: Annotated[
        bool, typer.Option("--all", help="What to do and the sources, for every food.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Name every hazard; with --all what to do, its source and where it is shown."""
    from harvestplan.inputs.load import load_season
    from harvestplan.kitchen.crop_library import load_library
    from harvestplan.outputs.terminal.cautions_text import cautions_json, cautions_text
    from harvestplan.outputs.terminal.short_text import cautions_short

    library = load_library(folder)
    names = None
    if not every and any(folder.glob("*.toml")):
        names = [want.product for want in load_season(folder, library).season.want]
    show = cautions_json if as_json else cautions_text if every else cautions_short
    print(show(library, names))
