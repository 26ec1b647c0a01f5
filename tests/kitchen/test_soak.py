"""Soaking: in the session as long as the crop file says, or drained of what soaked before it."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest
from kitchen.foods import CHILL, TO_FREEZER, TRIM, WASH, kitchen, process, product, step

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.season_kitchen import Bath
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.layout import TaskSpec, lay_out
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.soaked import water_share
from harvestplan.kitchen.steps.all_steps import kind_of
from harvestplan.kitchen.steps.soak import SoakSettings, soaked_ahead
from harvestplan.plan.models import Task

BRINE = step("soak", time="30 min", water="2 L per kg", hands=0)
LONG = step("soak", time="8 h", water="4 L per kg", fixed="3 min", leaves=2.0)
COOK = step("simmer", time="1 h", water="2 L per kg", hands=0)


def brined(baths: tuple[Bath, ...] = (Bath(name="sink", volume="20 L"),)) -> Process:
    return process((WASH, BRINE, TRIM, *TO_FREEZER), 340, replace(kitchen(), baths=baths))


def soaked() -> Process:
    return process((LONG, COOK, CHILL, *TO_FREEZER), 340, kitchen())


def soak_task(made: Process, raw: int) -> TaskSpec:
    tasks = lay_out(made, raw, raw // made.raw_per_portion, sitting="whole", freezer="chest").tasks
    (found,) = (task for task in tasks if task.step == "soak")
    return found


def test_cooked_beans_hold_the_water_they_took_up() -> None:
    """Kidney beans, boiled: 66.9 % of water (USDA Standard Reference 16028, from memory); dry they
    have 12 %. What takes up nothing stays as it is."""
    crops = load_library().crops
    beans = crops["dry bean"]
    cooked = next(each for each in beans.products if each.form == "cooked")
    dry = next(each for each in beans.products if each.form == "sealed")
    assert water_share(beans, cooked) == pytest.approx(0.669, abs=0.03)
    assert water_share(beans, cooked, "soak") == water_share(beans, dry) == beans.water_share.value
    assert water_share(crops["snap bean"], crops["snap bean"].products[0]) == 0.9032


def test_a_short_soak_holds_a_basin_and_no_hands() -> None:
    found = soak_task(brined(), 3000)
    assert (found.seconds, found.hands, found.units) == (1800, 0, ("sink",))
    assert found.settings == {"minutes": 30.0, "water_ml": 6000}
    assert soaked_ahead(found) is None


@pytest.mark.parametrize(("raw", "goes"), [(6600, 1), (6700, 2), (13_400, 3)])
def test_more_than_a_basin_takes_soaks_in_several_goes(raw: int, goes: int) -> None:
    """3 L of basin to the kilogram: its water, and as much again as the food weighs."""
    found = soak_task(brined(), raw)
    assert found.seconds == 1800 * goes
    assert found.settings.get("goes", 1) == goes


def test_the_smallest_basin_sets_the_goes() -> None:
    two = (Bath(name="sink", volume="20 L"), Bath(name="tub", volume="5 L"))
    assert soak_task(brined(two), 3000).settings["goes"] == 2


def test_a_soak_of_hours_is_drained_in_the_session() -> None:
    found = soak_task(soaked(), 1000)
    assert (found.seconds, found.hands) == (180, 1)
    known = soaked_ahead(found)
    assert known is not None
    assert (known.minutes, known.water_ml) == (480.0, 4000)


def test_what_soaked_is_heavier() -> None:
    made = soaked()
    tasks = lay_out(made, 1000, 5, sitting="whole", freezer="chest").tasks
    assert sum(task.grams for task in tasks if task.step == "simmer") == 2000


def test_the_sheet_says_what_to_do_and_what_was_done() -> None:
    words = {
        "short": _words(SoakSettings(minutes=30.0, water_ml=6000)),
        "goes": _words(SoakSettings(minutes=30.0, water_ml=6000, goes=2)),
        "long": _words(SoakSettings(minutes=480.0, water_ml=4000, ahead="ahead")),
    }
    assert words["short"] == "Soak broccoli in sink in cold water, 6 L: 30 min"
    assert words["goes"] == "Soak broccoli in sink in cold water, 6 L, in 2 goes: 30 min each"
    assert words["long"] == (
        "Drain and rinse broccoli in sink, soaked since the evening before, at least 8 h"
    )


def _words(settings: SoakSettings) -> str:
    noon = dt.datetime(2027, 7, 1, 12, tzinfo=dt.UTC)
    task = Task(
        id="t", run="r", step="soak", batch=None, equipment=("sink",), hands=0, start=noon,
        end=noon, grams=3000, settings=settings.as_json(),
    )  # fmt: skip
    return kind_of("soak").words(task, "broccoli", "metric")


def test_soaking_wants_a_basin() -> None:
    with pytest.raises(CannotBeMade, match="to soak in"):
        brined(())


def test_it_soaks_whole_and_before_all_else() -> None:
    with pytest.raises(ValueError, match="soak comes before everything but wash"):
        product((WASH, TRIM, BRINE, *TO_FREEZER))
    with pytest.raises(ValueError, match="soak needs time and water"):
        product((WASH, step("soak", time="1 h"), TRIM, *TO_FREEZER))
