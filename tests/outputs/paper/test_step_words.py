"""Ice, hours in the freezer and drying in the words of the run sheet."""

from __future__ import annotations

from typing import Any

from outputs.written_plans import BEFORE, make_library, make_plan, make_season, make_task, plan_data

from harvestplan.outputs.paper.step_words import task_words

ZONE = "America/Denver"


def words(step: str, settings: dict[str, Any], **keys: Any) -> str:
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
    season = make_season(measures="metric")
    return task_words(session.tasks[-1], session, season, library=make_library())


def test_cooling_says_how_much_ice() -> None:
    assert words("cool", {"cool_s": 180, "ice_g": 1300}, equipment=["sink"]) == (
        "Cool snap bean (1 kg) in ice water in sink: 3 min, stirring; takes 1.3 kg of ice."
    )


def test_chilling_says_how_much_ice() -> None:
    said = words("chill", {"minutes": 40, "to_c": 5.0, "ice_g": 1200})
    assert said.endswith("stirring down to 5 °C, about 40 min; takes 1.2 kg of ice.")


def test_freezing_says_the_hours() -> None:
    said = words("freeze", {"freezer": "chest", "pouches": 3, "hours": 8.6})
    assert said.endswith("flat in chest, one layer, 2.5 cm apart, until hard: about 9 h.")


def test_drying_says_what_comes_after() -> None:
    said = words("dry", {"hours": 12.0, "area_cm2": 4000, "conditioning_days": 7})
    assert said.startswith("Lay snap bean (1 kg) on the trays in one layer")
    assert "dries for about 12 h, then cools" in said
    assert "7 days or more loose in closed jars" in said
