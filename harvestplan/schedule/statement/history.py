"""What a new plan takes over from the published one: sessions that are done, and those promised.

Done is what began before the day the plan is made for; firm is what begins on that day or the next,
and the packing of food that a done session put to chill. They stand as they were; their food,
freezer space and freezing count.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

from harvestplan.plan.models import Lot, Plan, Session
from harvestplan.records.diary import NOTHING_WRITTEN, Diary
from harvestplan.records.held_sessions import finished, never_held

FIRM_DAYS = 2
"""Sessions on the day itself and the next are firm."""


@dataclass(frozen=True)
class History:
    """Kept sessions, the lots they draw on, and what they took and made."""

    sessions: tuple[Session, ...] = ()
    lots: tuple[Lot, ...] = ()
    used: dict[str, int] = field(default_factory=dict)
    """Raw grams taken of each lot by id."""
    pouches: dict[str, int] = field(default_factory=dict)
    """Pouches by product, done and firm."""

    @property
    def evenings(self) -> tuple[Session, ...]:
        """The kept sessions without visits."""
        return tuple(session for session in self.sessions if not session.is_visit)

    @property
    def done(self) -> tuple[Session, ...]:
        return tuple(session for session in self.sessions if session.status == "done")


def take_over(
    earlier: Plan | None,
    as_of: dt.date,
    move_firm: bool = False,
    *,
    diary: Diary = NOTHING_WRITTEN,
    released: Collection[str] = (),
    moved: Collection[str] = (),
) -> History:
    """What of the earlier plan stands on `as_of`; with `move_firm` only what is done or begun.

    Sessions of days before are done, but those that were never held. One of the day itself is done
    as soon as the diary tells what it froze. `released` are the uids of sessions that the household
    moves or drops: they are never firm. They, those never held and the `moved`, which stand where
    it put them, take along what food of theirs is there by now.
    """
    if earlier is None:
        return History()
    firm_until = as_of if move_firm else as_of + dt.timedelta(days=FIRM_DAYS)
    live = [session for session in earlier.sessions if session.live]
    done = {s.uid for s in finished(live, diary, as_of)}
    near = {s.uid for s in live if as_of <= s.start.date() < firm_until} - set(released)
    past = {s.uid for s in live if s.start.date() < as_of or s.status == "done"}
    not_held = never_held(live, diary, as_of)
    begun = {s.uid for s in live if s.cut_at is not None and s.start.date() == as_of}
    kept = done | near | begun | (past - not_held)
    while more := _packing_for(live, kept) - kept:
        kept |= more  # a session that packs may itself begin what a later one packs
    sessions = tuple(
        s.model_copy(update={"status": "done" if s.uid in done else "firm"})
        for s in live
        if s.uid in kept
    )
    used: dict[str, int] = defaultdict(int)
    pouches: dict[str, int] = defaultdict(int)
    for session in sessions:
        for run in session.runs:
            pouches[run.product] += run.pouches
            for share in run.lots:
                used[share.lot] += share.grams
    drawn = used.keys() | _promised(earlier, {*released, *moved, *not_held}, as_of)
    return History(sessions, _lots_of(earlier, drawn), dict(used), pouches=dict(pouches))


def _promised(earlier: Plan, uids: Collection[str], as_of: dt.date) -> set[str]:
    """Lots that those sessions draw on and that are there by now or tomorrow."""
    near = as_of + dt.timedelta(days=FIRM_DAYS)
    ready = {lot.id for lot in earlier.lots if lot.ready < near}
    sessions = (s for s in earlier.sessions if s.uid in uids)
    return ready & {share.lot for s in sessions for run in s.runs for share in run.lots}


def _packing_for(live: Sequence[Session], kept: set[str]) -> set[str]:
    """Sessions that pack, in a second sitting, what a kept session began; and those before them."""
    home = {run.id: session.uid for session in live for run in session.runs}
    found: set[str] = set()
    for session in live:
        for run in session.runs:
            begun = home.get(run.second_sitting_of or "")
            if begun in kept:
                found.add(session.uid)
            elif session.uid in kept and begun is not None:
                found.add(begun)
    return found


def _lots_of(earlier: Plan, used: Collection[str]) -> tuple[Lot, ...]:
    """Every earlier lot of a planting or purchase up to the last one that was drawn on."""
    last: dict[str, dt.date] = {}
    for lot in earlier.lots:
        if lot.id in used:
            name = origin(lot)
            last[name] = max(last.get(name, lot.ready), lot.ready)
    return tuple(
        lot for lot in earlier.lots if origin(lot) in last and lot.ready <= last[origin(lot)]
    )


def origin(lot: Lot) -> str:
    """The planting a lot comes from; a purchase stands for itself, under whatever number."""
    return f"planting {lot.planting}" if lot.planting else f"lot {lot.id.partition('.')[0]}"
