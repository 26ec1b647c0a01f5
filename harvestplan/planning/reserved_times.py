"""Evenings held from plan to plan, and the pouches that the sturdier plan may come to need."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping, Sequence

from harvestplan.inputs.windows import FreeWindow
from harvestplan.plan.models import Held, Plan, Session, Sturdy
from harvestplan.plan.spans import overlap


def still_held(
    earlier: Plan | None, windows: Sequence[FreeWindow], as_of: dt.date
) -> Sturdy | None:
    """What the earlier plan holds from `as_of` on, where the household still has the time."""
    if earlier is None or earlier.sturdy is None:
        return None
    held = tuple(
        Held(start=window.start, end=window.end)
        for window in windows
        if window.start.date() >= as_of and any(overlap(h, window) for h in earlier.sturdy.held)
    )
    return earlier.sturdy.model_copy(update={"held": held}) if held else None


def pouches_ahead(sturdy: Sturdy | None, sessions: Sequence[Session]) -> Mapping[str, int]:
    """Pouches of each size that may still be needed, less those filled since they were reckoned."""
    if sturdy is None:
        return {}
    filled: Counter[str] = Counter()
    for session in sessions:
        if session.status == "done" and session.start.date() >= sturdy.on:
            for run in session.runs:
                if run.pouch:
                    filled[run.pouch] += run.pouches
    return {each.pouch: max(0, each.count - filled[each.pouch]) for each in sturdy.pouches}
