"""The command that asks what would be: the season with changes, without an evening, with more."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from harvestplan.commands.options import (
    HERE,
    AsJson,
    AsOf,
    Every,
    InDir,
    On,
    Quiet,
    progress,
    read_day,
)

if TYPE_CHECKING:
    from pydantic import BaseModel

    from harvestplan.foresight.changes import Variant

HELP = """\
Solve the season with changes and show them side by side with the season as it stands.

A change is written table.key=value in the season file's own words; where there are several of a
thing, its name stands between. "+" and "-" change what is there. Several changes at once are
joined by " and "; several words are several variants.

\b
  one more pot                    "pot.big kettle=+1"
  or another one                  "pot.third=volume 8 qt, power 1.8 kW"
  a bigger freezer                "freezer.chest.volume=+100 L"
  no Wednesdays                   "window.wed=none"
  Sundays too, with two hands     "window.sun=14:00-17:00, 2 hands"
  longer Thursdays                "window.thu.end=+30 min"
  the second beans two weeks on   "planting.beans-2.sown=+2 weeks"
  a 16-inch bar                   "sealer.bar=16 in"
  more beans wanted               "want.snap bean, cut.portions=60"
  visits to pack at noon          "season.visits=12:00-12:30"
  two sessions a week, in all 20  "season.max_sessions_per_week=2 and season.max_sessions=20"

A patch file holds the same tables as the season file; what stands in it takes the place of what
has the same name, and windows that of all windows on their days. Nothing is written, except by
--worth.
"""
RISK_HELP = """\
Replay the season in every past year of the weather file, with yields drawn from their spread.

Says how likely each want is to be met, how many portions fall short, what is given away, how many
evenings it takes, how full the freezer gets, and which weeks lose most and why. The plan is made
anew every Monday of each year. Ctrl-C ends it with the years done so far. Nothing is written.
"""
SOWING_HELP = """\
Find how much to sow next year, and when, so that wants are met and gluts fit the evenings.

Moves the season's sowing dates and amounts one planting after the other, tries plantings in two
halves, and judges each trial in three past years, played through with a new plan every three weeks.
Prints the [[planting]] tables to copy. Before the season's first sowing they are for this season.
Nothing is written.
"""
Seed = Annotated[
    int,
    typer.Option("--seed", min=0, help="Draw other yields with another seed.", metavar="NUMBER"),
]


def add_foresight_commands(app: typer.Typer) -> None:
    """Add compare, risk and sowing."""
    app.command("compare", help=HELP)(_compare)
    app.command("risk", help=RISK_HELP)(_risk)
    app.command("sowing", help=SOWING_HELP)(_sowing)


def _compare(
    changes: Annotated[
        list[str] | None, typer.Argument(metavar="CHANGE...", show_default=False)
    ] = None,
    folder: InDir = HERE,
    as_of: AsOf = None,
    *,
    patch: Annotated[
        list[Path] | None,
        typer.Option("--patch", help="A variant from a file.", metavar="FILE.toml"),
    ] = None,
    without: Annotated[
        str | None,
        typer.Option("--without", help="What is lost without this day.", metavar="DATE"),
    ] = None,
    what_helps: Annotated[
        bool, typer.Option("--what-helps", help="One thing more of each, ranked.")
    ] = False,
    evenings: Annotated[
        bool, typer.Option("--evenings", help="Portions put by against evenings.")
    ] = False,
    worth: Annotated[
        bool,
        typer.Option(
            "--worth", help="What each planned session is worth; told in book and calendar."
        ),
    ] = False,
    on: On = None,
    every: Every = False,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    asked = [bool(changes or patch), without is not None, what_helps, evenings, worth]
    if sum(asked) != 1:
        raise typer.BadParameter(
            "ask one thing at a time: CHANGE... (or --patch), --without, --what-helps, "
            "--evenings or --worth; see --help"
        )
    how = How(every, as_json, progress(quiet), on)
    day = read_day(as_of)
    if without is not None:
        _show_loss(folder, day, read_day(without, "--without"), how)
    elif worth:
        _show_worth(folder, day, how)
    elif what_helps:
        _show_helps(folder, day, how)
    elif evenings:
        _show_curve(folder, day, how)
    else:
        _show_variants(folder, day, _variants(changes or [], patch or []), how)


@dataclass(frozen=True)
class How:
    """How an answer is found and told: all of it or what fits a screen, for people or programs, to
    whom progress is said, and on which cluster it is computed."""

    every: bool
    as_json: bool
    say: Callable[[str], None]
    on: str | None = None

    def tell(self, plain: Callable[[], Any], text: Callable[[], str]) -> None:
        """Prints the answer as JSON or in words."""
        if self.as_json:
            _print_json(plain())
        else:
            print(text())


def _variants(changes: Sequence[str], patches: Sequence[Path]) -> list[Variant]:
    from harvestplan.foresight.changes import Variant, read_variant

    variants = [Variant(str(path), patch=path) for path in patches]
    return [*variants, *(read_variant(text) for text in changes)]


def _show_variants(folder: Path, day: dt.date, variants: Sequence[Variant], how: How) -> None:
    from harvestplan.foresight.compare import compare
    from harvestplan.outputs.terminal.what_if_text import compare_text

    found = compare(folder, day, variants, say=how.say, on=how.on)
    how.tell(
        lambda: {"variants": [_plain(each) for each in found]},
        lambda: compare_text(found, how.every),
    )


def _show_loss(folder: Path, day: dt.date, without: dt.date, how: How) -> None:
    from harvestplan.foresight.losses import loss_without_day
    from harvestplan.outputs.terminal.what_if_text import loss_text

    loss = loss_without_day(folder, day, without, say=how.say)
    how.tell(lambda: _plain(loss), lambda: loss_text(loss, _measures(folder), how.every))


def explain_session(
    folder: Path, as_of: str | None, session: str, *, as_json: bool, say: Callable[[str], None]
) -> None:
    """Prints what is lost when the planned session is skipped (`plan --explain`)."""
    from harvestplan.foresight.losses import loss_without_session
    from harvestplan.outputs.terminal.what_if_text import loss_text

    loss = loss_without_session(folder, read_day(as_of), session, say=say)
    How(every=False, as_json=as_json, say=say).tell(
        lambda: _plain(loss), lambda: loss_text(loss, _measures(folder))
    )


def _show_helps(folder: Path, day: dt.date, how: How) -> None:
    from harvestplan.foresight.helps import what_helps
    from harvestplan.outputs.terminal.what_if_text import helps_text

    found = what_helps(folder, day, how.say, on=how.on)
    how.tell(lambda: _plain(found), lambda: helps_text(found, how.every))


def _show_curve(folder: Path, day: dt.date, how: How) -> None:
    from harvestplan.foresight.curve import session_curve
    from harvestplan.outputs.terminal.what_if_text import curve_text

    curve = session_curve(folder, day, how.say, on=how.on)
    how.tell(lambda: _plain(curve), lambda: curve_text(curve, how.every))


def _show_worth(folder: Path, day: dt.date, how: How) -> None:
    from harvestplan.foresight.each_session import session_worth
    from harvestplan.foresight.worth_file import write_worth
    from harvestplan.inputs.load import load_season
    from harvestplan.kitchen.crop_library import load_library
    from harvestplan.outputs.terminal.what_if_text import worth_text
    from harvestplan.outputs.write_all import write_outputs
    from harvestplan.plan.file import read_plan
    from harvestplan.planning.lock import planning_alone

    out = folder / "out"
    with planning_alone(folder, how.say):
        worth = session_worth(folder, day, how.say, on=how.on)
        library = load_library(folder)
        season = load_season(folder, library).season
        write_worth(worth, out)
        write_outputs(read_plan(out / "plan.json"), season, library, out=out)
    measures = season.household.measures
    how.tell(lambda: _plain(worth), lambda: worth_text(worth, measures, how.every))


def _risk(
    folders: Annotated[
        list[Path] | None,
        typer.Option("--in", help="The season folder; may be given for several.", metavar="DIR"),
    ] = None,
    as_of: AsOf = None,
    seed: Seed = 1,
    *,
    on: On = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    from harvestplan.foresight.risk import risk
    from harvestplan.outputs.terminal.risk_text import risk_text

    places = folders or [HERE]
    found = risk(places, read_day(as_of), seed, say=progress(quiet), on=on)
    known = [(place, each) for place, each in zip(places, found, strict=True) if each is not None]
    if as_json and len(places) > 1:
        _print_json({"seasons": [{"in": str(place), **_plain(each)} for place, each in known]})
    elif as_json:
        _print_json(_plain(known[0][1]))
    else:
        heads = [f"{place}\n" if len(places) > 1 else "" for place, _ in known]
        told = [risk_text(each, _measures(place)) for place, each in known]
        print("\n\n".join(head + text for head, text in zip(heads, told, strict=True)))


def _sowing(
    folder: InDir = HERE,
    as_of: AsOf = None,
    seed: Seed = 1,
    *,
    tries: Annotated[
        int, typer.Option("--tries", min=1, max=2000, help="Sowings to try.", metavar="NUMBER")
    ] = 45,
    on: On = None,
    as_json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    from harvestplan.foresight.sowing import sowing
    from harvestplan.outputs.terminal.sowing_text import sowing_text

    found = sowing(folder, read_day(as_of), seed, tries=tries, say=progress(quiet), on=on)
    if as_json:
        _print_json(_plain(found))
    else:
        print(sowing_text(found, _measures(folder)))


def _measures(folder: Path) -> Any:
    from harvestplan.inputs.load import load_season
    from harvestplan.kitchen.crop_library import load_library

    return load_season(folder, load_library(folder)).season.household.measures


def _plain(answer: BaseModel) -> Any:
    return answer.model_dump(mode="json")


def _print_json(answer: Any) -> None:
    print(json.dumps(answer, ensure_ascii=False, indent=1))
