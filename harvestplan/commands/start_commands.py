"""The commands at a season's two ends: the new folder, and the review."""

from __future__ import annotations

import datetime as dt
import os
import shlex
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from harvestplan.commands.options import HERE, AsJson, AsOf, InDir, read_day

if TYPE_CHECKING:
    from harvestplan.new_season.starter import Answers


def add_start_commands(app: typer.Typer) -> None:
    """Add `new` and `review`."""
    app.command("new")(_new)
    app.command("review")(_review)


def _new(
    folder: Annotated[Path, typer.Argument(metavar="DIR")],
    old: Annotated[
        Path | None,
        typer.Option("--from", help="Begin with last year's folder.", metavar="OLD"),
    ] = None,
    yes: Annotated[
        bool, typer.Option("--yes", help="Ask nothing; write an example to be changed.")
    ] = False,
    *,
    as_of: AsOf = None,
) -> None:
    """Write a new season folder: household.toml, kitchen.toml and garden.toml.

    At a terminal it asks for what it needs; with --from it takes over last year's folder.
    """
    from harvestplan.new_season.start_file import write_start_file
    from harvestplan.new_season.starter import refuse_where_files_are, write_starter

    today = read_day(as_of)
    refuse_where_files_are(folder)
    if old is not None:
        from harvestplan.new_season.next_year import next_year

        written, notes = next_year(old, folder, today)
    else:
        answers, forget = _answers(folder, today, ask=not yes)
        written, notes = write_starter(folder, answers), ()
        forget()
    for path in (*written, write_start_file(folder)):
        print(f"wrote {path}")
    for note in notes:
        print(note)
    print(f"Look through them in a text editor. Then type: {typed('plan', folder)}")
    print(f"Or go on in the browser: {typed('open', folder)}")


def typed(command: str, folder: Path) -> str:
    """A command as it must be typed here: where harvestplan is on no path, by way of Python."""
    program = "harvestplan" if shutil.which("harvestplan") else f"{_python()} -m harvestplan"
    here = folder.resolve() == Path.cwd()
    return f"{program} {command}" + ("" if here else f" --in {_quoted(folder)}")


def _python() -> str:
    return _quoted(sys.executable or "python3")


def _quoted(path: Path | str) -> str:
    """A path as the shell takes it: Windows knows only double quotes."""
    text = str(path)
    if os.name == "nt":
        return f'"{text}"' if " " in text else text
    return shlex.quote(text)


def _answers(folder: Path, today: dt.date, ask: bool) -> tuple[Answers, Callable[[], None]]:
    """A person's own where somebody is there to be asked, else the example's; and what forgets the
    answers kept, once the files are written."""
    from harvestplan.new_season.starter import Answers

    if not (ask and sys.stdin.isatty()):
        return Answers.example(today), lambda: None
    from harvestplan.new_season.questions import ask_all

    answers, interview = ask_all(today, folder)
    return answers, interview.done


def _review(
    folder: InDir = HERE,
    as_of: AsOf = None,
    *,
    every: Annotated[
        bool, typer.Option("--all", help="By planting and by product, and every sentence.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Look back on the season: what was expected, what came, and what to do otherwise."""
    from harvestplan.outputs.terminal.review import review_season
    from harvestplan.outputs.terminal.review_text import review_json, review_short, review_text
    from harvestplan.planning.look_back import look_back

    back = look_back(folder, read_day(as_of))
    review = review_season(back)
    if as_json:
        print(review_json(review))
    elif every:
        print(review_text(review, back.season.household.measures))
    else:
        print(review_short(review))
