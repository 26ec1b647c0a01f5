"""What a new plan changes against the published one, session by session, with computed reasons."""

from __future__ import annotations

import datetime as dt
import statistics
from collections import defaultdict
from dataclasses import dataclass

from harvestplan.inputs.ids import called
from harvestplan.inputs.season import Measures
from harvestplan.outputs.text_page import wrapped
from harvestplan.plan.models import Plan, Session
from harvestplan.words import clock, day, food_name, joined, plural


@dataclass(frozen=True)
class SessionChanges:
    """How many sessions stay as they are, and a line for each that does not."""

    kept: int
    moved: list[str]
    added: list[str]
    dropped: list[str]
    resized: list[str]

    def any(self) -> bool:
        """Whether any session is not as it was."""
        return bool(self.moved or self.added or self.dropped or self.resized)

    def besides(self, others: SessionChanges) -> SessionChanges:
        """Those of these changes that are not among the others."""
        return SessionChanges(
            self.kept,
            *(
                [line for line in ours if line not in theirs]
                for ours, theirs in (
                    (self.moved, others.moved),
                    (self.added, others.added),
                    (self.dropped, others.dropped),
                    (self.resized, others.resized),
                )
            ),
        )

    def groups(self) -> dict[str, list[str]]:
        """Those that are not as they were, under what became of them."""
        every = {
            "Moved": self.moved,
            "Added": self.added,
            "Dropped": self.dropped,
            "Changed in size": self.resized,
        }
        return {title: rows for title, rows in every.items() if rows}

    def counts(self) -> str:
        """How many stay and how many do not, in a sentence."""
        return (
            f"Against the plan before: kept {self.kept}, moved {len(self.moved)}, added "
            f"{len(self.added)}, dropped {len(self.dropped)}, changed in size {len(self.resized)}."
        )

    def lines(self) -> list[str]:
        """Counts first, then every session that moved, came, went or changed in size."""
        return [line for entry in self.entries() for line in entry]

    def entries(self) -> list[list[str]]:
        """The same, the lines of each session together, those of a group's first with its title."""
        told = [wrapped(self.counts())]
        for title, rows in self.groups().items():
            first, *others = (wrapped(f"  {row}") for row in rows)
            told += [["", title, *first], *others]
        return told


def changes_text(before: Plan, after: Plan, measures: Measures = "US") -> str:
    """What changes, session by session; clock times as the household reads them."""
    return "\n".join(session_changes(before, after, measures).lines())


def session_changes(before: Plan, after: Plan, measures: Measures) -> SessionChanges:
    """The sessions of the plan before beside those of the one after."""
    old = {s.uid: s for s in before.sessions if s.live}
    new = {s.uid: s for s in after.sessions if s.live}
    shifts = ready_shifts(before, after)
    put = {wish.session: wish.moved_to for wish in after.wishes if not wish.why}
    moved, resized, kept = [], [], 0
    for uid in sorted(set(old) & set(new), key=lambda uid: (new[uid].start, uid)):
        if _clock(old[uid].window_start) != _clock(new[uid].window_start):
            own = " (where you put it)" if new[uid].window_start == put.get(uid) else ""
            why = own or _why(old[uid], before, shifts)
            moved.append(f"{_move(old[uid], new[uid], measures)}{why}")
        elif _sizes(old[uid]) != _sizes(new[uid]):
            changed = _changed(old[uid], new[uid])
            why = _why(old[uid], before, shifts, products=changed) or _why(
                new[uid], after, shifts, products=changed
            )
            resized.append(f"{_resize(old[uid], new[uid], measures)}{why}")
        else:
            kept += 1
    came = [session for uid, session in sorted(new.items()) if uid not in old]
    added = [f"{_when(session, measures)}: {_what(session)}" for session in came]
    dropped = [
        f"{_when(s, measures)}: {_what(s)}{_why(s, before, shifts)}"
        for uid, s in sorted(old.items())
        if uid not in new and s.start.date() >= after.as_of
    ]
    return SessionChanges(kept, moved, added, dropped, resized)


def waits_longer(before: Plan, after: Plan) -> dict[str, int]:
    """Days that the food of each product waits longer, ready, until it is put by: whole days on
    average over its grams in sessions still to come, where they are any."""
    was, now = (_waits(plan, after.as_of) for plan in (before, after))
    longer = {product: round(now[product] - was[product]) for product in now if product in was}
    return {product: days for product, days in longer.items() if days > 0}


def _waits(plan: Plan, since: dt.date) -> dict[str, float]:
    """Mean days from ready to put by of each product's food."""
    ready = {lot.id: lot.ready for lot in plan.lots}
    days: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for session in plan.sessions:
        on = session.start.date()
        if not session.live or on < since:
            continue
        for run in session.runs:
            shares = [share for share in run.lots if share.lot in ready and share.grams]
            days[run.product] += [
                (max(0, (on - ready[share.lot]).days), share.grams) for share in shares
            ]
    return {product: _mean(pairs) for product, pairs in days.items() if pairs}


def ready_shifts(before: Plan, after: Plan) -> dict[str, int]:
    """Days by which each planting's harvest moved: negative is earlier.

    The difference of the middle ready dates of the lots, weighted by grams.
    """
    was, now = _middles(before), _middles(after)
    return {p: round(now[p] - was[p]) for p in was if p in now and round(now[p] - was[p])}


def _middles(plan: Plan) -> dict[str, float]:
    days: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for lot in plan.lots:
        if lot.planting:
            days[lot.planting].append((lot.ready.toordinal(), max(1, lot.grams)))
    return {planting: _mean(pairs) for planting, pairs in days.items()}


def _mean(pairs: list[tuple[int, int]]) -> float:
    """The mean of days, weighted by grams."""
    return statistics.fmean([d for d, _ in pairs], weights=[g for _, g in pairs])


def _why(
    session: Session, plan: Plan, shifts: dict[str, int], *, products: set[str] | None = None
) -> str:
    """The harvest shifts behind a change of these products (None: all), if the numbers show any."""
    lots = {lot.id: lot for lot in plan.lots}
    shares = [
        lots[share.lot]
        for run in session.runs
        for share in run.lots
        if share.lot in lots and (products is None or run.product in products)
    ]
    crops = {lot.planting: lot.crop for lot in shares if lot.planting}
    reasons = [
        f"{called(planting, crop)} {plural(abs(shifts[planting]), 'day')} "
        f"{'early' if shifts[planting] < 0 else 'late'}"
        for planting, crop in sorted(crops.items())
        if planting in shifts
    ]
    return f" ({joined(reasons)})" if reasons else ""


def _sizes(session: Session) -> dict[str, int]:
    """Pouches by product; a first sitting packs none and shows up where it is packed."""
    return {run.product: run.pouches for run in session.runs if run.pouches}


def _move(old: Session, new: Session, measures: Measures) -> str:
    return f"{_what(new)}: from {_when(old, measures)} to {_when(new, measures)}"


def _changed(old: Session, new: Session) -> set[str]:
    was, now = _sizes(old), _sizes(new)
    return {product for product in set(was) | set(now) if was.get(product) != now.get(product)}


def _resize(old: Session, new: Session, measures: Measures) -> str:
    was, now = _sizes(old), _sizes(new)
    parts = []
    for product in sorted(_changed(old, new)):
        portions, before = plural(now.get(product, 0), "portion"), was.get(product, 0)
        told = f"{portions} instead of {before}" if before else f"{portions} more"
        told = told if now.get(product) else f"left out, {plural(before, 'portion')} before"
        parts.append(f"{food_name(product)}, {told}")
    return f"{_when(new, measures)}: {'; '.join(parts)}"


def _what(session: Session) -> str:
    return joined(list(dict.fromkeys(food_name(run.product) for run in session.runs)))


def _clock(time: dt.datetime) -> dt.datetime:
    """What the clock on the wall says; people notice nothing where only the zone's rules change."""
    return time.replace(tzinfo=None)


def _when(session: Session, measures: Measures) -> str:
    return f"{day(session.start.date())}, {clock(session.start, measures)}"
