"""What lies in store, for people and for other programs."""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from harvestplan.inputs.load import load_season
from harvestplan.kitchen.crop_library import load_library
from harvestplan.outputs.cautions import page_lines
from harvestplan.outputs.terminal.power_cut import cut_note, standing_cut
from harvestplan.outputs.text_page import wrapped
from harvestplan.plan.file import published_plan
from harvestplan.records.diary import read_diary
from harvestplan.records.events import PowerCut
from harvestplan.records.held_sessions import finished
from harvestplan.records.put_by import put_by
from harvestplan.records.stock import StoredProduct, stock, use_first
from harvestplan.records.use_up import Use, use_up
from harvestplan.words import day, food_name, plural


def stock_shown(folder: Path, today: dt.date, as_json: bool) -> str:
    """What lies in store by the season file, the published plan's finished sessions and the diary.

    Raises FilesNeedMending where one of them cannot be read.
    """
    library = load_library(folder)
    season = load_season(folder, library).season
    diary = read_diary(folder)
    published = published_plan(folder)
    done = finished(published.sessions if published else (), diary, today)
    shelves = stock(season, library, diary, today=today, done=done)
    uses = use_up(shelves, season, library, today=today)
    cut = standing_cut(diary, today)
    if as_json:
        return stock_json(shelves, today, uses, cut=cut)
    unwritten = sum(
        put.portions for put in put_by(done, library, diary, today=today) if not put.written
    )
    notes = filter(None, (_unknown_note(shelves), _unwritten_note(unwritten)))
    paragraphs = ("\n".join(wrapped(note, hang=0)) for note in notes)
    vacuum = season.machine is not None
    return "\n\n".join([stock_text(shelves, today, uses, cut=cut, vacuum=vacuum), *paragraphs])


def _unknown_note(shelves: Sequence[StoredProduct]) -> str:
    """Said where more was taken out than was known to be there."""
    short = [shelf for shelf in shelves if shelf.unknown]
    if not short:
        return ""
    told = "; ".join(
        f"{food_name(shelf.product)} ({plural(shelf.unknown, 'portion')})" for shelf in short
    )
    return (
        f"More went than the season file and the diary knew of: {told}. "
        f'Count what is there: harvestplan count "{short[0].product}" 3'
    )


def _unwritten_note(portions: int) -> str:
    """Said where sessions are over and nothing is written of them."""
    if not portions:
        return ""
    return (
        f"{plural(portions, 'portion')} of finished sessions count as planned; nothing is written "
        "of them. If it came otherwise: harvestplan froze, or count what is there."
    )


def stock_text(
    shelves: Sequence[StoredProduct],
    today: dt.date,
    uses: Sequence[Use] = (),
    *,
    cut: PowerCut | None = None,
    vacuum: bool = True,
) -> str:
    """A block per product, oldest portions first, and what to eat in the month ahead; cautions for
    packs sealed in a `vacuum`, or closed by hand."""
    there = [shelf for shelf in shelves if shelf.portions]
    if not there:
        return (
            "Nothing is in store, as far as the season file and the diary know.\n"
            'After a session: harvestplan froze "snap bean, cut" 6'
        )
    lines = [*wrapped(cut_note(cut), hang=0), ""] if cut else []
    lines += [f"In store on {day(today, year=True)}:", ""]
    for shelf in there:
        lines.append(
            f"{food_name(shelf.product)}: {plural(shelf.portions, 'portion')}{_pace(shelf)}"
        )
        for batch in shelf.batches:
            late = ", past its best" if batch.best_before < today else ""
            count = plural(batch.portions, "portion")
            lines.append(
                f"    {count} put by on {day(batch.put_by, year=True)}, "
                f"best before {day(batch.best_before, year=True)}{late}"
            )
    first = use_first(there, today)
    if first:
        lines += ["", "Use first:", *(f"  {food_name(shelf.product)}" for shelf in first)]
    if uses:
        head = f"To eat by {day(uses[0].by, year=True)}, so that nothing passes its best:"
        lines += ["", head, *(line for use in uses for line in _use_lines(use))]
    for caution in page_lines("stock", vacuum=vacuum):
        lines += ["", *wrapped(caution, hang=0)]
    return "\n".join(lines)


def _use_lines(use: Use) -> Iterator[str]:
    """A product's portions for the month, and of which day's they are."""
    more = use.portions - use.meant
    beyond = f", {more} more than your weekly draw" if use.pressing and use.meant else ""
    yield f"  {food_name(use.product)}: {plural(use.portions, 'portion')}{beyond}"
    for batch in use.batches:
        yield (
            f"    {batch.portions} of {day(batch.put_by, year=True)}, best before "
            f"{day(batch.best_before, year=True)}"
        )


def stock_json(
    shelves: Sequence[StoredProduct],
    today: dt.date,
    uses: Sequence[Use] = (),
    *,
    cut: PowerCut | None = None,
) -> str:
    """The same as JSON, with a format number; dates as YYYY-MM-DD."""
    told: dict[str, Any] = {"format": 1, "date": today.isoformat()}
    told["products"] = [
        dataclasses.asdict(shelf) | {"portions": shelf.portions} for shelf in shelves
    ]
    told["use_up"] = [dataclasses.asdict(use) for use in uses]
    if cut:
        told["power_cut"] = {"date": cut.date, "hours": cut.hours, "opened": cut.opened}
    return json.dumps(told, default=str, ensure_ascii=False, indent=1)


def _pace(shelf: StoredProduct) -> str:
    """Ahead of or behind the weekly draw, where one was named."""
    if shelf.due is None:
        return ""
    behind = shelf.due - shelf.eaten
    if behind > 0:
        return f"; {plural(behind, 'portion')} behind what you meant to eat by now"
    if behind < 0:
        return f"; {plural(-behind, 'portion')} ahead of what you meant to eat by now"
    return "; just as you meant to eat it"
