"""What lies in store, for people and for other programs."""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
import textwrap
from collections.abc import Sequence

from harvestplan.outputs.cautions import page_lines
from harvestplan.outputs.words import day
from harvestplan.records.stock import Shelf, use_first

WIDTH = 78


def stock_text(shelves: Sequence[Shelf], today: dt.date) -> str:
    """A block per product, oldest portions first, and what to use up first."""
    there = [shelf for shelf in shelves if shelf.portions]
    if not there:
        return (
            "Nothing is in store, as far as the season file and the diary know.\n"
            'After a session: harvestplan froze "snap bean, cut" 6'
        )
    lines = [f"In store on {day(today, year=True)}:", ""]
    for shelf in there:
        lines.append(f"{shelf.product}: {_portions(shelf.portions)}{_pace(shelf)}")
        for batch in shelf.batches:
            late = ", past its best" if batch.best_before < today else ""
            lines.append(
                f"    {_portions(batch.portions)} put by on {day(batch.put_by, year=True)}, "
                f"best before {day(batch.best_before, year=True)}{late}"
            )
    first = use_first(there, today)
    if first:
        lines += ["", "Use first:", *(f"  {shelf.product}" for shelf in first)]
    for caution in page_lines("stock"):
        lines += ["", *textwrap.wrap(caution, WIDTH)]
    return "\n".join(lines)


def stock_json(shelves: Sequence[Shelf], today: dt.date) -> str:
    """The same as JSON, with a format number; dates as YYYY-MM-DD."""
    head = {"format": 1, "date": today.isoformat()}
    products = [dataclasses.asdict(shelf) | {"portions": shelf.portions} for shelf in shelves]
    return json.dumps(head | {"products": products}, default=str, ensure_ascii=False, indent=1)


def _portions(count: int) -> str:
    return f"{count} portion" if count == 1 else f"{count} portions"


def _pace(shelf: Shelf) -> str:
    """Ahead of or behind the weekly draw, where one was named."""
    if shelf.due is None:
        return ""
    behind = shelf.due - shelf.eaten
    if behind > 0:
        return f"; {_portions(behind)} behind what you meant to eat by now"
    if behind < 0:
        return f"; {_portions(-behind)} ahead of what you meant to eat by now"
    return "; just as you meant to eat it"
