"""The chamber's pump, its settings, and food too warm for it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kitchen.foods import BEANS, pouch, product, sealer

from harvestplan.kitchen import vacuum
from harvestplan.kitchen.sealing import CHILL_LIMIT, cycles, seal_seconds, settings_for

LITRE = 1000.0
PER_HOUR = 1e6 / 3600
"""One m³/h in mL/s."""
BAG = pouch("pint", 6, 10)


@pytest.mark.parametrize("litres, speed, seconds", [(12, 4, 52), (12, 8, 26), (20, 16, 22)])
def test_household_chambers_take_half_a_minute(litres: float, speed: float, seconds: float) -> None:
    """1013 to 10 mbar with a pump that reaches 2 mbar, computed apart from the program."""
    found = vacuum.pump_down_seconds(
        litres * LITRE, speed * PER_HOUR, 101_300, vacuum.END_PRESSURE, vacuum.LOWEST_PRESSURE
    )
    assert found == pytest.approx(seconds, abs=0.6)


@given(st.floats(300, 50_000), st.floats(1.1, 2))
def test_deeper_and_larger_take_longer(end: float, factor: float) -> None:
    base = vacuum.pump_down_seconds(12e3, 2e3, 101_325, end, 200)
    assert vacuum.pump_down_seconds(12e3, 2e3, 101_325, 200 + (end - 200) / factor, 200) > base
    assert vacuum.pump_down_seconds(12e3 * factor, 2e3, 101_325, end, 200) > base
    assert vacuum.pump_down_seconds(12e3, 2e3 * factor, 101_325, end, 200) < base
    assert vacuum.pump_down_seconds(12e3, 2e3, 101_325, end) <= base


def test_a_pump_does_not_pass_its_lowest_pressure() -> None:
    with pytest.raises(ValueError, match="cannot"):
        vacuum.pump_down_seconds(12e3, 2e3, 101_325, 150, 200)
    with pytest.raises(ValueError, match="cannot"):
        vacuum.pump_down_seconds(12e3, 2e3, 1000, 2000)


@pytest.mark.parametrize(
    "millibar, celsius", [(15, 13.0), (20, 17.5), (30, 24.1), (50, 32.9), (100, 45.8)]
)
def test_food_boils_in_the_chamber(millibar: float, celsius: float) -> None:
    """IAPWS saturation curve, values from CoolProp 8."""
    assert vacuum.boils_above(millibar * 100) == pytest.approx(celsius, abs=0.06)


@pytest.mark.parametrize(
    "celsius, moist, verdict",
    [(3, True, "fine"), (5, True, "fine"), (5.1, True, "warn"), (10, True, "warn"),
     (10.1, True, "refuse"), (60, True, "refuse"), (25, False, "fine")],
)  # fmt: skip
def test_warm_moist_food_is_refused(celsius: float, moist: bool, verdict: str) -> None:
    assert vacuum.judge_temperature(celsius, moist) == verdict


def test_the_limits_stand_around_the_boiling_point() -> None:
    assert CHILL_LIMIT < vacuum.boils_above() < vacuum.REFUSE_ABOVE


def test_cold_food_loses_no_steam() -> None:
    assert vacuum.boiled_off(4100, 5, 7) == 0


def test_an_airy_puree_wants_a_shorter_pump_down_than_a_soup() -> None:
    """Common practice, no source."""
    puree = settings_for(product(BEANS, texture="puree", foams=True), BAG)
    soup = settings_for(product(BEANS, texture="liquid"), BAG)
    pieces = settings_for(product(BEANS), BAG)
    assert puree.pump_down < soup.pump_down < pieces.pump_down
    assert "foams" in puree.note


def test_thicker_film_seals_longer() -> None:
    """Two seconds at 3 mil (from memory)."""
    mil = 25.4e-6
    assert seal_seconds(3 * mil) == pytest.approx(2.0)
    assert seal_seconds(3 * mil) < seal_seconds(4 * mil) < seal_seconds(5 * mil)
    # Between the ends of what machines are set to, 1.5 and 3.5 s (from memory).
    assert [seal_seconds(n * mil) for n in (1, 2, 5, 6, 12)] == pytest.approx(
        [1.5, 1.5, 3, 3.5, 3.5]
    )


def test_a_cycle_is_machine_time_and_handling() -> None:
    cycle = settings_for(product(BEANS), BAG)
    machine = sealer(handling="15 s")
    assert cycle.seconds(machine, 2) - cycle.machine_seconds() == pytest.approx(30)
    assert cycle.machine_seconds() > cycle.pump_down + cycle.seal


@given(st.integers(1, 200), st.integers(1, 4))
def test_cycles_are_the_fewest_that_hold_all(pouches: int, per_cycle: int) -> None:
    count = cycles(pouches, per_cycle)
    assert count * per_cycle >= pouches > (count - 1) * per_cycle


def test_eight_bags_two_at_a_time_are_four_cycles() -> None:
    """Eight one-pound bags of dry beans on a 12-inch bar (common practice, no source)."""
    assert cycles(8, 2) == 4
    assert cycles(8, 1) == 8
