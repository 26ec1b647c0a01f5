"""Pressure and boiling against CoolProp (IAPWS-95), an independent formulation."""

from __future__ import annotations

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from harvestplan.kitchen.water import (
    air_pressure,
    boiling_point,
    saturation_temperature,
)


@given(st.floats(700, 400_000))
def test_boiling_temperature_agrees_with_coolprop(pascals: float) -> None:
    expected = PropsSI("T", "P", pascals, "Q", 0, "Water") - 273.15
    assert saturation_temperature(pascals) == pytest.approx(expected, abs=0.005)


@given(st.floats(-400, 6000), st.floats(1, 4000))
def test_water_boils_cooler_higher_up(low: float, climb: float) -> None:
    assert air_pressure(low + climb) < air_pressure(low)
    assert boiling_point(low + climb) < boiling_point(low)


def test_water_boils_a_little_under_100_degrees_at_sea_level() -> None:
    """99.974 °C at one standard atmosphere (IAPWS-95)."""
    assert boiling_point(0) == pytest.approx(99.974, abs=0.001)
