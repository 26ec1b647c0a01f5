"""Which lots hold the food beyond wants and fresh eating, and by when it must be given away."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.plan.models import Lot, Plan
from harvestplan.schedule.statement.fresh import fresh_grams


@dataclass(frozen=True)
class Surplus:
    """Grams of a lot to give away, at the latest on its `keep_until`."""

    lot: Lot
    grams: int


def surplus_by_lot(plan: Plan, season: Season, library: Library) -> tuple[Surplus, ...]:
    """Each crop's surplus by lot, summing to the balance to the gram, by date to give it.

    A lot's surplus is what is neither put by nor eaten fresh (oldest first, as the plan counts).
    Where that does not add up to the crop's balance, the surplus is shared out over what the lots
    have left; crops whose lots hold less than their surplus are left out.
    """
    used = _used(plan)
    # What kept sessions took was gone before the rest was shared out fresh.
    fresh = fresh_grams(plan.lots, season.fresh, library, used=_used(plan, ("done", "firm")))
    eaten = {lot.id: grams for lot, grams in zip(plan.lots, fresh, strict=True)}
    found: list[Surplus] = []
    for balance in plan.balance:
        lots = [lot for lot in plan.lots if lot.crop == balance.crop]
        lots.sort(key=lambda lot: (lot.keep_until, lot.id))
        shares = [lot.grams - used[lot.id] - eaten[lot.id] for lot in lots]
        if sum(shares) != balance.surplus_grams or min(shares, default=0) < 0:
            left = [max(0, lot.grams - used[lot.id]) for lot in lots]
            shares = _shared(balance.surplus_grams, left)
        found += [Surplus(lot, grams) for lot, grams in zip(lots, shares, strict=True) if grams]
    return tuple(sorted(found, key=lambda each: (each.lot.keep_until, each.lot.id)))


TRIFLE = 100
"""Less than this, in g, is nothing to carry to a neighbour (common practice, no source); it still
counts in the balance."""


def gifts_by_lot(plan: Plan, season: Season, library: Library) -> tuple[Surplus, ...]:
    """Of each lot's surplus what is worth giving away, by date to give it."""
    surplus = surplus_by_lot(plan, season, library)
    return tuple(each for each in surplus if each.grams >= TRIFLE)


@dataclass(frozen=True)
class ToGive:
    """Grams of a crop to give away from a day on: in all, and by the dates that are known."""

    crop: str
    grams: int
    by_date: dict[dt.date, int]


def gifts_ahead(plan: Plan, season: Season, library: Library, *, today: dt.date) -> list[ToGive]:
    """What each crop leaves to give away from `today` on, in the balance's order."""
    dates: dict[str, dict[dt.date, int]] = defaultdict(lambda: defaultdict(int))
    for surplus in gifts_by_lot(plan, season, library):
        dates[surplus.lot.crop][surplus.lot.keep_until] += surplus.grams
    found = []
    for balance in plan.balance:
        known = dates[balance.crop]
        ahead = {date: grams for date, grams in sorted(known.items()) if date >= today}
        grams = balance.surplus_grams if len(ahead) == len(known) else sum(ahead.values())
        if grams >= TRIFLE:
            found.append(ToGive(balance.crop, grams, ahead))
    return found


def _used(plan: Plan, statuses: Collection[str] = ("planned", "firm", "done")) -> dict[str, int]:
    """Grams of each lot that sessions of these statuses put by."""
    used: dict[str, int] = defaultdict(int)
    for session in plan.sessions:
        if session.status in statuses:
            for run in session.runs:
                for share in run.lots:
                    used[share.lot] += share.grams
    return used


def _shared(total: int, parts: list[int]) -> list[int]:
    """`total` in proportion to `parts`, in whole grams, or nothing where they sum to less.

    Running rounding keeps the sum exact.
    """
    whole, done, upto = sum(parts), 0, 0
    if total > whole:
        return [0] * len(parts)
    shares = []
    for part in parts:
        upto += part
        share = total * upto // max(1, whole) - done
        shares.append(share)
        done += share
    return shares
