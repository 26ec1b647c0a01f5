"""What toil is worth to a household, in portions: as it writes it in its season file."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Annotated

from pydantic import BeforeValidator

from harvestplan.inputs.quantities import QuantityError, plain_fractions

HINT = 'Write it like "2 portions", "1/2 portion" or "0 portions".'
_WRITTEN = re.compile(
    r"(?:(\d{1,3}(?:\.\d{1,3})?)|(?:(\d{1,2}) )?(\d{1,2})/(\d{1,2})) ?(?:portions?)?"
)
_LONGEST = 40
MOST = 100.0
"""More than anybody puts by on an evening."""


def portions_worth(written: object) -> float:
    """Reads "2 portions", "1 1/2 portions", "½ portion", 0.5 (a bare number has one meaning here);
    raises QuantityError."""
    if isinstance(written, int | float) and not isinstance(written, bool):
        worth = float(written)
    else:
        worth = _in_words(written)
    if not 0 <= worth <= MOST:
        raise QuantityError(f"{worth:g} portions is out of range.", f"From 0 to {MOST:g} portions.")
    return worth


def _in_words(text: object) -> float:
    if not isinstance(text, str) or len(text) > _LONGEST:
        raise QuantityError("this is not a number of portions.", HINT)
    found = _WRITTEN.fullmatch(" ".join(plain_fractions(text).lower().split()))
    if found is None:
        raise QuantityError("this is not a number of portions.", HINT)
    if found[1]:
        return float(found[1])
    if int(found[4]) == 0:
        raise QuantityError("this divides by zero.", HINT)
    return float(int(found[2] or 0) + Fraction(int(found[3]), int(found[4])))


PortionsWorth = Annotated[float, BeforeValidator(portions_worth)]
