"""Pots filled, heated and emptied for what is blanched in them."""

from __future__ import annotations

import pytest
from each_case import each

from harvestplan.inputs.season_kitchen import Pot
from harvestplan.kitchen.fillings import fillings
from harvestplan.kitchen.layout import TaskSpec
from harvestplan.kitchen.pot import Blancher


def potful(number: int, steam: bool = False) -> TaskSpec:
    settings = {"over": "steam"} if steam else {}
    return TaskSpec(f"b{number}", "blanch", number, 180, 0, ("pot",), 1000, settings)


def cooking() -> TaskSpec:
    return TaskSpec("stew", "simmer", 1, 3600, 0, ("pot", "other"), 1000)


POT = Blancher.from_pot(Pot(name="pot", volume="16 L", power="3 kW", basket="600 cm2"), 0.0)


@each(
    ("in_water", "over_steam", "cooked", "count"),
    [
        (0, 0, 1, 0),
        (1, 0, 0, 1),
        (3, 0, 0, 1),
        (4, 0, 0, 2),
        (7, 0, 0, 3),
        (1, 0, 1, 1),
        (2, 0, 1, 2),
        (4, 0, 1, 3),
        (3, 1, 0, 2),
        (4, 2, 1, 5),
    ],
)
def test_as_many_fillings_as_may_be_wanted(
    in_water: int, over_steam: int, cooked: int, count: int
) -> None:
    """Water serves three potfuls (KSU MF1181), steam is apart; one more of each may be wanted where
    something is cooked between two potfuls, never more than there are potfuls."""
    tasks = [potful(n) for n in range(in_water)]
    tasks += [potful(in_water + n, steam=True) for n in range(over_steam)]
    tasks += [cooking()] * cooked
    found = fillings(POT, tasks)
    assert len(found) == count
    assert [each.number for each in found] == list(range(1, count + 1))
    assert [each.steam for each in found] == sorted(each.steam for each in found)


def test_as_often_as_the_session_was_planned_with() -> None:
    assert len(fillings(POT, [potful(1)], at_least=3)) == 3
    assert fillings(POT, [], at_least=3) == []


def test_a_filling_takes_the_jug_and_the_burner_their_time() -> None:
    """Three quarters of 16 L: 12 L at 4 L a minute (own judgement) are three minutes with hands,
    in and out. 12 kg of water by 85 K at 4.19 kJ/(kg K) are 4.27 MJ; the electric burner gives
    0.75 · 3000 - 150 = 2100 W: 2035 s, with nobody at it."""
    (found,) = fillings(POT, [potful(1)])
    assert found.tasks == (found.fill, found.heat, found.empty)
    assert [(t.step, t.seconds, t.hands) for t in (found.fill, found.empty)] == [
        ("fill", 180, 1),
        ("empty", 180, 1),
    ]
    assert found.heat.hands == 0
    assert found.heat.seconds == pytest.approx(4.19e3 * 12 * 85 / 2100, rel=0.02)
    assert {task.units for task in found.tasks} == {("pot",)}
    assert found.fill.settings == {"water_ml": 12_000} and found.empty.settings == {"held": "water"}


def test_steam_wants_less_water() -> None:
    water, steam = fillings(POT, [potful(1), potful(2, steam=True)])
    assert steam.fill.settings["water_ml"] == round(POT.steam_water) < 12_000
    assert steam.heat.seconds < water.heat.seconds


def test_hot_tap_water_boils_sooner() -> None:
    """From 49 °C (120 °F) instead of 15: 51 K of 85."""
    hot = Blancher.from_pot(Pot(name="pot", volume="16 L", power="3 kW", tap="hot"), 0.0)
    assert hot.heat_up_seconds() / POT.heat_up_seconds() == pytest.approx(51 / 85, rel=0.01)
