"""What a visit takes beside its work: a session's setting up and cleaning up, in small."""

from __future__ import annotations

from harvestplan.kitchen.steps.clean_up import CLEAN_UP
from harvestplan.kitchen.steps.set_up import SET_UP

VISIT_SET_UP = 3 * 60
"""Seconds to lay out pouches and scales and switch the machine on (own judgement)."""
VISIT_CLEAN_UP = 3 * 60
"""Seconds to wipe the bar and put the trays in the sink (own judgement)."""


SET_UP_WORDS = "Lay out marked pouches and scales, switch the machine on"
CLEAN_UP_WORDS = "Wipe bar and scales, trays to the sink, note what was frozen"
SET_UP_BY_HAND = "Lay out marked bags and boxes, and scales"
CLEAN_UP_BY_HAND = "Wipe the scales, trays to the sink, note what was frozen"
"""The same in a kitchen without a sealing machine."""


def set_up_seconds(kind: str) -> int:
    """Seconds before the work of a "session" or "visit"."""
    return VISIT_SET_UP if kind == "visit" else SET_UP


def clean_up_seconds(kind: str) -> int:
    """Seconds after the work of a "session" or "visit"."""
    return VISIT_CLEAN_UP if kind == "visit" else CLEAN_UP
