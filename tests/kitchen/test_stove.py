"""Pots that share a stove's power, and what is cooked whole in water."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kitchen.foods import CHILL, TO_FREEZER, TRIM, WASH, crop, fig, product, step

from harvestplan.inputs.crops import Piece, Step
from harvestplan.inputs.season import Season
from harvestplan.inputs.season_kitchen import Pot, Stove
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.layout import lay_out
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.pot import FILL, Blancher, blanchers, burner_watts, cooked_limit
from harvestplan.kitchen.process import Process

WATTS = st.floats(300, 6000)
PIECE = Piece.model_validate({"shape": "cylinder", "size": fig("15 mm")})


def pot(name: str, power: float, stove: str | None = "range") -> Pot:
    return Pot(name=name, volume="8 L", power=f"{power} W", stove=stove)


def stove(power: float) -> Stove:
    return Stove(name="range", power=f"{power} W")


def season(**tables: Any) -> Season:
    data: dict[str, Any] = {
        "household": {"name": "Mill Lane", "timezone": "Europe/London"},
        "season": {"start": "2027-04-01", "end": "2027-11-30"},
    }
    return Season.model_validate(data | tables, context={"measures": "US"})


def test_a_pot_alone_on_its_stove_has_its_burner() -> None:
    assert burner_watts([pot("a", 1800)], [stove(3600)]) == {"a": 1800}
    assert burner_watts([pot("a", 3200)], [stove(2000)]) == {"a": 2000}
    assert burner_watts([pot("a", 3200, None)], [stove(2000)]) == {"a": 3200}


def test_what_a_weak_burner_cannot_draw_goes_to_the_others() -> None:
    pots = [pot("big", 3200), pot("small", 1200), pot("plate", 2000, None)]
    assert burner_watts(pots, [stove(3600)]) == {"big": 2400, "small": 1200, "plate": 2000}
    assert burner_watts(pots, [stove(2000)]) == {"big": 1000, "small": 1000, "plate": 2000}


@given(st.lists(WATTS, min_size=1, max_size=5), st.floats(300, 12_000))
def test_pots_never_draw_more_than_the_stove_gives(burners: list[float], power: float) -> None:
    pots = [pot(f"p{i}", watts) for i, watts in enumerate(burners)]
    shares = burner_watts(pots, [stove(power)])
    total = sum(each.power for each in pots)
    assert sum(shares.values()) == pytest.approx(min(stove(power).power, total))
    assert all(0 < shares[each.name] <= each.power for each in pots)


@given(st.lists(WATTS, min_size=1, max_size=4), WATTS, st.floats(300, 12_000))
def test_another_pot_on_the_stove_gives_nobody_more(
    burners: list[float], more: float, power: float
) -> None:
    pots = [pot(f"p{i}", watts) for i, watts in enumerate(burners)]
    alone = burner_watts(pots, [stove(power)])
    crowded = burner_watts([*pots, pot("new", more)], [stove(power)])
    assert all(crowded[name] <= watts + 1e-9 for name, watts in alone.items())


@given(st.floats(800, 6000), st.floats(50, 3000), st.sampled_from([None, PIECE]))
def test_half_the_power_never_shortens_a_potful(
    watts: float, grams: float, piece: Piece | None
) -> None:
    def on(power: float) -> Blancher:
        return Blancher("pot", 6000, power, boil=100.0, own_batch=None, one_minute=False)

    strong, weak = on(watts), on(watts / 2)
    assert weak.return_seconds(grams, 0.9, piece) >= strong.return_seconds(grams, 0.9, piece)
    assert weak.one_minute_grams(0.9, piece) <= strong.one_minute_grams(0.9, piece)
    assert weak.heat_up_seconds() >= strong.heat_up_seconds()
    cook = Step.model_validate(BEETS[1])
    assert weak.cook_up_seconds(cook, grams, 0.9) >= strong.cook_up_seconds(cook, grams, 0.9)


def test_the_kitchen_plans_with_each_pot_s_share() -> None:
    tables: dict[str, Any] = {
        "pot": [{"name": n, "volume": "8 L", "power": "3 kW", "stove": "range"} for n in "ab"],
        "stove": [{"name": "range", "power": "3.6 kW"}],
    }
    for shared in Kitchen.from_season(season(**tables)).pots:
        alone = Blancher.from_pot(Pot(name="x", volume="8 L", power="1.8 kW"), 0)
        assert shared.heat_up_seconds() == pytest.approx(alone.heat_up_seconds())
        assert shared.return_seconds(500, 0.9, None) == alone.return_seconds(500, 0.9, None)


def test_a_pot_that_never_boils_is_not_planned_with() -> None:
    """A gas burner of 350 W brings 140 W into the pot, less than the lid loses."""
    weak = {"name": "weak", "volume": "8 L", "power": "350 W", "kind": "gas"}
    where = Kitchen.from_season(season(pot=[weak]))
    assert blanchers(season(pot=[weak])) == where.pots == ()
    assert where.pot_volumes == {}


# Food cooked whole in water

BEETS = (
    WASH,
    step("simmer", time="45 min", water="3 qt per lb", leaves=1.0, hands=0),
    step("cool", fixed="20 min", hands=0),
    TRIM,
    *TO_FREEZER,
)
PULP = (WASH, step("simmer", time="20 min", leaves=0.8, hands=0), CHILL, *TO_FREEZER)


def cooked(chain: tuple[dict[str, Any], ...], **keys: Any) -> Process:
    tables = {
        "pot": [{"name": "pot", "volume": "16 L", "power": "3.5 kW"}],
        "bath": [{"name": "sink", "volume": "60 L"}],
        "sealer": {"kind": "chamber", "bar": "12 in"},
        "pouch": [{"name": "quart", "width": "8 in", "length": "12 in", "film": "3 mil"}],
        "freezer": [{"name": "chest", "volume": "200 L"}],
    }
    item = product(chain, **keys)
    return make_process(Kitchen.from_season(season(**tables)), crop(item), item, portion_grams=300)


def test_whole_beets_leave_room_for_their_water() -> None:
    """Three quarts to the pound (University of Illinois, vegetables for freezer storage): a 16 L
    pot filled to three quarters holds 12 L of food and water, 7.26 L of it to the kg."""
    litres_per_kg = 1 + 3 * 0.946352946 / 0.45359237
    assert cooked(BEETS).batch_limit == int(12_000 / litres_per_kg)


def test_food_in_its_own_juice_fills_three_quarters() -> None:
    """Head space for what boils up: common practice, no source."""
    made = cooked(PULP, texture="puree", density=fig("1 kg/L"))
    assert made.batch_limit == FILL * 16_000


@pytest.mark.parametrize(("leaves", "share"), [(0.8, 1.0), (1.0, 1.0), (2.5, 2.5)])
def test_food_that_takes_up_water_must_fit_at_the_end(leaves: float, share: float) -> None:
    stock = {"item": "stock", "amount": fig(f"{max(0.0, leaves - 1)} kg per kg")}
    soup = Step.model_validate(step("simmer", time="1 h", leaves=leaves, ingredients=[stock]))
    assert cooked_limit(10_000, soup) == pytest.approx(FILL * 10_000 / share)


def test_cooking_waits_for_the_boil() -> None:
    """1 kg of beets and 6.26 kg of water from 15 to 100 °C at 2475 W net: 15 to 16 min."""
    made = cooked(BEETS)
    (task,) = (
        t
        for t in lay_out(made, 1000, 2, sitting="whole", freezer="chest").tasks
        if t.step == "simmer"
    )
    heat = (1.0 * 3.95 + 6.26 * 4.19) * 85 / 2.475
    assert task.settings["heat_s"] == pytest.approx(heat, rel=0.01)
    assert 0 <= task.seconds - 45 * 60 - task.settings["heat_s"] < 30
    assert task.settings["water_ml"] == pytest.approx(6259, abs=2)


@given(st.floats(100, 8000), st.floats(1.0, 2.0))
def test_more_food_never_boils_sooner(grams: float, factor: float) -> None:
    made = Blancher("pot", 6000, 2000.0, boil=100.0, own_batch=None, one_minute=False)
    cook = Step.model_validate(BEETS[1])
    assert made.cook_up_seconds(cook, grams * factor, 0.9) >= made.cook_up_seconds(cook, grams, 0.9)
