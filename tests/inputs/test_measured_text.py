"""Lengths in words follow the household's measures: an inch is 25.4 mm (NIST Handbook 44)."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from harvestplan.inputs.measured_text import MeasuredText, in_measures


@pytest.mark.parametrize(
    ("text", "metric"),
    [
        ("slices of {1/4 in}", "slices of 6 mm"),
        ("cubes of {1/2 in}", "cubes of 1.3 cm"),
        ("pieces of {1 to 1 1/2 in}", "pieces of 2.5 to 3.8 cm"),
        ("rings of {1/4 to 1/2 in}", "rings of 6 mm to 1.3 cm"),
        ("ears under {1 1/4 in} less, over {1 1/2 in} more",
         "ears under 3.2 cm less, over 3.8 cm more"),
        ("halves", "halves"),
    ],
)  # fmt: skip
def test_inches_stay_but_for_metric_households(text: str, metric: str) -> None:
    plain = text.replace("{", "").replace("}", "")
    assert (in_measures(text, "US"), in_measures(text, "UK")) == (plain, plain)
    assert in_measures(text, "metric") == metric


@pytest.mark.parametrize("wrong", ["{one} in", "{5 lb}", "{1 in", "1 in}", "{}", "{1 to 2}", "x"])
def test_braces_hold_a_length(wrong: str) -> None:
    with pytest.raises(ValidationError):
        TypeAdapter(MeasuredText).validate_python(wrong)
