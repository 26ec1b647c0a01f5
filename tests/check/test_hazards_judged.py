"""The judge finds what is unsafe in a food by its own logic, with the kitchen's refusals silenced.

Each case spoils the small sound plan: its beans become another food (by the name, by what the file
declares, by where and how long it is kept), and tasks are left out or become others. The days are
those of Illinois and Minnesota extensions (raw ground meat, poultry, fish 1 to 2, whole meat 3 to
5, cooked food 3 to 4), of the University of Alaska Fairbanks (sealed smoked fish 5) and of the Food
Standards Agency (other chilled packs 10); 160 °F and 165 °F before drying are the USDA's.
"""

from __future__ import annotations

import copy
import datetime as dt
from dataclasses import dataclass
from typing import Any

import pytest
from check.small_season import LIBRARY, SEASON, WINDOWS, fig
from check.spoilt_plan import SOUND, Data, run, session
from each_case import each

from harvestplan.check import check_plan
from harvestplan.household import Household
from harvestplan.inputs.crops import Crop, Library
from harvestplan.plan.models import Plan

BEANS = LIBRARY.crops["snap bean"]
UNSAID = "undeclared"


@dataclass(frozen=True)
class Food:
    """What the beans become. `steps` maps steps of their tasks to others; "" leaves them out."""

    name: str
    said: str
    hazard: str | None = "other"
    form: str = "cut"
    storage: str = "freezer"
    days: float = 60
    high: float | None = None
    texture: str = "pieces"
    water: float = 0.9
    steps: tuple[tuple[str, str], ...] = ()
    waits: int = 0

    def crop(self) -> Crop:
        """The crop file, not judged by any kitchen."""
        product: dict[str, Any] = {
            **BEANS.products[0].model_dump(),
            "form": self.form,
            "storage": self.storage,
            "texture": self.texture,
            "keeps": fig(f"{self.days} days"),
        }
        product["keeps"] |= {"high": f"{self.high} days"} if self.high else {}
        product["density"], product["steps"] = BEANS.products[0].density, BEANS.products[0].steps
        return BEANS.model_copy(
            update={
                "name": self.name,
                "hazard": None if self.hazard == UNSAID else self.hazard,
                "water_share": BEANS.water_share.model_copy(update={"value": self.water}),
                "refused": (),
                "products": (type(BEANS.products[0]).model_validate(product),),
            }
        )

    def plan(self) -> Data:
        """The small plan with this food in the place of the beans."""
        data = copy.deepcopy(SOUND)
        run(data, "r-beans")["product"] = f"{self.name}, {self.form}"
        changed = dict(self.steps)
        first = session(data, "u1")
        for task in first["tasks"]:
            if task["run"] == "r-beans":
                task["step"] = changed.get(task["step"], task["step"])
        first["tasks"] = [task for task in first["tasks"] if task["step"]]
        for lot in data["lots"]:
            if self.waits and lot["id"].startswith("bean"):
                lot["ready"] = first["start"].date() - dt.timedelta(days=self.waits)
        return data


RAW = (("blanch", ""), ("cool", ""))
DRIED = (("blanch", "dry"), ("cool", ""))
SEALED_RAW = "before it is blanched or frozen"
UNFROZEN = "is sealed before it is frozen"
GAS = "gives off gas"
UNHEATED = "dried before it is heated"
FOUND = [
    *(Food(name, SEALED_RAW, steps=RAW) for name in (
        "garlic", "banana shallots", "ramps", "garlic chives", "leeks", "shiitake",
        "oyster mushrooms", "dried-looking morels", "king trumpets", "bean sprouts",
        "alfalfa sprouts")),
    Food("wood fruit", SEALED_RAW, hazard="raw mushroom", steps=RAW),
    Food("white bulb", SEALED_RAW, hazard="raw onion kin", steps=RAW),
    Food("green threads", SEALED_RAW, hazard="sprouts", steps=RAW),
    Food("winter store", SEALED_RAW, form="peeled garlic", steps=RAW),
    *(Food(name, UNFROZEN, steps=RAW) for name in ("brie", "ricotta", "goat's cheese")),
    Food("camembert", UNFROZEN),
    Food("white rounds", UNFROZEN, hazard="soft cheese"),
    Food("mystery", UNFROZEN, hazard=UNSAID),
    *(Food(name, GAS, steps=RAW) for name in ("cavolo nero", "romanesco", "daikon")),
    *(Food(name, "2 are the most", storage="fridge", days=3, steps=RAW) for name in (
        "raw mince", "ground turkey", "chicken", "lake trout", "prawns", "pork sausage",
        "lamb's liver")),
    Food("catch of the day", "2 are the most", hazard="raw fish", storage="fridge", days=3,
         steps=RAW),
    Food("venison", "2 are the most", hazard="raw poultry", storage="fridge", days=3, steps=RAW),
    Food("beef brisket", "5 are the most", storage="fridge", days=6, steps=RAW),
    Food("Sunday joint", "5 are the most", storage="fridge", days=6, texture="meat", steps=RAW),
    Food("smoked trout", "5 are the most", storage="fridge", days=6, steps=RAW),
    Food("gravlax", "5 are the most", storage="fridge", days=10, steps=RAW),
    Food("blanched bean", "4 are the most", storage="fridge", days=5),
    Food("beef stew", "4 are the most", storage="fridge", days=5, steps=(("blanch", "simmer"),)),
    Food("carrot", "10 are the most", storage="fridge", days=11, steps=RAW),
    Food("parsnip", "10 are the most", storage="fridge", days=9, high=12, steps=RAW),
    Food("plum", "10 are the most", hazard="acid fruit", storage="fridge", days=30),
    Food("mystery", "2 are the most", hazard=UNSAID, storage="fridge", days=3),
    Food("carrot", "stored unfrozen", storage="shelf"),
    Food("carrot", "stored unfrozen", hazard="dry food", storage="shelf"),
    Food("raw mince", "stored unfrozen", hazard="dry food", water=0.1, storage="shelf", steps=RAW),
    Food("shiitake", "stored unfrozen", hazard="dry food", water=0.1, storage="shelf"),
    Food("mystery", "stored unfrozen", hazard=UNSAID, water=0.1, storage="shelf"),
    *(Food(name, UNHEATED, steps=DRIED) for name in ("beef", "turkey breast", "salmon")),
    Food("strips", UNHEATED, texture="meat", steps=DRIED),
    Food("mystery", UNHEATED, hazard=UNSAID, steps=DRIED),
    Food("pepper", "under oil", form="in oil", storage="fridge", days=5),
    Food("garlic", "under oil", form="confit", storage="shelf"),
    Food("snap bean", "canning wants", form="canned, whole"),
    Food("tomato", "canning wants", form="jarred"),
    Food("minced meat", "has waited 3 days", waits=3, steps=RAW),
    Food("rainbow trout", "has waited 4 days", waits=4, steps=RAW),
    *(Food(name, SEALED_RAW, storage="fridge", days=2,
           steps=(("blanch", "tray freeze"), ("cool", ""))) for name in ("garlic", "morels")),
    Food("mystery", "declares no hazard class", hazard=UNSAID),
]  # fmt: skip
SOUND_FOODS = [
    Food("snap bean", ""),
    Food("raw mince", "", storage="fridge", days=2, steps=RAW),
    Food("beef brisket", "", storage="fridge", days=5, steps=RAW),
    Food("beef stew", "", storage="fridge", days=4, steps=(("blanch", "simmer"),)),
    Food("blanched bean", "", storage="fridge", days=4),
    Food("carrot", "", storage="fridge", days=10, steps=RAW),
    Food("garlic", "", steps=(("blanch", "tray freeze"), ("cool", ""))),
    Food("garlic", ""),
    Food("brie", "", steps=(("blanch", "tray freeze"), ("cool", ""))),
    Food("beef", "", steps=(("blanch", "simmer"), ("cool", "dry"))),
    Food("lentil", "", hazard="dry food", water=0.1, storage="shelf", steps=RAW),
    Food("onion powder", "", hazard="dry food", water=0.05, storage="shelf", steps=RAW),
    Food("pepper", "", form="in oil", storage="fridge", days=4),
    Food("oyster plant", "", storage="fridge", days=9, steps=RAW),
    Food("minced meat", "", waits=2, steps=RAW),
    Food("plum", "", waits=9, hazard="acid fruit", steps=RAW),
]


@pytest.fixture(autouse=True)
def _silent_kitchen(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is learnt of the kitchen's refusals, nor of chains that are not chilled."""
    monkeypatch.setattr("harvestplan.check.safety.judge", lambda product, crop, **ways: None)
    monkeypatch.setattr("harvestplan.check.safety._warm", lambda sitting, before: ())


def safety(food: Food) -> list[str]:
    crops = {**LIBRARY.crops, food.name: food.crop()}
    library = Library(crops=crops, sources=LIBRARY.sources)
    plan = Plan.model_validate(food.plan())
    found = check_plan(plan, Household(SEASON, library, tuple(WINDOWS)))
    return [finding.message for finding in found if finding.code == "V13"]


def told(food: Food) -> str:
    return f"{food.name}, {food.form}: {food.said}"


@each("food", FOUND, told)
def test_each_is_found(food: Food) -> None:
    assert any(food.said in message for message in safety(food)), safety(food)


@each("food", SOUND_FOODS, told)
def test_what_is_sound_is_not(food: Food) -> None:
    assert safety(food) == []


def test_there_are_enough() -> None:
    assert len(FOUND) >= 40
    assert len({food.said for food in FOUND}) >= 12


@pytest.mark.parametrize("name", ["canned beans", "pickled eggs at room temperature"])
def test_a_product_that_no_library_knows_gets_its_reason(name: str) -> None:
    data = copy.deepcopy(SOUND)
    run(data, "r-beans")["product"] = name
    found = check_plan(Plan.model_validate(data), Household(SEASON, LIBRARY, tuple(WINDOWS)))
    said = [finding.message for finding in found if finding.code == "V13"]
    assert any("botul" in message for message in said)


def test_it_is_the_tasks_that_are_judged_not_the_chain() -> None:
    """Sealed an hour before it is frozen, though the file's chain freezes it first."""
    sound = Food("garlic", "", steps=(("blanch", "tray freeze"), ("cool", "")))
    assert safety(sound) == []
    late = sound.plan()
    for task in session(late, "u1")["tasks"]:
        if task["step"] == "tray freeze":
            for edge in ("start", "end"):
                task[edge] += dt.timedelta(hours=5)
    library = Library(crops={**LIBRARY.crops, "garlic": sound.crop()}, sources=LIBRARY.sources)
    found = check_plan(Plan.model_validate(late), Household(SEASON, library, tuple(WINDOWS)))
    assert any(SEALED_RAW in finding.message for finding in found)
