"""What sessions bring into the freezers, and what that has them freeze."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from harvestplan.inputs.draws import Draw
from harvestplan.kitchen.steps.freeze import Freeze, FreezeSettings
from harvestplan.kitchen.steps.settings import freezer_of
from harvestplan.kitchen.steps.tray_freeze import TrayFreeze
from harvestplan.plan.models import Session, Task


@dataclass(frozen=True)
class FreezerProduct:
    """One product's place in the ledger: space in mL per pouch, and its draw."""

    product: str
    space: int
    draw: Draw | None


@dataclass(frozen=True)
class Arrival:
    """Pouches that a session put or puts into a freezer; those of a done session lie there
    already when the ledger is opened."""

    day: dt.date
    freezer: str
    product: str
    pouches: int
    done: bool


@dataclass(frozen=True)
class Load:
    """Grams that a freezer has to freeze, from `start` on."""

    start: dt.datetime
    freezer: str
    grams: int


def arrivals(sessions: Iterable[Session]) -> list[Arrival]:
    """What each session's freeze tasks put away."""
    found = []
    for session in sessions:
        products = {run.id: run.product for run in session.runs}
        for task in _tasks(session, Freeze.name):
            settings = FreezeSettings.of(task)
            found.append(
                Arrival(
                    task.start.date(),
                    settings.freezer or "",
                    products[task.run or ""],
                    pouches=settings.pouches or 0,
                    done=session.status == "done",
                )
            )
    return found


def loads(sessions: Sequence[Session]) -> list[Load]:
    """What the freezers have to freeze, all sessions together.

    Food frozen loose on trays is frozen there; it burdens no freezer again when it is packed,
    be it days later in a second sitting.
    """
    loose = {task.run for session in sessions for task in _tasks(session, TrayFreeze.name)}
    loose |= {
        run.id
        for session in sessions
        for run in session.runs
        if run.second_sitting_of is not None and run.second_sitting_of in loose
    }
    return [
        Load(task.start, freezer_of(task) or "", task.grams)
        for session in sessions
        for step in (TrayFreeze.name, Freeze.name)
        for task in _tasks(session, step)
        if step == TrayFreeze.name or task.run not in loose
    ]


def _tasks(session: Session, step: str) -> Iterator[Task]:
    if not session.live:
        return iter(())
    return (task for task in session.tasks if task.step == step and task.run is not None)
