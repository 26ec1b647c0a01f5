"""What would help where something falls short."""

from __future__ import annotations

from harvestplan.plan.immutable import Record


class Portions(Record):
    """Portions of a product."""

    product: str
    portions: int


class Remedy(Record):
    """A small change that would help where something falls short: what is changed, in words, and
    what the season solved with it brings beside the plan. `worth` is what it is worth in portions,
    its toil taken off."""

    change: str
    brings: tuple[Portions, ...]
    worth: float
