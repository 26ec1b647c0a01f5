"""The command line: parse, call, print. Everything heavy is imported inside the commands."""

from __future__ import annotations

import datetime as dt
import json
import os
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from harvestplan.commands.caution_commands import add_caution_commands
from harvestplan.commands.cut_commands import laid_out_again
from harvestplan.commands.diary_commands import add_diary_commands
from harvestplan.commands.endings import end_of
from harvestplan.commands.foresight_commands import Seed, add_foresight_commands, explain_session
from harvestplan.commands.help_sections import Sections
from harvestplan.commands.open_command import add_open_command
from harvestplan.commands.options import (
    HERE,
    AsJson,
    AsOf,
    Behind,
    Every,
    InDir,
    Now,
    On,
    Quiet,
    Until,
    progress,
    read_day,
)
from harvestplan.commands.publish_command import add_publish_command
from harvestplan.commands.start_commands import add_start_commands
from harvestplan.commands.sturdy_command import Share, ready_to_hold, with_evenings_held
from harvestplan.commands.weather_command import add_weather_command
from harvestplan.errors import HarvestPlanError
from harvestplan.free_memory import need_room

if TYPE_CHECKING:
    from harvestplan.household import Household
    from harvestplan.inputs.crops import Library
    from harvestplan.inputs.season import Measures
    from harvestplan.plan.models import Plan

app = typer.Typer(
    name="harvestplan",
    help="Plan what becomes of a garden's harvest: forecast, sessions, shopping, freezer.",
    cls=Sections,
    epilog="Start with: harvestplan new my-season",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
)


def main() -> None:
    """Runs the command line; every error ends in a sentence and an exit code."""
    # More threads of the algebra library only cost memory here; the work is small.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    sys.exit(end_of(app))


@app.callback(invoke_without_command=True)
def _start(context: typer.Context, folder: InDir = HERE, as_of: AsOf = None) -> None:
    """With no command: what is next this week."""
    if context.invoked_subcommand is None:
        print(_next(folder, read_day(as_of)))


@app.command()
def forecast(
    folder: InDir = HERE,
    as_of: AsOf = None,
    as_json: AsJson = False,
    for_wants: Annotated[
        bool, typer.Option("--for-wants", help="Say how much to sow for what is wanted.")
    ] = False,
    every: Annotated[bool, typer.Option("--all", help="With reasons, and week by week.")] = False,
) -> None:
    """Say when each planting comes in and how much it gives."""
    from harvestplan.forecast.needs import needs_for_wants
    from harvestplan.outputs.terminal.forecast_text import (
        forecast_json,
        forecast_text,
        needs_json,
        needs_text,
        news_since_plan,
    )
    from harvestplan.outputs.terminal.short_text import forecast_short
    from harvestplan.planning.read import read_household

    household = read_household(folder, read_day(as_of))
    if for_wants:
        needs = needs_for_wants(household.season, household.library, household.forecast)
        print((needs_json if as_json else needs_text)(needs, household.season))
        return
    news = news_since_plan(household.forecast, household.season, folder / "out")
    show = forecast_json if as_json else forecast_text if every else forecast_short
    print(show(household.forecast, household.season, news))


Explain = Annotated[
    str | None,
    typer.Option(
        "--explain",
        help="Plan nothing: say what is lost when this session (its date or uid) is skipped.",
        metavar="SESSION",
    ),
]


@app.command()
def plan(
    folder: InDir = HERE,
    as_of: AsOf = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
    move_firm: Annotated[
        bool, typer.Option("--move-firm", help="Let even the sessions of today and tomorrow move.")
    ] = False,
    explain: Explain = None,
    now: Now = None,
    until: Until = None,
    behind: Behind = None,
    sturdy: Share = None,
    seed: Seed = 1,
    on: On = None,
    thorough: Annotated[
        bool, typer.Option("--thorough", help="Search on for some minutes, for a better proof.")
    ] = False,
    every: Every = False,
) -> None:
    """Decide the sessions and write the plan, calendar, shopping list and run sheets to out/."""
    need_room()
    from harvestplan.commands.plan_told import plan_told
    from harvestplan.plan.file import published_plan
    from harvestplan.plan.season_id import season_id
    from harvestplan.planning.lock import planning_alone
    from harvestplan.planning.make import make_plan
    from harvestplan.planning.read import read_household
    from harvestplan.schedule.search.effort import THOROUGH, Effort

    day = read_day(as_of)
    out, say = folder / "out", progress(quiet)
    if explain is not None:
        explain_session(folder, as_of, explain, as_json=as_json, say=say)
        return
    with planning_alone(folder, say):
        household = replace(read_household(folder, day), own=season_id(out))
        earlier = published_plan(folder)
        household, stands = laid_out_again(
            household, earlier, day, now=now, until=until, behind=behind
        )
        stands = ready_to_hold(household, stands, sturdy, now=now)
        made = make_plan(
            household,
            day,
            stands,
            effort=THOROUGH if thorough else Effort(),
            say=say,
            move_firm=move_firm,
            anew=thorough,
            first=lambda plan: _write(plan, household, out, draft=True),
        )
        written = _write(made, household, out)
        made = with_evenings_held(folder, made, household, share=sturdy, seed=seed, say=say, on=on)
    if as_json:
        print(made.model_dump_json())
        return
    files = f"{written} files are in {out}"
    print(plan_told(made, earlier, household, files, every=every, cut=now is not None))


def _write(made: Plan, household: Household, out: Path, *, draft: bool = False) -> int:
    """Write all of out/ and the forecast that the plan rests on; returns the number of files."""
    from harvestplan.outputs.terminal.forecast_text import FORECAST, forecast_json
    from harvestplan.outputs.write_all import write_outputs

    season, library = household.season, household.library
    basis = forecast_json(household.forecast, season).encode("utf-8", "replace")
    besides = {FORECAST: basis}
    written = write_outputs(
        made, season, library, out=out, besides=besides, own=household.own, draft=draft
    )
    return len(written)


@app.command()
def check(folder: InDir = HERE, as_json: AsJson = False) -> None:
    """Judge the written plan against the published rules V1 to V20."""
    from harvestplan.check import check_plan
    from harvestplan.errors import NoValidPlan
    from harvestplan.planning.make import known_store
    from harvestplan.planning.read import read_household

    written = _written_plan(folder)
    household = read_household(folder, written.as_of)
    findings = check_plan(written, household, in_store=known_store(written, household))
    if as_json:
        print(json.dumps([{"code": f.code, "message": f.message} for f in findings], indent=1))
    else:
        for finding in findings:
            print(f"{finding.code}: {finding.message}")
    if findings:
        raise NoValidPlan(f"{len(findings)} findings. Run: harvestplan plan --in {folder}")
    if not as_json:
        print("No finding: the plan keeps all rules.")


@app.command()
def stock(folder: InDir = HERE, as_of: AsOf = None, as_json: AsJson = False) -> None:
    """Show what lies in store, oldest first, and what to eat of it in the month ahead."""
    from harvestplan.outputs.terminal.stock_text import stock_shown

    print(stock_shown(folder, read_day(as_of), as_json))


@app.command()
def settings(folder: InDir = HERE) -> None:
    """Show the settings book: where to start with each product, and what you found since."""
    from harvestplan.inputs.load import load_season
    from harvestplan.kitchen.crop_library import load_library
    from harvestplan.outputs.terminal.settings_text import settings_text
    from harvestplan.records.diary import read_diary
    from harvestplan.records.tries import pump_down_tries

    library = load_library(folder)
    season = load_season(folder, library).season
    print(settings_text(season, library, pump_down_tries(read_diary(folder))))


@app.command()
def crops(
    name: Annotated[str | None, typer.Argument(metavar="[CROP]")] = None,
    folder: InDir = HERE,
    as_json: AsJson = False,
) -> None:
    """List crops, bought goods and their products; with a name, show one with its sources."""
    from harvestplan.kitchen.crop_library import load_library
    from harvestplan.outputs.terminal.crop_text import crop_json, crop_text, crops_text

    library = load_library(folder)
    if as_json:
        print(crop_json(library, name))
    elif name is None:
        print(crops_text(library))
    else:
        print(crop_text(library, name, _measures(folder, library)))


@app.command()
def card(
    folder: InDir = HERE,
    every: Annotated[
        bool, typer.Option("--all", help="All of every product, wanted or not.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Say what the kitchen takes of each wanted food in an evening, and what limits it."""
    from harvestplan.inputs.load import load_season
    from harvestplan.kitchen.crop_library import load_library
    from harvestplan.outputs.terminal.card_text import card_json, card_text
    from harvestplan.outputs.terminal.short_text import card_short
    from harvestplan.records.diary import read_diary
    from harvestplan.records.pace import experience_from

    library = load_library(folder)
    season = load_season(folder, library).season
    known = experience_from(season, library, read_diary(folder), as_of=dt.date.max)
    if not as_json and not every:
        print(card_short(season, library, experience=known))
        return
    write = card_json if as_json else card_text
    print(write(season, library, every, experience=known))


add_start_commands(app)
add_open_command(app)
add_diary_commands(app)
add_caution_commands(app)
add_weather_command(app)
add_foresight_commands(app)


@app.command()
def book(
    folder: InDir = HERE,
    as_of: AsOf = None,
    opened: Annotated[bool, typer.Option("--open", help="Open it in the browser.")] = False,
    labels: Annotated[
        str | None,
        typer.Option(
            "--labels",
            help="Write sheets of labels instead: a4-3x7, a4-2x7, a4-4x10, letter-3x10, or like "
            '"2x5 of 90x50 mm, top 12 mm, left 10 mm, gap 3 mm, on a4".',
            metavar="SHEET",
        ),
    ] = None,
    start: Annotated[
        int, typer.Option("--start", help="First free label of the sheet.", metavar="NUMBER")
    ] = 1,
    shift: Annotated[
        str,
        typer.Option(
            "--shift", help='Move right and down, like "1.5 mm,-0.5 mm".', metavar="LENGTHS"
        ),
    ] = "0,0",
    test_page: Annotated[
        bool, typer.Option("--test-page", help="Outlines and rulers instead of labels.")
    ] = False,
    on: Annotated[
        str | None, typer.Option("--on", help="Labels of this day only.", metavar="DATE")
    ] = None,
) -> None:
    """Write the season's book for today, or sheets of labels, and say where they are."""
    from harvestplan.inputs.load import load_season
    from harvestplan.kitchen.crop_library import load_library
    from harvestplan.outputs.paper.label_grids import GridError
    from harvestplan.outputs.paper.printed import Sheet, write_book, write_labels
    from harvestplan.records.diary import read_diary
    from harvestplan.records.printed_labels import printed_labels

    written = _written_plan(folder)
    library = load_library(folder)
    season = load_season(folder, library).season
    if labels is None and start == 1 and shift == "0,0" and not test_page and on is None:
        path = write_book(written, season, library, out=folder / "out", today=read_day(as_of))
    else:
        day = None if on is None else read_day(on, "--on")
        sheet = Sheet(grid=labels, start=start, shift=shift, test_page=test_page, day=day)
        try:
            written = written.model_copy(update={"printed": printed_labels(read_diary(folder))})
            path = write_labels(written, season, library, out=folder / "out", sheet=sheet)
        except GridError as error:
            raise typer.BadParameter(str(error)) from None
    print(path)
    if opened:
        typer.launch(path.resolve().as_uri())


add_publish_command(app)


@app.command()
def schema() -> None:
    """Print the JSON Schema of plan.json."""
    from harvestplan.plan.file import plan_schema

    print(json.dumps(plan_schema(), indent=1))


def _written_plan(folder: Path) -> Plan:
    from harvestplan.errors import FilesNeedMending, Flaw
    from harvestplan.plan.file import published_plan

    plan = published_plan(folder)
    if plan is not None:
        return plan
    if any(folder.glob("*.toml")):
        place, lacking = folder / "out" / "plan.json", "there is no plan yet."
        how = f"plan --in {folder}"
    else:
        place, lacking, how = folder.resolve(), "there is no season here yet.", "new my-season"
    hint = f"Make one with: harvestplan {how}"
    raise FilesNeedMending([Flaw(str(place), None, "", message=lacking, hint=hint)])


def _measures(folder: Path, library: Library) -> Measures:
    """The household's, or US measures where there is no sound season folder."""
    from harvestplan.inputs.load import load_season

    try:
        return load_season(folder, library).season.household.measures
    except HarvestPlanError:
        return "US"


def _next(folder: Path, today: dt.date) -> str:
    from harvestplan.inputs.load import load_season
    from harvestplan.kitchen.crop_library import load_library
    from harvestplan.outputs.terminal.summary import next_text
    from harvestplan.records.diary import read_diary

    written = _written_plan(folder)
    library = load_library(folder)
    season, diary = load_season(folder, library).season, read_diary(folder)
    return next_text(written, today, season, library=library, events=diary.events)
