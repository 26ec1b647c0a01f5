"""What a household's own evenings taught: its pace, its failed seals, the machine's hours.

Plain data: the diary's reader fills it, the planner and the judge reckon with it.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from harvestplan.inputs.season_kitchen import Sealer
from harvestplan.kitchen.machine_settings import Tries
from harvestplan.kitchen.own_pace import OwnPace
from harvestplan.kitchen.practice import BOOK_PRACTICE, Practice
from harvestplan.kitchen.steps.seal import Seal, SealSettings
from harvestplan.plan.models import Session

SLOWEST, FASTEST = 2.0, 0.5
"""Own paces stay between these times what the household says of itself; beyond them a slip of the
pen is likelier (own judgement)."""
SPARE_FAILED, SPARE_SEALED = 5, 100
"""Before anything is written down, five pouches in a hundred fail (common practice, no source);
the household's own count is added to these."""
NEAR = 3
"""Days between an evening and the line that tells of it, at most."""


@dataclass(frozen=True)
class Pace:
    """Minutes the household takes for the hand work on a product, per minute of the crop file.

    `median` is what its `evenings` timed show by themselves, `factor` what plans reckon with for
    all steps but those of `steps`, which were timed by themselves: their `evenings` are timings.
    All are drawn towards the household's `practice`, and what evenings taught beyond it holds for
    each of its steps alike.
    """

    factor: float
    median: float
    evenings: int
    steps: Mapping[str, Pace] = field(default_factory=dict)
    practice: Practice = BOOK_PRACTICE

    @property
    def own(self) -> OwnPace:
        beyond = self.factor / self.practice.whole
        said = {step: round(ratio * beyond, 3) for step, ratio in self.practice.steps.items()}
        timed = {step: pace.factor for step, pace in self.steps.items()}
        return OwnPace(round(beyond, 3), said | timed)


@dataclass(frozen=True)
class Sealing:
    """Seconds the machine ran for what was frozen of a product on a day, by the diary."""

    date: dt.date
    product: str
    seconds: float


@dataclass(frozen=True)
class Experience:
    """What is known by "crop, form": paces, pouches (sealed, failed), tries of the pump-down; the
    machine's recorded runs, and when its oil was last changed; and of each product that the
    household is slower or quicker at than the crop file by its own word, how much (`practice`)."""

    paces: Mapping[str, Pace] = field(default_factory=dict)
    seals: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    sealings: tuple[Sealing, ...] = ()
    tries: Tries = field(default_factory=dict)
    serviced: dt.date | None = None
    practice: Mapping[str, Practice] = field(default_factory=dict)

    def own_paces(self) -> dict[str, OwnPace]:
        """What plans reckon with, by product."""
        said = {
            product: OwnPace(1.0, practice.steps) for product, practice in self.practice.items()
        }
        return said | {product: pace.own for product, pace in self.paces.items()}

    def spares(self, pouches: int) -> int:
        """Spare pouches for the failed seals of so many, rounded up."""
        failed = sum(failed for _, failed in self.seals.values())
        tried = SPARE_SEALED + sum(map(sum, self.seals.values()))
        return -(-pouches * (SPARE_FAILED + failed) // tried)

    def running_seconds(self, sealer: Sealer, sessions: Iterable[Session]) -> float:
        """Running time of each machine since its last service, to the end of `sessions`, in s.

        Several machines share the work evenly. Service was after the evening's work.
        """
        since = self.serviced
        if since is None:
            return sealer.run_so_far + self.machine_seconds(sessions) / sealer.count
        told = tuple(sealing for sealing in self.sealings if sealing.date > since)
        after = (session for session in sessions if session.start.date() > since)
        return replace(self, sealings=told).machine_seconds(after) / sealer.count

    def machine_seconds(self, sessions: Iterable[Session]) -> float:
        """Running time of all sealing machines over `sessions`, in s.

        What the diary tells counts in place of what was planned for the same product on an evening
        near it.
        """
        planned = 0.0
        for session in sessions:
            known = {
                run.id
                for run in session.runs
                if session.status == "done" and self._tells_of(run.product, session.start.date())
            }
            planned += sum(
                float(SealSettings.of(task).machine_s or 0.0)
                for task in session.tasks
                if task.step == Seal.name and task.run not in known
            )
        return planned + math.fsum(sealing.seconds for sealing in self.sealings)

    def _tells_of(self, product: str, day: dt.date) -> bool:
        return any(
            sealing.product == product and abs((sealing.date - day).days) <= NEAR
            for sealing in self.sealings
        )


NOTHING_YET = Experience()


def pace_words(product: str, pace: Pace) -> str:
    """Like "snap bean, cut takes you 1.2 times the book's minutes, from 4 evenings"."""
    if not pace.evenings:
        return f"{product}: of the book's minutes plans reckon with {_step_words(pace)}."
    evenings = "1 evening" if pace.evenings == 1 else f"{pace.evenings} evenings"
    words = (
        f"{product} takes you {pace.median:.2g} times the book's minutes of hand work, from "
        f"{evenings}; plans reckon with {pace.factor:.2g} times"
    )
    return f"{words}, but with {_step_words(pace)}." if pace.steps else f"{words}."


def _step_words(pace: Pace) -> str:
    """Like "1.4 times for trim (you timed it twice)"."""
    told = []
    for step, own in sorted(pace.steps.items()):
        times = {1: "once", 2: "twice"}.get(own.evenings, f"{own.evenings} times")
        told.append(f"{own.factor:.2g} times for {step} (you timed it {times})")
    return ", ".join(told)


def bounded(ratio: float, usual: float = 1.0) -> float:
    """A pace within the bounds about the `usual` one."""
    return min(SLOWEST * usual, max(FASTEST * usual, ratio))
