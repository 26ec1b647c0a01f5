"""What toil is worth to a household, in portions: as it writes it in its season file."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Annotated, Any

from pydantic import BeforeValidator

from harvestplan.inputs.quantities import QuantityError

HINT = 'Write it like "2 portions", "1/2 portion" or "0 portions".'
_WRITTEN = re.compile(
    r"(?:(\d{1,3}(?:\.\d{1,3})?)|(?:(\d{1,2}) )?(\d{1,2})/(\d{1,2})) ?(?:portions?)?"
)
MOST = 100.0
"""More than anybody puts by on an evening."""


def portions_worth(text: object) -> float:
    """Reads "2 portions", "1 1/2 portions", "0.5 portion"; raises QuantityError."""
    found = _WRITTEN.fullmatch(" ".join(text.lower().split())) if isinstance(text, str) else None
    if found is None:
        raise QuantityError("this is not a number of portions.", HINT)
    if found[1]:
        worth = float(found[1])
    elif int(found[4]) == 0:
        raise QuantityError("this divides by zero.", HINT)
    else:
        worth = float(int(found[2] or 0) + Fraction(int(found[3]), int(found[4])))
    if not 0 <= worth <= MOST or not math.isfinite(worth):
        raise QuantityError(f"{worth:g} portions is out of range.", f"At most {MOST:g} portions.")
    return worth


def _read(value: Any) -> float:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return portions_worth(f"{value:g}")  # a bare number has one meaning here
    return portions_worth(value)


PortionsWorth = Annotated[float, BeforeValidator(_read)]
