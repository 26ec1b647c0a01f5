"""The commands that write in the diary; they load nothing but the diary, so that they are quick."""

from __future__ import annotations

import datetime as dt
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from harvestplan.commands.options import HERE, AsJson, InDir, read_day

if TYPE_CHECKING:
    from harvestplan.records.events import Event

Words = Annotated[
    list[str],
    typer.Argument(
        metavar="WORDS", help="What happened, in the words of the example.", show_default=False
    ),
]
On = Annotated[
    str | None,
    typer.Option("--on", help="The day it happened; today if not given.", metavar="DATE"),
]
PlantingId = Annotated[
    str | None, typer.Option("--planting", help="Which planting, by its id.", metavar="ID")
]

COLD_ENOUGH = 5.0
"""°C at which food may be packed: 41 °F (snhd-cool)."""
GARDEN_EVENTS = {
    "picked": "Write down a pick: picked snap bean 5 lb",
    "flowering": "Write down the first flowers, or silk: flowering winter squash",
    "emerged": "Write down that seedlings came up: emerged snap bean",
    "none": "Write down that nothing has been picked so far: none yet asparagus",
    "failed": "Write down that a planting came to nothing: failed snap bean",
}
STORE_EVENTS = {
    "bought": "Write down food bought in bulk: bought peach 20 lb",
    "froze": "Write down what went into the freezer, and the minutes of hand work: "
    "froze 'snap bean, cut' 6 pouches of 12 oz, 1 failed seal, 95 minutes",
    "timed": "Write down how long one step took by the watch: "
    "timed 'snap bean, cut' trim 25 minutes for 6 lb",
    "ate": "Write down portions eaten from the store: ate 'snap bean, cut' 1",
    "gave": "Write down what was given away: gave snap bean 2 lb, gave 'snap bean, cut' 2",
    "lost": "Write down what spoiled: lost snap bean 2 lb, lost 'snap bean, cut' 2; a whole "
    "freezer: lost all",
    "count": "Write down how many portions lie in the store, of one product or several: "
    "count 'snap bean, cut' 14 'sweet corn, kernel' 9",
    "power-cut": "Write down a power cut, and see what may be kept: power-cut 30 h, door shut",
    "moved": "Move a session: moved session 2027-07-14 18:00 to 2027-07-15 18:30; then plan again",
    "keep": "Keep an evening free of sessions: keep free 2027-07-14; then plan again",
    "serviced": "Write down that the sealing machine's oil was changed: serviced sealer",
    "printed": "Write down that the labels of a day are printed: printed labels 2027-07-14",
    "reading": "Write down what a thermometer read in food put to chill: "
    "reading 'tomato, purée' 41 F after 50 min",
    "setting": "Write down how the sealer was set: setting 'tomato, purée' pump-down 22 s foamed",
}


def add_diary_commands(app: typer.Typer) -> None:
    """Add a command for each kind of event, and undo."""
    for verb, help_text in GARDEN_EVENTS.items():
        _add_garden_event(app, verb, help_text)
    for verb, help_text in STORE_EVENTS.items():
        _add_store_event(app, verb, help_text)
    app.command("undo")(_undo)


def _add_garden_event(app: typer.Typer, verb: str, help_text: str) -> None:
    @app.command(verb, help=help_text)
    def _(
        words: Words,
        folder: InDir = HERE,
        on: On = None,
        planting: PlantingId = None,
        as_json: AsJson = False,
    ) -> None:
        _record(folder, verb, words, on=on, planting=planting, as_json=as_json)


def _add_store_event(app: typer.Typer, verb: str, help_text: str) -> None:
    @app.command(verb, help=help_text)
    def _(words: Words, folder: InDir = HERE, on: On = None, as_json: AsJson = False) -> None:
        _record(folder, verb, words, on=on, planting=None, as_json=as_json)


def _record(
    folder: Path,
    verb: str,
    words: list[str],
    *,
    on: str | None,
    planting: str | None,
    as_json: bool,
) -> None:
    """Add the event, or a stocktake's events, to the diary and say back what was understood."""
    from harvestplan.records import tell
    from harvestplan.records.diary import append_event, append_events
    from harvestplan.records.phrases import counted_apart

    day = read_day(on, "--on", "past")
    if verb == "count":
        lines = [" ".join(map(_quoted, each)) for each in counted_apart(words)]
        recorded = append_events(folder, verb, lines, on=day)
    else:
        first, *rest = words
        text = " ".join([_quoted(first) if rest else first, *rest])
        _ask_if_odd(folder, verb, text, day, planting=planting)
        recorded = (append_event(folder, verb, text, on=day, planting=planting),)
    for done in recorded:
        for warning in (*done.warnings, *_doubts(folder, done.event)):
            print(warning, file=sys.stderr)
        print(
            json.dumps(tell.as_json(done.event, done.line), ensure_ascii=False)
            if as_json
            else tell.said(done.event)
        )
    if not as_json:
        _caution(folder, recorded[0].event)


def _ask_if_odd(folder: Path, verb: str, text: str, day: dt.date, *, planting: str | None) -> None:
    """Asks at a terminal, and warns elsewhere, before what can hardly be is written down."""
    if verb not in GARDEN_EVENTS:
        return
    from harvestplan.records.names import names_in
    from harvestplan.records.phrases import read_event
    from harvestplan.records.too_early import too_early

    words = text if planting is None else f'{text} planting "{planting}"'
    event = read_event(verb, words, names_in(folder), head=(day, "", 1), strict=True)
    odd = too_early(folder, event)
    if odd is None:
        return
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        print(f"{odd} Take it back with: harvestplan undo", file=sys.stderr)
    elif not typer.confirm(f"{odd}\nWrite it down all the same?", default=False):
        print("Nothing was written.")
        raise typer.Exit(1)


def _quoted(word: str) -> str:
    """A name of several words in the quotes that the shell took."""
    return f'"{word}"' if " " in word.strip() and '"' not in word else word


def _caution(folder: Path, event: Event) -> None:
    """What to take care of after a power cut, or with a freezer of spoiled food."""
    from harvestplan.records.events import LostAll, PowerCut

    if isinstance(event, LostAll | PowerCut):
        from harvestplan.outputs.terminal.power_cut import spoilt_words, thawing_words

        print(
            "\n" + (spoilt_words() if isinstance(event, LostAll) else thawing_words(event, folder))
        )


def _doubts(folder: Path, event: Event) -> Iterator[str]:
    from harvestplan.records.events import ColdReading, Moved, TimedStep

    if isinstance(event, Moved):
        from harvestplan.records.moved_sessions import no_such_session

        yield from no_such_session(folder, event)
    if isinstance(event, TimedStep):
        from harvestplan.records.pace import no_such_step

        yield from no_such_step(folder, event)
    if isinstance(event, ColdReading) and event.celsius > COLD_ENOUGH:
        yield "Not cold enough to be packed: leave it in ice water, stirring, until it reads 41 °F."


def _undo(
    code: Annotated[str | None, typer.Argument(metavar="[CODE]")] = None,
    folder: InDir = HERE,
    as_json: AsJson = False,
) -> None:
    """Take back the event with this code, or the last one; nothing is deleted."""
    from harvestplan.records import diary, tell

    done, taken = diary.undo(folder, code, dt.date.today())
    for warning in done.warnings:
        print(warning, file=sys.stderr)
    if as_json:
        print(json.dumps(tell.as_json(done.event, done.line), ensure_ascii=False))
    else:
        print(f"took back: {tell.said(taken)}")
