"""What of the shopping list is still to be had, once things were ticked off."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from harvestplan.outputs.calendar.entry import entry_uid
from harvestplan.outputs.calendar.record import Ticked
from harvestplan.outputs.shopping_words import numbered
from harvestplan.plan.models import Plan, ShoppingLine

NEARLY = 1.1
"""So much more than was ticked is still the same errand (common practice, no source)."""


def to_get(
    plan: Plan, seed: str | None, ticked: Mapping[str, Ticked]
) -> Iterator[tuple[str, str, ShoppingLine]]:
    """Key, UID as a to-do, and line of what is not ticked yet; more of the same than was ticked
    has a UID of its own."""
    for key, line in numbered(plan.shopping):
        if line.buy:
            again, uid = 0, entry_uid(plan, seed, f"todo|{key}")
            while uid in ticked and not _is_covered(line, ticked[uid]):
                again += 1
                uid = entry_uid(plan, seed, f"todo|{key}|{again}")
            if uid not in ticked:
                yield key, uid, line


def _is_covered(line: ShoppingLine, tick: Ticked) -> bool:
    return line.in_stock == tick.in_stock and line.buy <= NEARLY * tick.covers
