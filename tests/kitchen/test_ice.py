"""Ice for the cooling bath, and hours until a pack is hard."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kitchen.foods import BEANS, PUREE, fig, kitchen, process

from harvestplan.kitchen.freezing_time import FreezingFood, pack_seconds
from harvestplan.kitchen.ice import MELT, PER_BLANCHED, PER_CHILLED, freezing_load, ice_grams
from harvestplan.kitchen.layout import TICK, lay_out
from harvestplan.kitchen.steps.chill import chill_seconds, stages, stir_seconds


def test_ice_is_that_of_the_heat_balance_and_a_fifth_more() -> None:
    """1.08 kg per kg from the boil, 1.0 per kg of purée (latent heat of ice 334 kJ/kg, IAPWS)."""
    assert ice_grams(1000, 0.9, 100, end=4) == pytest.approx(1000 * PER_BLANCHED * MELT, rel=0.01)
    assert ice_grams(1000, 0.9, 95, end=5) == pytest.approx(1000 * PER_CHILLED * MELT, rel=0.02)


@given(st.floats(1, 20_000), st.floats(0.5, 0.96), st.floats(10, 100))
def test_more_or_hotter_food_never_takes_less_ice(grams: float, water: float, hot: float) -> None:
    assert ice_grams(grams * 1.1, water, hot, end=4) >= ice_grams(grams, water, hot, end=4)
    assert ice_grams(grams, water, hot + 1, end=4) >= ice_grams(grams, water, hot, end=4)


def test_ice_burdens_the_freezer_more_than_food() -> None:
    """15 K of water, its freezing and 18 K of ice: 63 + 334 + 38 kJ (steam tables); a watery
    vegetable gives up about 360 from 5 °C."""
    assert freezing_load(1000) == pytest.approx(1000 * 435 / 360, rel=0.05)


def test_cooling_tasks_say_how_much_ice() -> None:
    made = process(BEANS, 340)
    tasks = [
        t
        for t in lay_out(made, 4000, 10, sitting="whole", freezer="freezer").tasks
        if t.step == "cool"
    ]
    assert tasks
    for task in tasks:
        assert task.settings["ice_g"] == pytest.approx(task.grams * 1.08 * 1.2, rel=0.01)


def test_a_cooler_boil_takes_less_ice() -> None:
    def ice(altitude: float) -> int:
        layout = lay_out(
            process(BEANS, 340, kitchen(altitude=altitude)), 4000, 10, sitting="whole", freezer=None
        )
        return sum(task.settings["ice_g"] for task in layout.tasks if task.step == "cool")

    assert ice(3000) < ice(0)


def test_chilling_tasks_say_how_much_ice() -> None:
    made = process(PUREE, 480, texture="puree", density=fig("1.03 kg/L"))
    chills = [
        t
        for t in lay_out(made, 4000, 5, sitting="whole", freezer="freezer").tasks
        if t.step == "chill"
    ]
    assert chills
    for task in chills:
        assert task.settings["ice_g"] == pytest.approx(task.grams * 1.0 * 1.2, rel=0.02)
        assert (task.settings["minutes"], task.settings["to_c"]) == (54, 5)
        assert 3187 <= task.seconds <= 54 * 60


def test_hot_food_is_stirred_down_and_then_every_ten_minutes() -> None:
    """Stirred in a pan 1 1/2 in deep: tau = 1030 · 3950 · 0.0381 / 300 = 517 s, so that 95 to 21.1
    °C (70 °F) over a bath of 0.5 °C takes 517 ln(94.5 / 20.6) = 787 s. Then nine minutes still and
    one stirred: a slab cooled from below keeps 1 - 2 sqrt(1.4e-7 · 540 / (pi 0.0381²)) = 0.742 of
    its 20.6 K over the bath (Carslaw & Jaeger, small times, from memory), a minute of stirring
    exp(-60 / 517) = 0.890 of that: 13.6, 9.0, 6.0 and 3.9 K after four turns, and 4.5 K (41 °F) is
    cold. In all 787 + 4 · 600 = 3187 s, of which 787 + 4 · 60 = 1027 s are stirring."""
    first, turns = stages(cooked=True)
    assert (round(first), turns) == (787, 4)
    assert round(chill_seconds(cooked=True)) == 3187
    assert round(stir_seconds(cooked=True)) == 1027
    made = process(PUREE, 480, texture="puree", density=fig("1.03 kg/L"))
    layout = lay_out(made, 4000, 5, sitting="whole", freezer="freezer")
    chills = {task.key: task for task in layout.tasks if task.step == "chill"}
    stirring = {task.key: task for task in layout.tasks if task.step == "stir"}
    assert len(stirring) == 5 * len(chills) > 0
    for chill in chills.values():
        first, *turned = (
            (x.lag, stirring[x.after]) for x in layout.links if x.at_start and x.before == chill.key
        )
        at, stir = first
        assert (at, stir.batch, stir.hands, chill.hands) == (0, chill.batch, 1, 0)
        assert 1027 <= stir.seconds < 1027 + TICK  # the hands of the turns as well
        assert stir.settings == {"stir_s": 787, "to_c": 21.1, "every_s": 600}
        for number, (at, turn) in enumerate(turned, start=1):
            assert 787 + number * 600 - 60 <= at < 787 + number * 600 - 60 + TICK
            assert (turn.seconds, turn.hands, turn.batch) == (60, 0, chill.batch)
            assert at + turn.seconds <= chill.seconds


def test_food_that_was_never_hot_wants_only_the_turns() -> None:
    """From 20 °C: 19.5 K over the bath keep 0.661 at each turn; 12.9, 8.5, 5.6, 3.7: four."""
    assert stages(cooked=False) == (0, 4)


def test_the_freezing_task_says_the_hours() -> None:
    made = process(BEANS, 340)
    freeze = [
        t for t in lay_out(made, 4000, 10, sitting="whole", freezer="x").tasks if t.step == "freeze"
    ]
    assert freeze[0].settings["hours"] == pytest.approx(made.freezing_hours(), abs=0.05)
    assert 4 < made.freezing_hours() < 12


def test_stacking_fresh_packs_gains_nothing() -> None:
    """One pack of 24 mm takes about 10 h in still air at -18 °C, two stacked about 20 h (Pham 1986
    with 7.5 W/(m² K), computed)."""
    food = FreezingFood.from_water(0.9)
    assert pack_seconds(0.024, food) / 3600 == pytest.approx(10, abs=1)
    assert pack_seconds(0.048, food) / 3600 == pytest.approx(20, abs=2)
    made = process(BEANS, 340)
    assert made.freezing_hours(packs=2) > 2 * made.freezing_hours()
