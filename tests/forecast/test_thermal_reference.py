"""Degree-days beside an open reference library: the two readings of McMaster & Wilhelm (1997).

aquacrop (MIT; the open implementation of FAO's AquaCrop) calls them methods 1 and 2.
"""

from __future__ import annotations

import numpy as np
import pytest
from aquacrop.solution.growing_degree_day import growing_degree_day
from hypothesis import given
from hypothesis import strategies as st

from harvestplan.forecast.thermal import degree_days
from harvestplan.inputs.growing import ThermalMethod

DEGREES = st.floats(-25, 45, allow_nan=False)


@pytest.mark.parametrize(("method", "number"), [("mw1", 1), ("mw2", 2)])
@given(low=DEGREES, spread=st.floats(0, 25), base=st.floats(0, 15), width=st.floats(5, 30))
def test_degree_days_equal_the_reference_library(
    method: ThermalMethod, number: int, low: float, spread: float, base: float, width: float
) -> None:
    high, upper = low + spread, base + width
    ours = degree_days(np.array([low]), np.array([high]), base, upper=upper, method=method)[0]
    assert ours == pytest.approx(growing_degree_day(number, upper, base, high, low), abs=1e-9)
