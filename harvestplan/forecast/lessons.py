"""What was seen of one planting, as a lesson for others of its crop."""

from __future__ import annotations

import datetime as dt

from harvestplan.forecast import stages
from harvestplan.forecast.case import Case
from harvestplan.forecast.learning import Lesson
from harvestplan.forecast.seen import Seen

NEARLY_ALL = 0.95
"""Share of the days of a stretch whose weather must have been observed."""


def lesson_of(case: Case, seen: Seen) -> Lesson | None:
    """How much warmth it took up to the last stage that was seen, over what the book has for it.

    The rest of the way is taken to be as the book has it, and the lesson weighs as much as the
    stretch that was seen. None where nothing was seen, or no weather of those days is known.
    """
    found = _latest(case, seen)
    if found is None or case.climate is None or case.clock.book is None:
        return None
    day, rest = found
    first, last = case.climate.index(case.clock.start), case.climate.index(day)
    known = case.climate.known[max(first, 0) : last + 1]
    if first < 0 or last < first or known.mean() < NEARLY_ALL:
        return None
    book = case.clock.book.amount
    took = float(case.climate.warmth(book).daily[first : last + 1].sum())
    share = 1 - rest / book.amount
    return Lesson(max(took + rest, 1.0) / book.amount, max(share, 0.0))


def _latest(case: Case, seen: Seen) -> tuple[dt.date, float] | None:
    """The day of the last stage seen, and the warmth (°C·d) from it to the first pick by the
    book."""
    growth, clock = case.crop.growth, case.clock
    picks = [*seen.picks, *([case.planting.first_pick] if case.planting.first_pick else [])]
    if picks:
        return min(picks), 0.0
    if growth is None or clock.book is None or case.climate is None:
        return None
    if seen.flowering is not None and growth.days_after_flower is not None:
        after = stages.from_flower(clock, growth.days_after_flower, seen.flowering, case.climate)
        assert after.needed is not None
        return seen.flowering, min(after.needed.amount, clock.book.amount.amount)
    if seen.emerged is not None and growth.clock == "sown" and case.planting.sown is not None:
        whole = clock.book.amount
        again = stages.restart(clock, case.crop, seen.emerged)
        assert again.needed is not None and clock.needed is not None
        return seen.emerged, whole.amount * again.needed.amount / clock.needed.amount
    return None
