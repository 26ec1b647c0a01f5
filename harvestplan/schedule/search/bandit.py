"""Which neighbourhood to try next, and how large: what has gained most for its effort lately."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass

FORGETS = 0.9
"""What was gained and spent before counts so much less with each try of a kind."""
LEAST_CHANCE = 0.05
"""No kind is given up: what gains nothing now may later."""
GROWS, SHRINKS = 1.15, 0.9
LEAST, USUAL, MOST = 0.05, 0.3, 1.0
"""A neighbourhood's share of the season: larger next time where it was solved to the end."""


@dataclass
class _Arm:
    gained: float = 1.0
    spent: float = 1.0
    share: float = USUAL


class Bandit:
    """A seeded gambler over kinds of neighbourhoods; drawn in proportion to gain per effort."""

    def __init__(self, kinds: Sequence[str], draw: random.Random) -> None:
        self._arms = {kind: _Arm() for kind in kinds}
        self._draw = draw

    def next(self) -> tuple[str, float]:
        """A kind, and the share of the season to free."""
        rates = [arm.gained / arm.spent for arm in self._arms.values()]
        most = max(rates)
        chances = [max(LEAST_CHANCE, rate / most if most else 1.0) for rate in rates]
        kind = self._draw.choices(list(self._arms), chances)[0]
        return kind, self._arms[kind].share

    def learn(self, kind: str, *, gained: float, spent: float, solved: bool) -> None:
        """What the kind brought: portions `gained` for deterministic seconds `spent`, and whether
        its neighbourhood was `solved` to the end."""
        arm = self._arms[kind]
        arm.gained = FORGETS * arm.gained + gained
        arm.spent = FORGETS * arm.spent + spent
        arm.share = min(MOST, arm.share * GROWS) if solved else max(LEAST, arm.share * SHRINKS)
