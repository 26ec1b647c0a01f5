"""The command that shows what weather files tell."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from harvestplan.commands.options import HERE, AsJson, AsOf, InDir, read_day

if TYPE_CHECKING:
    from harvestplan.inputs.season import Season


def add_weather_command(app: typer.Typer) -> None:
    """Add `weather`."""
    app.command("weather")(_weather)


def _weather(
    files: Annotated[
        list[Path] | None,
        typer.Argument(metavar="[FILE]...", help="Instead of those of the season folder."),
    ] = None,
    folder: InDir = HERE,
    as_of: AsOf = None,
    *,
    station: Annotated[
        str | None,
        typer.Option("--station", help="Which station, by name or id.", metavar="NAME"),
    ] = None,
    unit: Annotated[
        Literal["C", "F"] | None,
        typer.Option("--unit", help="The unit, where a file does not say."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Show what your weather files tell: years, gaps, frosts, warmth; and how to get one."""
    from harvestplan.forecast.rough_climate import season_normals
    from harvestplan.inputs.weather.daily_record import read_weather
    from harvestplan.outputs.terminal import weather_text

    today, season = read_day(as_of), _season(folder, needed=not files)
    measures = "metric" if season is None else season.household.measures
    weather = None if season is None else season.weather
    own = [] if weather is None else [folder / name for name in weather.daily]
    paths = files or own
    if paths:
        # What the season says of its own files need not be true of others.
        wished = None if files or weather is None else weather.station
        whose = None if files or weather is None else weather.unit
        record = read_weather(paths, station=station or wished, unit=unit or whose)
        show = weather_text.record_json(record, today) if as_json else None
        print(show or weather_text.record_text(record, measures, today))
        return
    normals = None if season is None else season_normals(season)
    print(
        weather_text.rough_json(normals) if as_json else weather_text.rough_text(normals, measures)
    )


def _season(folder: Path, *, needed: bool) -> Season | None:
    """The folder's season; None where there is none, or, unless it is `needed`, no sound one."""
    from harvestplan.errors import HarvestPlanError
    from harvestplan.inputs.load import load_season
    from harvestplan.kitchen.crop_library import load_library

    if not any(folder.glob("*.toml")):
        return None
    try:
        return load_season(folder, load_library(folder)).season
    except HarvestPlanError:
        if needed:
            raise
        return None
