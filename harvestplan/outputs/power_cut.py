"""What may be kept after a power cut, and what to do with a freezer of spoiled food."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

from harvestplan.outputs.cautions import AUTHORITY, POWER_CUT
from harvestplan.outputs.text_page import wrapped
from harvestplan.outputs.words import day
from harvestplan.records.diary import Diary
from harvestplan.records.events import Count, Gone, LostAll, PowerCut

FULL_HOURS, HALF_HOURS = 48, 24
"""How long a full and a half-full freezer keep frozen, door shut (fsgov-copy, seen)."""
FULL, HALF = 0.95, 0.5
"""Shares of the freezer's volume from which on it counts as full, and as half full."""
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
    """The rule for a cut of so many hours in a freezer that is `full` (0 to 1; None: not known)."""
    hours = f"{cut.hours:g} hours"
    if cut.opened:
        return f"The freezer was opened in {hours} without power: look at every pack."
    if full is None:
        if cut.hours <= HALF_HOURS:
            return f"{hours} with the door shut: if it was half full or fuller, it held."
        if cut.hours <= FULL_HOURS:
            return (
                f"{hours} with the door shut: if it was full, it held; if not, look at every pack."
            )
        return f"{hours} are longer than even a full freezer holds: look at every pack."
    held = FULL_HOURS if full >= FULL else HALF_HOURS if full >= HALF else 0
    state = f"By the plan the freezer was {100 * full:.0f}% full."
    if cut.hours <= held:
        return f"{state} With the door shut it keeps frozen for {held} hours: {hours} did no harm."
    if held:
        return f"{state} {hours} are longer than the {held} it holds for certain: look at every " \
            "pack."  # fmt: skip
    return f"{state} Less than half full it thaws in less than {HALF_HOURS} hours: look at every " \
        "pack."  # fmt: skip


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
        f"The power was off for {cut.hours:g} hours on {day(cut.date)}, and nothing is written "
        "down since. Look at the packs, then write down what is there (count) or spoiled (lost)."
    )


def _fullness(folder: Path, date: dt.date) -> float | None:
    """The share that the emptiest freezer is filled on the date by the published plan."""
    path = folder / "out" / "plan.json"
    try:
        rows = json.loads(path.read_bytes())["freezer"] if path.is_file() else ()
        shares = [
            row["used_ml"] / row["capacity_ml"] for row in rows if row["date"] == date.isoformat()
        ]
    except (OSError, ValueError, KeyError, TypeError, ZeroDivisionError):
        return None  # commands that need the plan say what is wrong with it
    return min(shares, default=None)


def _paragraphs(*texts: str) -> str:
    return "\n\n".join("\n".join(wrapped(text, hang=0)) for text in texts)
