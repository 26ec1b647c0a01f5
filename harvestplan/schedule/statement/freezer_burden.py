"""What a run burdens a freezer with: its food where it is first frozen, and the ice it needs.

Ice that a household makes itself is made in its first freezer the day before the session.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable
from dataclasses import dataclass

from harvestplan.inputs.season import Season
from harvestplan.kitchen.ice import freezing_load, ice_space
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.all_steps import ice_of
from harvestplan.kitchen.steps.tray_freeze import TrayFreeze
from harvestplan.plan.models import Session
from harvestplan.plan.spans import DAY


def loose_step(process: Process) -> int | None:
    """The step in which the food is frozen loose on trays; None where it freezes in its pouches."""
    steps = enumerate(process.product.steps)
    return next((index for index, step in steps if step.step == TrayFreeze.name), None)


def loose_in_first(process: Process) -> bool:
    """Whether it is frozen loose before the pause, in the first of two sittings."""
    loose, pause = loose_step(process), process.pause
    return loose is not None and (pause is None or loose <= pause)


def load_per_pouch(process: Process) -> int:
    """Grams that a freezer has to freeze for a pouch, never fewer than its tasks will state."""
    loose = loose_step(process)
    if loose is None:
        return process.portion_grams
    # Tasks state whole grams batch by batch: a gram more covers their rounding.
    return math.ceil(process.raw_per_portion * process.share_before(loose)) + 1


def ice_freezer(season: Season) -> str | None:
    """The freezer in which the household makes its ice; None where it buys it."""
    made = season.cold.ice == "make" and season.freezer
    return season.freezer[0].name if made else None


@dataclass(frozen=True)
class IceMade:
    """Ice for a session, in g, made in the 24 hours before it. `load` is the fresh food in g that
    burdens the freezer as much, `space` what the ice takes in it in mL."""

    start: dt.datetime
    day: dt.date
    grams: int

    @property
    def load(self) -> int:
        return math.ceil(freezing_load(self.grams))

    @property
    def space(self) -> int:
        return ice_space(self.grams)


def ice_made(sessions: Iterable[Session], as_of: dt.date) -> list[IceMade]:
    """The ice of sessions after `as_of`, each on the day before; for today's it is made already."""
    found = []
    for session in sessions:
        grams = sum(map(ice_of, session.tasks))
        if session.live and grams and session.start.date() > as_of:
            found.append(IceMade(session.start - DAY, session.start.date() - DAY, grams))
    return found
