"""A formula asked beyond the range in which it holds refuses, and says so."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from types import ModuleType

import pytest
from each_case import each

from harvestplan.kitchen import (
    boxes,
    freezing_capacity,
    freezing_time,
    heat,
    ice,
    pot,
    pouches,
    sealing,
    steaming,
    water,
)

FOOD = freezing_time.FreezingFood.from_water(0.9)


@pytest.mark.parametrize(
    "asked",
    [
        lambda: water.air_pressure(-500),
        lambda: water.air_pressure(12_000),
        lambda: water.saturation_temperature(500),
        lambda: water.saturation_temperature(23e6),
        lambda: heat.specific_heat(1.2),
        lambda: heat.heat_taken_up("slab", 0, 60),
        lambda: heat.ice_per_mass(0.9, 100, -1, ice_temperature=0),
        lambda: heat.ice_per_mass(0.9, 4, 20, ice_temperature=0),
        lambda: heat.ice_per_mass(0.9, 100, 4, ice_temperature=5),
        lambda: heat.stirred_cooling_seconds(0.05, 95, 0.5, bath=0.5),
        lambda: FOOD.heat_to_freeze(-5, -18),
        lambda: freezing_time.pham_seconds("slab", 0.02, FOOD, air=-12, surface=7.5, start=5),
        lambda: freezing_time.pham_seconds("slab", 0.02, FOOD, air=-60, surface=7.5, start=5),
        lambda: freezing_time.pham_seconds("slab", 0.02, FOOD, air=-18, surface=7.5, start=95),
    ],
)
def test_out_of_range_is_refused(asked: Callable[[], float]) -> None:
    with pytest.raises(ValueError, match=r"."):
        asked()


UNITS = (
    "Pa", "°C", "K", "J", "W", "mL", "kg", " g", "m²", "mm", " m ", " s ", "Seconds", "m³", "Share",
    "Closings", "Pouches", "pot", "Hours",
)  # fmt: skip
RESTS_ON = (
    "IAPWS", "Atmosphere", "Chen", "Carslaw", "balance", "textbook", "ASHRAE", "Plank", "Pham",
    "Cleland", "series", "Robin", "derivation", "practice", "from memory", "NCHFP", "nchfp",
    "USDA", "vacuum technology", "P t = m c", "t = m c", "sum(m c)", "usu-veg", "own", "computed",
    "planning value", "geometry", "flat_volume", "rounded up", "shared evenly",
)  # fmt: skip


MODULES = (
    boxes,
    freezing_capacity,
    freezing_time,
    heat,
    ice,
    pot,
    pouches,
    sealing,
    steaming,
    water,
)


def formulas(module: ModuleType) -> list[Callable[..., object]]:
    """Public functions of the module that give a number."""
    found = inspect.getmembers(module, inspect.isfunction)
    return [
        function
        for name, function in found
        if function.__module__ == module.__name__
        and not name.startswith("_")
        and function.__annotations__.get("return") in ("float", "int")
    ]


@each(
    "formula",
    [formula for module in MODULES for formula in formulas(module) if formula is not pot.leaves],
    lambda formula: f"{formula.__module__.rpartition('.')[2]}.{formula.__name__}",
)
def test_every_formula_says_its_unit_and_what_it_rests_on(formula: Callable[..., object]) -> None:
    text = formula.__doc__ or ""
    assert any(unit in text for unit in UNITS), text
    assert any(word in text for word in RESTS_ON), text
