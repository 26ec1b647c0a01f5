"""How each level is searched: what is begun with, where it looks nearby, and when it proves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from harvestplan.plan.models import Level
from harvestplan.schedule.search.one_level import STRETCHES, LevelSearch

FIRST_ROUNDS = 2
"""Rounds of proving before anything is looked for nearby."""


@dataclass(frozen=True)
class Policy:
    """The proof first; where it does not come soon, nearby, then the proof again.

    Attributes
    ----------
    stretches
        Lengths of the stretches of windows that a look nearby frees, pass by pass.
    begins
        Whether it makes a first choice where there is none, and looks around known windows first.
    proves_first
        Whether the proof comes before the look nearby.
    """

    stretches: Sequence[int] = STRETCHES
    begins: bool = False
    proves_first: bool = True

    def search(self, search: LevelSearch, near: Sequence[int] | None = None) -> None:
        """Betters and proves a level. With `near` the choice is good but around these windows: they
        are looked at first, and the season is swept once."""
        if self.begins and not search.best.pouches:
            search.begin()
        if self.begins and near is not None:
            search.around(near, STRETCHES[1:])
        if self.proves_first:
            search.prove(rounds=FIRST_ROUNDS)
        search.sweep(self.stretches if near is None else STRETCHES[1:2])
        search.prove()


POLICIES: Mapping[Level, Policy] = {
    "wants": Policy(begins=True),
    "change": Policy(),
    # Long stretches pay where whole sessions go; the levels after that only shift within them.
    "evenings": Policy(STRETCHES[1:]),
    # Late work can mostly be done without, which is soon found nearby and needs no proof.
    "overtime": Policy(STRETCHES[:2], proves_first=False),
    "waiting": Policy(STRETCHES[:2]),
}
