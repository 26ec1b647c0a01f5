"""What an evening cut short still makes, and where the food goes that it leaves."""

from __future__ import annotations

from collections import defaultdict

from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Measures, Season
from harvestplan.outputs.pack_words import packs_of
from harvestplan.outputs.surplus import TRIFLE, surplus_by_lot
from harvestplan.outputs.text_page import wrapped
from harvestplan.plan.models import Plan, Run, Session
from harvestplan.words import clock, crop_many, day, food_name, joined, mass, plural


def cut_text(before: Plan, after: Plan, season: Season, *, library: Library) -> str:
    """The session laid out again, product by product; empty where nothing changed in it."""
    was = {session.uid: session for session in before.sessions}
    cut = next(
        (s for s in after.sessions if s.cut_at and s != was.get(s.uid) and s.cut_at >= s.start),
        None,
    )
    if cut is None or cut.cut_at is None:
        return "Everything planned for this session still fits; nothing changes."
    measures = season.household.measures
    begun, end = clock(cut.cut_at, measures), clock(cut.end, measures)
    late = f", {plural(round(cut.behind / 60), 'minute')} late" if cut.behind else ""
    lines = [f"Laid out again from {begun}{late}, over at {end}."]
    if not cut.live:
        lines = [f"Nothing was begun by {begun}, and nothing more fits: the session is over."]
    for run in was[cut.uid].runs:
        lines += wrapped(f"  {_told(run, cut, after, season=season)}")
    left = _left(was[cut.uid], cut)
    if any(grams >= TRIFLE for grams in left.values()):
        for line in _goes(left, before, after, season=season, library=library):
            lines += wrapped(f"  {line}")
    return "\n".join(lines)


def _told(run: Run, cut: Session, after: Plan, *, season: Season) -> str:
    measures = season.household.measures
    now = next((each for each in cut.runs if each.id == run.id), None)
    if now is None:
        return f"{food_name(run.product)}: not begun; left for another day."
    if run.pouches and not now.pouches:
        packing = next(
            (s for s in after.sessions for r in s.runs if r.second_sitting_of == run.id), None
        )
        where = f", packed on {_when(packing, measures)}" if packing else ""
        chilled = mass(now.grams_in, measures)
        begun = f"what is begun ({chilled} of raw food) is put by cold{where}"
        return f"{food_name(run.product)}: {begun}."
    if not run.pouches:
        taken, planned = mass(now.grams_in, measures), mass(run.grams_in, measures)
        return f"{food_name(run.product)}, first sitting: {taken} of {planned} of raw food."
    if now.pouches == run.pouches:
        return f"{food_name(run.product)}: all {packs_of(run, season)} as planned."
    return f"{food_name(run.product)}: {now.pouches} of {packs_of(run, season)}."


def _left(was: Session, cut: Session) -> dict[str, int]:
    """Grams of each lot that the session no longer takes."""
    left: dict[str, int] = defaultdict(int)
    for session, sign in ((was, 1), (cut, -1)):
        for run in session.runs:
            for share in run.lots:
                left[share.lot] += sign * share.grams
    return {lot: grams for lot, grams in left.items() if grams > 0}


def _goes(
    left: dict[str, int], before: Plan, after: Plan, *, season: Season, library: Library
) -> list[str]:
    """One line a lot: sessions that take more of it than before, and what is to be given away."""
    measures = season.household.measures
    lots = {lot.id: lot for lot in before.lots}
    gifts = [surplus_by_lot(plan, season, library) for plan in (before, after)]
    lines = []
    for name, grams in left.items():
        if grams < TRIFLE:
            continue
        lot, ways = lots[name], []
        was, now = _takers(before, name), _takers(after, name)
        for uid, (session, taken) in now.items():
            more = taken - was.get(uid, (session, 0))[1]
            if more >= TRIFLE:
                ways.append(f"{mass(more, measures)} on {_when(session, measures)}")
        spare = [sum(g.grams for g in each if g.lot.id == name) for each in gifts]
        if spare[1] - spare[0] >= TRIFLE:
            ways.append(
                f"{mass(spare[1] - spare[0], measures)} to eat or give away by "
                f"{day(lot.keep_until)}"
            )
        to = joined(ways) or f"keeps until {day(lot.keep_until)}"
        lines.append(f"{mass(grams, measures)} of {crop_many(lot.crop)} are left: {to}.")
    return lines


def _takers(plan: Plan, lot: str) -> dict[str, tuple[Session, int]]:
    found = {}
    for session in plan.sessions:
        taken = sum(s.grams for run in session.runs for s in run.lots if s.lot == lot)
        if taken and session.live:
            found[session.uid] = (session, taken)
    return found


def _when(session: Session, measures: Measures) -> str:
    return f"{day(session.start.date())}, {clock(session.start, measures)}"
