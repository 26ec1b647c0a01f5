"""Pressure and boiling against CoolProp (IAPWS-95), an independent formulation."""

from __future__ import annotations

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from harvestplan.kitchen.water import (
    air_pressure,
    boiling_point,
    saturation_pressure,
    saturation_temperature,
)


@given(st.floats(1, 150))
def test_vapour_pressure_agrees_with_coolprop(celsius: float) -> None:
    expected = PropsSI("P", "T", celsius + 273.15, "Q", 0, "Water")
    assert saturation_pressure(celsius) == pytest.approx(expected, rel=3e-4)


@given(st.floats(700, 400_000))
def test_boiling_temperature_agrees_with_coolprop(pascals: float) -> None:
    expected = PropsSI("T", "P", pascals, "Q", 0, "Water") - 273.15
    assert saturation_temperature(pascals) == pytest.approx(expected, abs=0.005)


@given(st.floats(1, 150))
def test_pressure_and_temperature_are_inverse(celsius: float) -> None:
    assert saturation_temperature(saturation_pressure(celsius)) == pytest.approx(celsius, abs=1e-6)


@given(st.floats(-400, 6000), st.floats(1, 4000))
def test_water_boils_cooler_higher_up(low: float, climb: float) -> None:
    assert air_pressure(low + climb) < air_pressure(low)
    assert boiling_point(low + climb) < boiling_point(low)


def test_water_boils_a_little_under_100_degrees_at_sea_level() -> None:
    """99.974 °C at one standard atmosphere (IAPWS-95)."""
    assert boiling_point(0) == pytest.approx(99.974, abs=0.001)
