"""What soaks is judged: how long it soaks, in how much water and salt, and that it was put to
soak."""

from __future__ import annotations

import copy
import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from check.small_season import (
    LIBRARY,
    SEASON,
    TO_FREEZER,
    WINDOWS,
    Evening,
    fig,
    make_crop,
    plan_data,
    step,
)
from check.spoilt_plan import Data, task

from harvestplan.check import check_plan
from harvestplan.household import Household
from harvestplan.inputs.crops import Crop, Library, Step
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.make_process import make_process
from harvestplan.plan.models import Plan

SALT = [{"item": "salt", "amount": fig("6 g per L")}]
BRINED = [
    step("wash", fixed="3 min"),
    step("soak", time="30 min", water="2 L per kg", hands=0, ingredients=SALT),
    step("trim", per_kg="15 min per kg", leaves=0.9),
    *TO_FREEZER,
]
LONG = [
    step("soak", time="8 h", water="4 L per kg", fixed="3 min", leaves=2.0),
    step("trim", per_kg="5 min per kg"),
    *TO_FREEZER,
]


def crop_of(steps: list[dict[str, Any]], name: str) -> Crop:
    made = make_crop("snap bean")
    chain = tuple(Step.model_validate(each) for each in steps)
    product = made.products[0].model_copy(update={"form": "soaked", "steps": chain})
    return made.model_copy(update={"name": name, "products": (product,)})


SOAKED = Library(
    crops={
        **LIBRARY.crops,
        "floret": crop_of(BRINED, "floret"),
        "pulse": crop_of(LONG, "pulse"),
    },
    sources=LIBRARY.sources,
)


def soaking() -> Data:
    """The small season with an evening on which 4 kg soak in brine, and 1 kg has soaked."""
    data = copy.deepcopy(plan_data(SEASON, LIBRARY))
    kitchen = Kitchen.from_season(SEASON)
    evening = Evening(dt.date(2027, 7, 26), "u4", SEASON, kitchen=kitchen, several=True)
    for name, raw in (("floret", 4000), ("pulse", 1000)):
        crop = SOAKED.crops[name]
        process = make_process(kitchen, crop, crop.products[0], 300)
        pouches = raw // process.raw_per_portion
        evening.make(process, f"r-{name}", {f"{name}-1": raw}, raw, pouches)
    data["sessions"].append(evening.finish())
    return data


def said_of_soaking(data: Data) -> list[str]:
    household = Household(SEASON, SOAKED, tuple(WINDOWS))
    findings = check_plan(Plan.model_validate(data), household)
    return [f"{f.code} {f.message}" for f in findings if "soak" in f.message.partition(": ")[2]]


def test_what_soaks_as_it_should_is_not_spoken_of() -> None:
    assert said_of_soaking(soaking()) == []


SPOILT: dict[str, tuple[str, Callable[[Data], Any]]] = {
    "cut short": ("V5", lambda d: shorten(d, "r-floret/1.soak", 60)),
    "in too little water": (
        "V5", lambda d: task(d, "r-floret/1.soak")["settings"].update(water_ml=7000)),
    "for another time": (
        "V5", lambda d: task(d, "r-floret/1.soak")["settings"].update(minutes=20.0)),
    "without salt": ("V20", lambda d: task(d, "r-floret/1.soak").update(ingredients=[])),
    "with half the salt": (
        "V20", lambda d: task(d, "r-floret/1.soak")["ingredients"][0].update(grams=24)),
    "as if it need not soak before": (
        "V5", lambda d: task(d, "r-pulse/0.soak")["settings"].pop("ahead")),
    "drained in no time": ("V5", lambda d: shorten(d, "r-pulse/0.soak", 60)),
    "not at all": ("V4", lambda d: drop(d, "r-pulse/0.soak")),
    "in a pot": ("V2", lambda d: task(d, "r-floret/1.soak").update(equipment=["kettle"])),
}  # fmt: skip


def shorten(data: Data, name: str, seconds: int) -> None:
    task(data, name)["end"] -= dt.timedelta(seconds=seconds)


def drop(data: Data, name: str) -> None:
    for each in data["sessions"]:
        each["tasks"] = [t for t in each["tasks"] if t["id"] != name]


@pytest.mark.parametrize("what", SPOILT)
def test_a_soak_that_is_spoilt_is_found(what: str) -> None:
    code, spoil = SPOILT[what]
    data = soaking()
    spoil(data)
    assert any(said.startswith(f"{code} ") for said in said_of_soaking(data)), what


def test_the_salt_is_that_of_its_water() -> None:
    """4 kg in 2 L to the kilogram: 8 L, 6 g of salt to each."""
    added = task(soaking(), "r-floret/1.soak")["ingredients"]
    assert added == [{"item": "salt", "grams": 48}]
