"""Hazard classes by name and by file: a hundred names, what they may not become, what is told.

Days in the refrigerator are those printed by Illinois and Minnesota extensions and the University
of Alaska Fairbanks; heat before drying is the USDA's. That a name is a food's is common knowledge,
no source.
"""

from __future__ import annotations

from typing import Any

import pytest
from each_case import each
from kitchen.foods import TO_FREEZER, TRAYS, TRIM, WASH, blanch, crop, fig, product, step

from harvestplan.inputs.crops import Crop, Product
from harvestplan.inputs.food_names import kinds_named
from harvestplan.inputs.hazard_classes import HAZARDS, MILD, Hazard, stricter
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.hazards import (
    FLESH,
    allergens_of,
    classes_of,
    fridge_limit,
    handles_raw_meat,
    is_bought_dry,
    is_eaten_raw,
    is_reheated,
    raw_days,
)
from harvestplan.kitchen.refusals import judge

LIBRARY = load_library()
SHIPPED = [(c, p) for c in LIBRARY.crops.values() for p in c.products]
SEALED = (step("portion", per_kg="3 min per kg"), step("seal"))
CHILLED = (*SEALED, step("store"))
RAW = (WASH, TRIM, *TO_FREEZER)
SIMMER, CHILL = step("simmer", time="20 min", hands=0), step("chill", hands=0)
COOL = step("cool", ratio=1.0, hands=0)
DRY = step(
    "dry", per_kg="10 min per kg", time="8 h", tray_load="3 kg/m2", leaves=0.12,
    pause_least="9 h", pause_limit="21 days",
)  # fmt: skip

NAMES: dict[Hazard, str] = {
    "raw ground meat": "mince, raw mince, ground beef, minced lamb, hamburger, beef burgers, "
    "meatballs, pork sausages, chorizo, ground turkey, chicken livers, kidneys, tripe, hot dogs",
    "raw meat": "beef, steaks, pork chops, leg of lamb, mutton, veal, venison, rabbit, wild boar, "
    "goat, brisket, ham, bacon, elk, beef jerky, ox cheek",
    "raw poultry": "chicken, Chicken Thighs, turkey breast, duck legs, goose, pheasants, quail, "
    "guinea fowl, pigeon",
    "raw fish": "salmon, rainbow trout, cod loin, haddock, tuna, mackerel, sardines, anchovies, "
    "sea bass, walleye, perch fillets, catfish, pike, eel, fish roe, shellfish, shrimps, prawns, "
    "lobster tail, crab, crayfish, mussels, clams, oysters, scallops, squid",
    "smoked fish": "smoked trout, smoked salmon, hot-smoked mackerel, kippers, lox, gravlax, "
    "salt cod, cured salmon",
    "raw mushroom": "mushrooms, shiitake, Shiitake caps, portobello, cremini, oyster mushrooms, "
    "king oysters, enoki, maitake, hen-of-the-woods, chicken of the woods, lion's mane, porcini, "
    "ceps, chanterelles, morels, black trumpets, puffball, shimeji, champignons, wood ears",
    "raw onion kin": "garlic, elephant garlic, wild garlic, onions, spring onions, shallots, "
    "leeks, chives, ramps, ramsons, scallions, garlic scapes, cipollini",
    "soft cheese": "brie, Camembert, ricotta, cream cheese, cottage cheese, quark, mozzarella, "
    "feta, goat's cheese, chèvre, mascarpone, queso fresco, paneer, gorgonzola",
    "sprouts": "bean sprouts, beansprouts, alfalfa sprouts, mung bean sprouts, broccoli sprouts",
}
NAMED = [(name.strip(), hazard) for hazard, names in NAMES.items() for name in names.split(",")]
HARMLESS = (
    "kidney beans", "crab apple", "oyster plant", "fish pepper", "pigeon peas", "lamb's lettuce",
    "fat hen", "goat's beard", "onion squash", "trout beans", "coconut meat", "gooseberry",
    "beefsteak tomato", "chard", "char-grilled peppers", "bonion seed", "horseradish", "hamlet",
    "codling", "brussels sprouts", "purple sprouting broccoli", "chickpea", "duck potato",
    "turkey fig", "bean curd", "quail eggs", "porkless", "groundnut", "ground cherry", "solely",
)  # fmt: skip
DAYS: dict[str, int] = {
    "raw ground meat": 2, "raw poultry": 2, "raw fish": 2, "raw meat": 5, "smoked fish": 5,
    "cooked low-acid": 4, "soft cheese": 7, "sprouts": 2, "acid fruit": 10, "other": 10,
}  # fmt: skip


def food(name: str, steps: Any = RAW, hazard: str | None = "other", **keys: Any) -> Any:
    """(product, crop) as `judge` takes them."""
    made = product(steps, **keys)
    return made, crop(made, name=name, hazard=hazard)


def chilled(days: float, **keys: Any) -> dict[str, Any]:
    return {"storage": "fridge", "keeps": fig(f"{days} days"), **keys}


def test_there_are_a_hundred_names() -> None:
    assert len({name for name, _ in NAMED}) >= 100


@each(("name", "hazard"), NAMED, lambda name, hazard: name)
def test_the_name_tells_the_class_whatever_the_file_says(name: str, hazard: str) -> None:
    made, of = food(name, hazard="dry food")
    assert hazard in classes_of(of, made)
    hidden = food("winter store", form=f"with {name}")
    assert hazard in classes_of(hidden[1], hidden[0])
    renamed = food("winter store")[1].model_copy(update={"also": (name,)})
    assert hazard in classes_of(renamed, made)


@each(("name", "hazard"), NAMED, lambda name, hazard: name)
def test_ten_days_in_the_fridge_are_refused_to_each(name: str, hazard: str) -> None:
    """The first case of the note: raw mince, "sealed for the fridge, 10 days"."""
    for declared in ("other", "acid fruit", "dry food", None):
        form = "sealed for the fridge, 10 days"
        said = judge(*food(name, CHILLED, declared, form=form, **chilled(10)))
        assert said is not None
        assert "refused for safety" in said


@each("name", HARMLESS)
def test_other_words_hide_nothing(name: str) -> None:
    assert kinds_named((name,)) <= {"cabbage kin"}


@each(
    "name",
    [n for n, hazard in NAMED if hazard in ("raw mushroom", "raw onion kin", "soft cheese",
                                            "sprouts")],
)  # fmt: skip
def test_what_grows_without_air_is_not_sealed_raw(name: str) -> None:
    """The second case of the note: raw shiitake for the freezer."""
    assert "not sealed before it is frozen" in (judge(*food(name)) or "")
    assert judge(*food(name, (WASH, TRIM, TRAYS,
                              *TO_FREEZER))) is None  # fmt: skip


def test_smoked_trout_is_limited_to_what_its_source_allows() -> None:
    """The third case of the note; 5 days below 38 °F, University of Alaska Fairbanks."""
    for days, refused in ((10, True), (6, True), (5, False)):
        said = judge(*food("smoked trout", CHILLED, "smoked fish", **chilled(days)))
        assert (said is not None) == refused
    shelf = food("smoked trout", CHILLED, "smoked fish", storage="shelf", texture="dry")
    assert "room temperature" in (judge(*shelf) or "")


@each("hazard", DAYS)
def test_days_in_the_refrigerator_are_those_of_the_sources(hazard: str) -> None:
    made, of = food("a thing", CHILLED, hazard)
    limit = fridge_limit(of, made, [])
    assert limit.days == DAYS[hazard]
    assert set(limit.sources) <= set(LIBRARY.sources)
    refused = judge(*food("a thing", CHILLED, hazard, **chilled(DAYS[hazard])))
    assert (refused is not None) == (hazard in ("soft cheese", "sprouts"))
    if refused is None:
        later = food("a thing", CHILLED, hazard, **chilled(DAYS[hazard] + 1))
        assert "at most" in (judge(*later) or "")


@pytest.mark.parametrize("name", ["garlic", "shiitake", "brie", "bean sprouts"])
def test_what_was_frozen_does_not_thaw_in_its_bag(name: str) -> None:
    """Sealed frozen, then kept in the refrigerator: no air, and no frost any more."""
    steps = (TRIM, TRAYS)
    assert judge(*food(name, (*steps, *TO_FREEZER))) is None
    assert "keep it frozen" in (judge(*food(name, (*steps, *CHILLED), **chilled(2))) or "")


def test_the_longest_of_a_range_counts() -> None:
    keeps = {"storage": "fridge", "keeps": fig("2 days") | {"high": "4 days"}}
    assert "2 days" in (judge(*food("mince", CHILLED, "raw ground meat", **keeps)) or "")


def test_cooking_makes_four_days_of_two() -> None:
    cooked = (SIMMER, CHILL, *CHILLED)
    assert judge(*food("mince", cooked, "raw ground meat", texture="meat", **chilled(4))) is None
    assert "4 days" in (
        judge(*food("mince", cooked, "raw ground meat", texture="meat", **chilled(5))) or ""
    )
    # A short blanching does not cook meat through.
    dipped = (blanch(), COOL, *CHILLED)
    assert "2 days" in (judge(*food("mince", dipped, "raw ground meat", **chilled(3))) or "")


def test_where_class_and_name_disagree_the_stricter_counts() -> None:
    assert "2 days" in (judge(*food("chicken", CHILLED, "raw meat", **chilled(5))) or "")
    assert "2 days" in (judge(*food("venison", CHILLED, "raw poultry", **chilled(5))) or "")
    assert "2 days" in (judge(*food("smoked trout", CHILLED, "raw fish", **chilled(5))) or "")
    assert "5 days" in (judge(*food("roast", CHILLED, **chilled(6, texture="meat"))) or "")


def test_a_product_may_add_a_class_and_take_none() -> None:
    assert "2 days" in (judge(*food("bean", CHILLED, **chilled(5, hazard="raw poultry"))) or "")
    assert "2 days" in (judge(*food("mince", CHILLED, **chilled(5, hazard="acid fruit"))) or "")


# Without a class


@pytest.mark.parametrize(
    ("steps", "keys", "why"),
    [
        (RAW, {}, "not sealed before it is frozen"),
        ((TRIM, TRAYS, *CHILLED), chilled(1), "keep it frozen"),
        ((TRIM, DRY, *CHILLED), {"storage": "shelf", "texture": "dry"}, "frozen"),
    ],
)
def test_undeclared_food_is_under_the_strictest_and_told_the_way_out(
    steps: Any, keys: dict[str, Any], why: str
) -> None:
    said = judge(*food("mystery", steps, None, **keys)) or ""
    assert why in said
    assert "declares no hazard class" in said
    assert 'hazard = "other"' in said
    for hazard in HAZARDS:
        assert hazard in said


def test_undeclared_food_may_be_frozen_first() -> None:
    steps = (TRIM, TRAYS, *TO_FREEZER)
    assert judge(*food("mystery", steps, None)) is None


def test_undeclared_food_counts_as_raw_meat_and_not_as_eaten() -> None:
    made, of = food("mystery", hazard=None)
    assert handles_raw_meat(of, made)


# Dried meat


@pytest.mark.parametrize("name", ["beef", "turkey breast", "salmon", "venison mince"])
def test_meat_is_heated_before_it_is_dried(name: str) -> None:
    """USDA: 160 °F, poultry 165 °F, before the dehydrator, and no later heat makes up for it."""
    shelf = {"storage": "shelf", "texture": "dry", "keeps": fig("30 days")}
    said = judge(*food(name, (TRIM, DRY, *CHILLED), **shelf)) or ""
    assert "160 °F" in said and "165 °F" in said
    assert judge(*food(name, (TRIM, SIMMER, DRY, *CHILLED), **shelf)) is None
    roast = step("roast", time="30 min", hands=0)
    assert judge(*food(name, (TRIM, roast, DRY, *CHILLED), **shelf)) is None
    assert "160 °F" in (judge(*food(name, (TRIM, blanch(), DRY, *CHILLED), **shelf)) or "")
    assert "160 °F" in (judge(*food(name, (TRIM, DRY, *TO_FREEZER))) or "")


# Dry food


@pytest.mark.parametrize(
    ("name", "water", "hazard", "dry"),
    [
        ("lentil", 0.1, "dry food", True),
        ("kidney beans", 0.1, "dry food", True),
        ("garlic powder", 0.05, "dry food", True),
        ("dried shiitake", 0.1, "dry food", True),
        ("garlic", 0.05, "dry food", False),
        ("mince", 0.1, "dry food", False),
        ("dried beef", 0.1, "dry food", False),
        ("lentil", 0.1, "other", False),
        ("lentil", 0.1, None, False),
        ("lentil", 0.7, "dry food", False),
    ],
)
def test_dry_is_what_is_declared_so_has_little_water_and_no_other_name(
    name: str, water: float, hazard: str | None, dry: bool
) -> None:
    made = product(CHILLED, storage="shelf", texture="dry")
    of = crop(made, name=name, water=water, hazard=hazard)
    assert is_bought_dry(of, made) == dry
    assert (judge(made, of) is None) == dry


def test_dry_food_need_not_be_chilled_before_it_is_sealed() -> None:
    toasted = (step("roast", time="15 min", hands=0), *CHILLED)
    made = product(toasted, storage="shelf", texture="dry")
    assert judge(made, crop(made, name="sunflower seed", water=0.05, hazard="dry food")) is None
    assert "warm food" in (judge(made, crop(made, name="beet", water=0.88)) or "")


# The library


@each(("of", "item"), SHIPPED, lambda of, item: f"{of.name}, {item.form}")
def test_every_crop_of_the_library_declares_its_class_and_its_names_bear_it_out(
    of: Crop, item: Product
) -> None:
    assert of.hazard is not None
    if of.hazard not in MILD:
        nameless = of.model_copy(update={"hazard": "other"})
        plain = item.model_copy(update={"texture": "pieces"})
        assert of.hazard in classes_of(nameless, plain)


def test_raw_meat_poultry_and_fish_of_the_library() -> None:
    handled = {of.name for of, item in SHIPPED if handles_raw_meat(of, item)}
    assert handled == {"beef cut", "chicken piece", "fish fillet", "minced meat", "shrimp"}
    waits = {of.name: raw_days(of) for of, _ in SHIPPED if raw_days(of) is not None}
    assert waits == {
        "beef cut": 5, "chicken piece": 2, "fish fillet": 2, "minced meat": 2, "shrimp": 2,
    }  # fmt: skip


def test_what_comes_to_the_table_raw() -> None:
    made, of = food("strawberry", hazard="acid fruit", eaten_raw=True)
    assert is_eaten_raw(of, made)
    assert not is_eaten_raw(*reversed(food("strawberry")))
    assert not is_eaten_raw(*reversed(food("tuna", eaten_raw=True)))


@pytest.mark.parametrize(
    ("name", "hazard", "told"),
    [("tiger prawns", "raw fish", ("shellfish",)), ("smoked trout", "smoked fish", ("fish",)),
     ("catch of the day", "raw fish", ("fish or shellfish",)), ("feta", "soft cheese", ("milk",)),
     ("carrot", "other", ())],
)  # fmt: skip
def test_allergens_by_name_and_class(name: str, hazard: str, told: tuple[str, ...]) -> None:
    assert allergens_of(*reversed(food(name, hazard=hazard))) == told


def test_allergens_of_the_file_come_first() -> None:
    made, of = food("celery and prawn mix")
    of = of.model_copy(update={"allergens": ("celery", "shellfish")})
    assert allergens_of(of, made) == ("celery", "shellfish")


def test_soups_and_cooked_meat_are_reheated() -> None:
    told = {f"{of.name}, {item.form}" for of, item in SHIPPED if is_reheated(of, item)}
    assert told == {"dry pea, soup", "tomato, soup", "winter squash, soup"}
    stew = food("mince", (SIMMER, CHILL, *TO_FREEZER), form="in gravy")
    assert is_reheated(stew[1], stew[0])
    assert not is_reheated(*reversed(food("mince")))


def test_of_two_mild_classes_the_stricter_is_kept() -> None:
    assert stricter("acid fruit", "other") == "other"
    assert stricter("dry food", "acid fruit") == "acid fruit"
    assert stricter("other", "raw fish") == "raw fish"
    assert stricter("raw fish", "other") == "raw fish"
    assert stricter(None, "raw fish") == "raw fish"
    assert stricter("sprouts", None) == "sprouts"
    assert FLESH & set(HAZARDS) == FLESH
