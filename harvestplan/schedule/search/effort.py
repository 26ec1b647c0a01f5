"""How much a search may do: counted in nodes and deterministic seconds, the same on every machine,
so that plans repeat."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

USUAL = 2000
"""Variables of a household's season. Nodes of a larger one take longer (measured, about with its
size to the power of one and a half): it gets fewer. There is more to look into nearby, and less in
a smaller one."""


@dataclass(frozen=True)
class Effort:
    """In each of so many `rounds`: `nodes` of branch and bound over the whole season, and beside it
    `nearby` deterministic seconds of looking into neighbourhoods of the best plan. With
    `less_again` less is done where a good part of a published plan stands."""

    nodes: int = 600
    nearby: float = 3.0
    rounds: int = 2
    less_again: bool = True
    seed: int = 1

    def again(self) -> Effort:
        """For a season of which a good part of a published plan stands: there is little to find,
        and who has picked early waits in the kitchen. What is a round at most is little already."""
        if not self.less_again or self.rounds <= 1:
            return self
        return replace(self, nodes=self.nodes // 4, nearby=self.nearby / 2, rounds=1)

    def nodes_for(self, size: int) -> int:
        """Nodes of a round where the season has `size` variables."""
        return max(1, round(self.nodes / math.pow(max(1.0, size / USUAL), 1.5)))

    def nearby_for(self, size: int) -> float:
        """Deterministic seconds of looking nearby in a round, likewise."""
        return self.nearby * size / USUAL


THOROUGH = Effort(nodes=3000, nearby=40.0, rounds=6, less_again=False)
"""For who can wait some minutes."""
