"""Cuts kept from plan to plan: what was proven not to fit an evening need not be found out again.

A kept cut carries a fingerprint of the very tasks that were proven not to fit, so that it holds
only as long as kitchen, crop, portion, pace and the ways of laying out stay as they were.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from harvestplan.kitchen.steps.clean_up import CLEAN_UP
from harvestplan.kitchen.steps.set_up import SET_UP
from harvestplan.plan.models import TooMuch, TooMuchOf
from harvestplan.schedule.session.whole_session import whole_session
from harvestplan.schedule.statement.choice import Cut
from harvestplan.schedule.statement.problem import Problem


def cuts_from(problem: Problem, kept: Iterable[TooMuch]) -> list[Cut]:
    """Those of the kept cuts that still hold."""
    numbers = {demand.process.name: d for d, demand in enumerate(problem.demands)}
    cuts = []
    for each in kept:
        if any(run.product not in numbers for run in each.runs):
            continue
        runs = tuple((numbers[run.product], run.sitting, run.pouches) for run in each.runs)
        cut = Cut(runs, each.room_s, each.hands, proven=True)
        if _fingerprint(problem, cut) == each.fingerprint:
            cuts.append(cut)
    return cuts


def to_keep(problem: Problem, cuts: Iterable[Cut]) -> tuple[TooMuch, ...]:
    """The proven cuts, but for those that another says as well."""
    proven = list(dict.fromkeys(cut for cut in cuts if cut.proven))
    strongest = (cut for cut in proven if not any(_says_more(other, cut) for other in proven))
    return tuple(
        TooMuch(
            room_s=cut.room,
            hands=cut.hands,
            runs=tuple(
                TooMuchOf(product=problem.demands[d].process.name, sitting=sitting, pouches=n)
                for d, sitting, n in cut.runs
            ),
            fingerprint=_fingerprint(problem, cut),
        )
        for cut in strongest
    )


def _says_more(one: Cut, other: Cut) -> bool:
    """Whether what `other` forbids is all forbidden by `one`, which is another cut."""
    most = {(demand, sitting): pouches for demand, sitting, pouches in other.runs}
    within = all(pouches <= most.get((demand, sitting), 0) for demand, sitting, pouches in one.runs)
    return one != other and within and one.room >= other.room and one.hands >= other.hands


def _fingerprint(problem: Problem, cut: Cut) -> str:
    """Of all tasks of the session that was proven not to fit, with all that binds them."""
    layouts = []
    for demand, sitting, pouches in cut.runs:
        raw = problem.work.raw(demand, pouches)
        name = f"{problem.demands[demand].process.name} {sitting}:"
        layout = problem.work.layout(demand, sitting, raw, pouches=pouches, freezer=None)
        layouts.append((name, layout))
    length = SET_UP + cut.room + CLEAN_UP
    tasks = whole_session(layouts, problem.kitchen.pots, cut.hands, length=length)
    return hashlib.sha256(repr(tasks).encode()).hexdigest()[:16]
