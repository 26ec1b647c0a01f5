"""The kinds of calendar that a household may want apart: each a file, a feed and a colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from harvestplan.errors import HarvestPlanError, printable
from harvestplan.plan.file_names import GARDEN, SESSIONS, TO_BUY


class UnknownKind(HarvestPlanError):
    """There is no such kind of calendar."""

    exit_code = 2


@dataclass(frozen=True)
class Kind:
    """What is asked for by `name`, stands in `file`, and bears the category and the CSS colour
    (RFC 7986, 5.9) on its entries; `paint` is that colour as servers have it."""

    name: str
    file: str
    title: str
    category: str
    color: str
    paint: str


SESSIONS_KIND = Kind(
    "sessions", SESSIONS, "Kitchen and store", "Preserving", "seagreen", "#2E8B57FF"
)
GARDEN_KIND = Kind("garden", GARDEN, "Garden", "Garden", "olivedrab", "#6B8E23FF")
SHOPPING_KIND = Kind("shopping", TO_BUY, "To buy", "Shopping", "goldenrod", "#DAA520FF")
KINDS = {kind.name: kind for kind in (SESSIONS_KIND, GARDEN_KIND, SHOPPING_KIND)}
FORMER_TITLE = "Putting by"
"""What the sessions' calendar was called before; one of that name, made by us, moves along."""
USUAL_KINDS = (SESSIONS_KIND.name, SHOPPING_KIND.name)
"""What suits a phone: when to be in the kitchen, and what to have bought by then."""


def read_kinds(words: Sequence[str]) -> tuple[str, ...]:
    """Names of kinds, each once, in the order of KINDS; words may hold several ("garden,sessions").

    Raises UnknownKind.
    """
    asked = [part.strip().lower() for word in words for part in word.split(",") if part.strip()]
    for name in asked:
        if name not in KINDS:
            raise UnknownKind(
                f'There is no calendar of "{printable(name)}"; there are {", ".join(KINDS)}.'
            )
    return tuple(name for name in KINDS if name in asked)
