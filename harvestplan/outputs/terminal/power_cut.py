"""What may be kept after a power cut, and what to do with a freezer of spoiled food."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

from harvestplan.bounded import read_json
from harvestplan.kitchen.pouches import BOX, GAPS
from harvestplan.outputs.cautions import AUTHORITY, POWER_CUT
from harvestplan.outputs.text_page import wrapped
from harvestplan.records.diary import Diary
from harvestplan.records.events import Count, Gone, LostAll, PowerCut
from harvestplan.words import day

FULL_HOURS, HALF_HOURS = 48, 24
"""How long a full and a half-full freezer keep frozen, door shut (fsgov-copy, seen)."""
HALF = 0.5
"""Share of the freezer's volume, gaps left out, from which on it counts as half full. Nothing
counts as full: the room between packs is never filled wholly, and only the eye can tell."""
HELD = "it should have held; look for ice crystals all the same"
LOOK = "look at every pack, as said below"
SHOWN = dt.timedelta(days=30)
"""So long a power cut is told of in the store, unless something is written down after it."""


def thawing_words(cut: PowerCut, folder: Path) -> str:
    """What the rule of 48 and 24 hours says of a power cut, and the cautions that go with it."""
    verdict = verdict_words(cut, _fullness(folder, cut.date))
    then = (
        'Write down what you throw out: harvestplan lost "snap bean, cut" 6, or for all of it: '
        "harvestplan lost all. What stays is best eaten first; its quality may have suffered."
    )
    return _paragraphs(verdict, POWER_CUT.text, AUTHORITY.text, then)


def verdict_words(cut: PowerCut, full: float | None) -> str:
    """The rule for a cut of so many hours in a freezer that is `full` (0 to 1; None: not known).

    `full` is what surely lies in it, without gaps. What is said errs towards looking.
    """
    hours = _hours(cut)
    if cut.opened:
        return f"The freezer was opened in {hours} without power: {LOOK}."
    if cut.hours > FULL_HOURS:
        return f"{hours} are longer than even a full freezer holds: {LOOK}."
    if full is None:
        filled = "half full or fuller" if cut.hours <= HALF_HOURS else "full to the top"
        return f"{hours} with the door shut: if it was {filled}, {HELD}. If not, {LOOK}."
    state = f"By the plan food takes up {math.floor(100 * full)}% of the freezer."
    if full < HALF:
        return f"{state} Less than half full it may thaw in less than {HALF_HOURS} hours: {LOOK}."
    if cut.hours > HALF_HOURS:
        return f"{state} {hours} are longer than the {HALF_HOURS} of one half full: {LOOK}."
    return (
        f"{state} Half full or fuller, and with the door shut, it keeps frozen for "
        f"about {HALF_HOURS} hours: after {hours} {HELD}. If it was emptier, {LOOK}."
    )


def spoilt_words() -> str:
    """What to do with food that thawed and spoiled, and with the empty freezer."""
    return _paragraphs(
        "All that was frozen counts as gone; the next plan puts it by again where there is food. "
        "Throw it out unopened and without tasting it, where no animal gets at it; wash the "
        "freezer with hot water and soap, and cool it down to 0 °F (-18 °C) before you fill it.",
        AUTHORITY.text,
    )


def standing_cut(diary: Diary, today: dt.date) -> PowerCut | None:
    """The last power cut of the last 30 days, unless the store was sorted out since."""
    found: PowerCut | None = None
    for event in sorted(diary.events, key=lambda event: event.date):
        if event.date > today:
            break
        if isinstance(event, PowerCut):
            found = event if event.date > today - SHOWN else None
        elif isinstance(event, LostAll | Count | Gone):
            found = None
    return found


def cut_note(cut: PowerCut) -> str:
    """A line for the store."""
    return (
        f"The power was off for {_hours(cut)} on {day(cut.date)}, and nothing is written "
        "down since. Look at the packs, then write down what is there (count) or spoiled (lost)."
    )


def _hours(cut: PowerCut) -> str:
    return f"{cut.hours:g} {'hour' if cut.hours == 1 else 'hours'}"


def _fullness(folder: Path, date: dt.date) -> float | None:
    """The share of the emptiest freezer that food takes up by the published plan.

    On the date or the day before it, whichever is less: the cut may have come before a session.
    The plan's room for gaps is taken off the whole, ice and what lay there before included.
    """
    path = folder / "out" / "plan.json"
    dates = {date.isoformat(), (date - dt.timedelta(days=1)).isoformat()}
    try:
        rows = read_json(path)["freezer"] if path.is_file() else ()
        shares = [row["used_ml"] / row["capacity_ml"] for row in rows if row["date"] in dates]
        return min(shares) * BOX / GAPS if shares else None
    except (OSError, ValueError, KeyError, TypeError, ZeroDivisionError):
        return None  # commands that need the plan say what is wrong with it


def _paragraphs(*texts: str) -> str:
    return "\n\n".join("\n".join(wrapped(text, hang=0)) for text in texts)
