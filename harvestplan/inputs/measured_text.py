"""Words with lengths in them that follow the household's measures: "slices of {1/4 in}"."""

from __future__ import annotations

import re
from typing import Annotated

from pydantic import AfterValidator, Field

from harvestplan.inputs.quantities import read_quantity, show

_BRACED = re.compile(r"\{([^{}]*)\}")
_RANGE = re.compile(r"(.+?) to (.+)")


def in_measures(text: str, measures: str) -> str:
    """The text with every length in braces as a household reads it.

    Inches stay as they are written but for metric households: "{1 to 1 1/2 in}" is "2.5 to 3.8 cm".
    Raises QuantityError for braces that hold no length.
    """
    return _BRACED.sub(lambda found: _shown(found[1], measures), text)


def _shown(length: str, measures: str) -> str:
    ends = _RANGE.fullmatch(length)
    unit = length.rpartition(" ")[2]
    parts = [f"{ends[1]} {unit}", ends[2]] if ends else [length]
    metres = [read_quantity(part, "length", "US").value for part in parts]
    if measures != "metric":
        return length
    told = [_rounded(show(value, "length", measures)) for value in metres]
    units = {text.partition(" ")[2] for text in told}
    if len(told) == 2 and len(units) == 1:
        told[0] = told[0].partition(" ")[0]
    return " to ".join(told)


def _rounded(shown: str) -> str:
    """To two figures, whole millimetres."""
    number, _, unit = shown.partition(" ")
    return f"{float(number):.0f} {unit}" if unit == "mm" else f"{float(number):.2g} {unit}"


def _readable(text: str) -> str:
    if set("{}") & set(in_measures(text, "US")):
        raise ValueError("braces hold a length and are closed again, like {1/4 in}")
    return text


MeasuredText = Annotated[str, Field(min_length=2, max_length=120), AfterValidator(_readable)]
