"""Options that most commands share."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Literal

import typer

from harvestplan.commands.plain_output import speak_json
from harvestplan.plan.spans import far_off

InDir = Annotated[Path, typer.Option("--in", help="The season folder.", metavar="DIR")]
AsOf = Annotated[
    str | None, typer.Option("--as-of", help="Look at the season from this day.", metavar="DATE")
]


def _speak_json(asked: bool) -> bool:
    if asked:
        speak_json()
    return asked


AsJson = Annotated[
    bool, typer.Option("--json", help="Print JSON for other programs.", callback=_speak_json)
]
Now = Annotated[
    str | None,
    typer.Option(
        "--now",
        help="In the middle of a session: what is begun by this time stands, the rest is laid out "
        "again, and the season planned on with it.",
        metavar="TIME",
    ),
]
Until = Annotated[
    str | None,
    typer.Option("--until", help="With --now: when the session must be over.", metavar="TIME"),
]
Behind = Annotated[
    int | None,
    typer.Option(
        "--behind",
        help="With --now: by how many minutes the session is late.",
        metavar="MINUTES",
        min=1,
        max=240,
    ),
]
Quiet = Annotated[bool, typer.Option("--quiet", help="No progress lines.")]
On = Annotated[
    str | None,
    typer.Option(
        "--on",
        help="Compute on a cluster, whose scheduler has this address (tcp://HOST:8786).",
        metavar="ADDRESS",
    ),
]
Every = Annotated[
    bool, typer.Option("--all", help="The whole answer, and not what a screen holds.")
]
HERE = Path()


def progress(quiet: bool) -> Callable[[str], None]:
    """Says how far a command is, beside what it prints; nothing where it is to be `quiet`."""

    def say(text: str) -> None:
        if not quiet:
            print(text, file=sys.stderr, flush=True)

    return say


def read_day(
    text: str | None, option: str = "--as-of", toward: Literal["past", "near"] = "near"
) -> dt.date:
    """The date that `option` names, or today: "2027-07-14", "yesterday", "14 July", the last such
    day where it lies in the `past`, else the nearest. What is not written in figures is said back.
    Raises typer.BadParameter for what is no date, or may be two."""
    if text is None:
        return dt.date.today()
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        day = _said_day(text, option, toward)
    if why := far_off(day):
        raise typer.BadParameter(f"{why}; look at the year", param_hint=option)
    return day


def _said_day(text: str, option: str, toward: Literal["past", "near"]) -> dt.date:
    from harvestplan.inputs.spoken.said_dates import read_date
    from harvestplan.inputs.spoken.unclear import Unclear

    try:
        day = read_date(text, dt.date.today(), toward)
    except Unclear as error:
        raise typer.BadParameter(str(error), param_hint=option) from None
    print(f"{option} {text}: {day:%Y-%m-%d}", file=sys.stderr)
    return day


def read_time(text: str, option: str) -> dt.time:
    """The time of day that `option` names; raises typer.BadParameter for what is none."""
    try:
        time = dt.time.fromisoformat(text)
    except ValueError:
        time = None
    if time is None or time.tzinfo is not None or time.microsecond:
        raise typer.BadParameter(
            f'"{text}" is no time of day; write it like 19:40', param_hint=option
        )
    return time
