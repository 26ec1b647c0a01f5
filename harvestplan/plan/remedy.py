"""What would help where something falls short."""

from __future__ import annotations

import datetime as dt
from typing import Literal

from harvestplan.plan.immutable import Record


class Portions(Record):
    """Portions of a product."""

    product: str
    portions: int


class Remedy(Record):
    """A small change that would help where something falls short: what is changed, in words, and
    what the season solved with it brings beside the plan. `worth` is what it is worth in portions,
    its toil taken off. `kind` tells what is changed ("" in plans of old): kitchen time made longer,
    an evening more, of which `start` and `end` were tried, or room in a freezer."""

    change: str
    brings: tuple[Portions, ...]
    worth: float
    kind: Literal["", "longer", "evening", "room"] = ""
    start: dt.datetime | None = None
    end: dt.datetime | None = None
