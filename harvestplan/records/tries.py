"""From `setting` lines of the diary to tries of a machine setting that held or failed."""

from __future__ import annotations

import datetime as dt
import re
from collections import defaultdict

from harvestplan.inputs.quantities import QuantityError, read_quantity
from harvestplan.kitchen.machine_settings import Try
from harvestplan.records.diary import Diary
from harvestplan.records.events import Setting

HELD = ("held", "good", "fine", "well", "tight")
FAILED = ("foamed", "failed", "boiled", "bubbled", "leaked", "spilled")
_PUMP_DOWN = re.compile(r"pump-?\s?down\s+([\d.]+\s*\w+)", re.IGNORECASE)

_NOT = (
    r"\b(?:not|no|never|none|nothing|neither|cannot|can['’]?t|won['’]?t"
    r"|(?:did|does|do|was|were|is|are|has|have|had|would|could)n['’]?t)\b"
)
_BETWEEN = (
    r"(?:\s+(?:at all|a|an|any|be|been|very|quite|really|so|too|as|even|ever|longer|properly|enough"
    r"|of|the|it|one|bags?|pouch(?:es)?|was|were|is|has|have|had|did|would))*\s+"
)
_HOLDING = rf"(?:{'|'.join(HELD)}|hold(?:s|ing)?|seal(?:s|ed)?|work(?:s|ed)?)\b"
_FAULT_DENIED = re.compile(
    rf"(?:{_NOT}|\bwithout\b){_BETWEEN}(?:foam|fail|boil|bubbl|leak|spill|problem|trouble)\w*"
)
_HOLDING_DENIED = re.compile(
    rf"(?:{_NOT}|\bfail(?:ed|s)? to\b){_BETWEEN}{_HOLDING}(?:{_BETWEEN}{_HOLDING})*(?!\s+better)"
)
_UNCLEAR = re.compile(rf"{_NOT}|\b(?:barely|hardly|scarcely|almost|nearly|without)\b")
"""Words that turn round, or half round, what is said with them."""


def pump_down_tries(diary: Diary, before: dt.date | None = None) -> dict[str, tuple[Try, ...]]:
    """Tries of the pump-down by product, of the days before one, in order of time: "pump-down 22 s
    foamed".

    Lines that name no pump-down, or not how it went, or not clearly, tell nothing and are left out.
    """
    tries: dict[str, list[Try]] = defaultdict(list)
    for event in sorted(diary.events, key=lambda event: event.date):
        if before is not None and event.date >= before:
            break
        if isinstance(event, Setting) and (found := _read(event.words)) is not None:
            tries[event.product].append(found)
    return {product: tuple(found) for product, found in tries.items()}


def _read(words: str) -> Try | None:
    named, held = _PUMP_DOWN.search(words), _went_well(words.lower())
    if named is None or held is None:
        return None
    try:
        return Try(read_quantity(named[1], "time", "metric").value, held)
    except QuantityError:
        return None


def _went_well(words: str) -> bool | None:
    """Whether the setting held; None where that is not said, or not clearly.

    "No foam" says nothing by itself, "did not hold well" says that it failed; any other denial
    leaves it unclear.
    """
    told = _HOLDING_DENIED.sub(" failed ", _FAULT_DENIED.sub(" ", words))
    if _UNCLEAR.search(told):
        return None
    failed = any(word in told for word in FAILED)
    held = any(word in HELD for word in re.findall(r"\w+", told))
    return None if held == failed else held
