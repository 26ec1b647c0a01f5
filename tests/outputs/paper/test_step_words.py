"""What hands do and add, ice, hours in the freezer and drying in the words of the run sheet."""

from __future__ import annotations

from typing import Any

import pytest
from outputs.written_plans import (
    BEFORE,
    figure,
    make_crop,
    make_library,
    make_plan,
    make_product,
    make_run,
    make_season,
    make_task,
    plan_data,
)

from harvestplan.inputs.crops import Library
from harvestplan.outputs.paper.step_words import task_cautions, task_words

ZONE = "America/Denver"


def words(
    step: str,
    settings: dict[str, Any],
    measures: str = "metric",
    library: Library | None = None,
    **keys: Any,
) -> str:
    data = plan_data()
    task = make_task(
        ZONE,
        BEFORE,
        "19:10",
        end="19:20",
        step=step,
        run="r1",
        grams=1000,
        settings=settings,
        **keys,
    )
    data["sessions"][0]["tasks"].append(task)
    session = make_plan(data=data).sessions[0]
    season = make_season(measures=measures)
    shelf = library or make_library()
    return task_words(session.tasks[-1], session, season, library=shelf)


def test_cooling_says_how_much_ice() -> None:
    assert words("cool", {"cool_s": 180, "ice_g": 1300}, equipment=["sink"]) == (
        "Cool 1 kg snap beans in ice water in sink: 3 min, stirring; takes 1.5 kg of ice."
    )


def test_chilling_says_how_much_ice() -> None:
    said = words("chill", {"minutes": 40, "to_c": 5.0, "ice_g": 1200})
    assert said == (
        "Chill 1 kg snap beans in shallow pans, 4 cm deep, in ice water down to 5 °C by the "
        "thermometer, about 40 min; takes 1.5 kg of ice."
    )


def test_stirring_says_how_long_at_first_and_how_often_then() -> None:
    said = words("stir", {"stir_s": 780, "to_c": 21.1, "every_s": 600})
    assert said == (
        "Stir 1 kg snap beans in the pans without a stop until the thermometer says 21 °C (about "
        "13 min); from then on a minute every 10 min, until it is cold."
    )
    cold = words("stir", {"stir_s": None, "to_c": None, "every_s": 600})
    assert cold.startswith("Stir 1 kg snap beans in the pans; from then on a minute every 10 min")


def test_a_pot_is_filled_where_it_stands_and_emptied_of_what_it_held() -> None:
    assert words("fill", {"water_ml": 6000}, equipment=["pot"]) == (
        "Fill pot with 6 L of water, by the jug."
    )
    assert words("empty", {"held": "water"}, equipment=["pot"]) == (
        "Empty pot with a jug where it stands, burner off; wipe it out."
    )
    assert words("empty", {"held": "food"}, equipment=["pot"]) == (
        "Lift or ladle 1 kg snap beans out of pot, and wash the pot."
    )


def test_freezing_says_the_hours() -> None:
    said = words("freeze", {"freezer": "chest", "pouches": 3, "hours": 8.6})
    assert said.endswith("flat in chest, one layer, 2.5 cm apart, until hard: about 9 h.")


def test_drying_says_what_comes_after() -> None:
    said = words("dry", {"hours": 12.0, "area_cm2": 4000, "conditioning_days": 7})
    assert said.startswith("Lay 1 kg snap beans on the trays in one layer")
    assert "dries for about 12 h, then cools" in said
    assert "7 days or more loose in closed jars" in said


@pytest.mark.parametrize(
    ("settings", "told"),
    [
        ({}, "Trim and cut 1 kg snap beans."),
        ({"verb": "core"}, "Core 1 kg snap beans."),
        ({"verb": "put … through a food mill"}, "Put 1 kg snap beans through a food mill."),
        ({"verb": "top, tail and cut", "size": "pieces of {1 to 1 1/2 in}"},
         "Top, tail and cut 1 kg snap beans: pieces of 2.5 to 3.8 cm."),
        ({"verb": "hull", "mixed": "sort by size"}, "Hull 1 kg snap beans; sort by size."),
    ],
)  # fmt: skip
def test_hands_are_told_what_they_do(settings: dict[str, Any], told: str) -> None:
    assert words("trim", settings) == told


def test_inches_stay_inches() -> None:
    said = words("trim", {"verb": "slice", "size": "slices of {1/4 in}"}, measures="US")
    assert said == "Slice 2 1/4 lb snap beans: slices of 1/4 in."


def test_blanching_says_what_to_do_with_other_sizes() -> None:
    said = words("blanch", {"blanch_s": 180, "mixed": "thin ones a minute less"})
    assert said == "Blanch 1 kg snap beans: 3 min; thin ones a minute less."


def test_heating_short_of_the_boil_names_its_temperature() -> None:
    said = words("simmer", {"minutes": 1.0, "heat_s": 900, "to_c": 71.1}, measures="US")
    assert said == (
        "Heat 2 1/4 lb snap beans to 160 °F (stir it, then read the thermometer): 1 min from when "
        "it is that hot (that takes about 15 min)."
    )


def test_the_form_is_named_where_a_session_makes_two_of_a_crop() -> None:
    data = plan_data()
    data["sessions"][0]["runs"].append(make_run("r9", "snap bean, dried", {}, pouches=1))
    data["sessions"][0]["tasks"].append(
        make_task(ZONE, BEFORE, "19:10", end="19:20", step="wash", run="r1", grams=1000)
    )
    session = make_plan(data=data).sessions[0]
    said = task_words(session.tasks[-1], session, make_season(), library=make_library())
    assert said == "Wash 2 1/4 lb snap beans for snap beans, cut."


def shelf() -> Library:
    """Salt of 6 g to the teaspoon, and a purpose for it in the crop file."""
    use = {
        "item": "salt",
        "amount": figure("4 g per kg"),
        "use": "to drive out insects",
        "density": figure("6 g per tsp"),
    }
    steps = [{"step": "wash", "ingredients": [use]}, {"step": "seal"}, {"step": "freeze"}]
    bean = make_crop("snap bean", make_product("cut", steps=steps))
    return make_library(bean)


@pytest.mark.parametrize(
    ("grams", "measures", "told"),
    [
        (24, "US", "4 tsp of salt"),
        (48, "US", "2 3/4 tbsp of salt"),
        (12, "US", "2 tsp of salt"),
        (5, "US", "3/4 tsp of salt"),
        (1, "US", "1/4 tsp of salt"),
        (72, "US", "1/4 cup of salt"),
        (600, "US", "2 cups of salt"),
        (24, "UK", "4 tsp of salt"),
        (24, "metric", "25 g of salt"),
    ],
)
def test_what_is_added_is_measured_as_the_household_measures(
    grams: int, measures: str, told: str
) -> None:
    """A US cup has 16 tablespoons or 48 teaspoons."""
    salt = [{"item": "salt", "grams": grams}]
    said = words("wash", {}, measures=measures, library=shelf(), ingredients=salt)
    assert said.endswith(f"; add {told} (to drive out insects).")


def test_what_stands_on_no_shelf_is_weighed() -> None:
    honey = [{"item": "honey", "grams": 200}, {"item": "salt", "grams": 12}]
    said = words("wash", {}, measures="US", library=shelf(), ingredients=honey)
    assert "; add 7 oz of honey and 2 tsp of salt (to drive out insects)." in said


def test_dry_food_needs_no_cold_for_the_chamber() -> None:
    """It would draw water in the refrigerator."""
    data = plan_data()
    data["sessions"][0]["tasks"].append(
        make_task(ZONE, BEFORE, "19:10", end="19:20", step="seal", run="r1", grams=1000)
    )
    session = make_plan(data=data).sessions[0]
    # Of 0.9 water a ninth is left: 0.1 of it dry in 0.11, a tenth of water.
    dried = {"step": "dry", "leaves": figure(0.11)}
    for before, cold in (([], True), ([dried], False)):
        product = make_product("cut")
        product["steps"][2:2] = before
        bean = make_crop("snap bean", product)
        told = task_cautions(session.tasks[-1], session, make_season(), library=make_library(bean))
        assert any("Only cold food" in caution for caution in told) == cold
