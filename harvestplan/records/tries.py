"""From `setting` lines of the diary to tries of a machine setting that held or failed."""

from __future__ import annotations

import datetime as dt
import re
from collections import defaultdict

from harvestplan.inputs.quantities import QuantityError, read_quantity
from harvestplan.kitchen.settings_book import Try
from harvestplan.records.diary import Diary
from harvestplan.records.events import Setting

HELD = ("held", "good", "fine", "well", "tight")
FAILED = ("foamed", "failed", "boiled", "bubbled", "leaked", "spilled")
_PUMP_DOWN = re.compile(r"pump-?\s?down\s+([\d.]+\s*\w+)", re.IGNORECASE)


def pump_down_tries(diary: Diary, before: dt.date | None = None) -> dict[str, tuple[Try, ...]]:
    """Tries of the pump-down by product, of the days before one, in order of time: "pump-down 22 s
    foamed".

    Lines that name no pump-down, or not how it went, tell nothing and are left out.
    """
    tries: dict[str, list[Try]] = defaultdict(list)
    for event in sorted(diary.events, key=lambda event: event.date):
        if before is not None and event.date >= before:
            break
        if isinstance(event, Setting) and (found := _read(event.words)) is not None:
            tries[event.product].append(found)
    return {product: tuple(found) for product, found in tries.items()}


def _read(words: str) -> Try | None:
    named = _PUMP_DOWN.search(words)
    failed = any(word in words.lower() for word in FAILED)
    held = any(word in words.lower().split() for word in HELD)
    if named is None or held == failed:
        return None
    try:
        return Try(read_quantity(named[1], "time", "metric").value, held)
    except QuantityError:
        return None
