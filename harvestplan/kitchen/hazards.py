"""What a food may carry: by what its file declares, by its names, and by what is done to it.

Where class and names disagree, the stricter counts; where a file declares nothing, the strictest
holds. What is refused of it stands in `kitchen.refusals`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal

from harvestplan.inputs.crops import Crop, Product
from harvestplan.inputs.food_names import FoodKind, kinds_named
from harvestplan.inputs.hazard_classes import HAZARDS, Hazard
from harvestplan.kitchen.steps.all_steps import names_where
from harvestplan.kitchen.steps.blanch import Blanch
from harvestplan.kitchen.steps.dry import Dry
from harvestplan.kitchen.steps.freeze import Freeze
from harvestplan.kitchen.steps.portion import Portion
from harvestplan.kitchen.steps.seal import Seal
from harvestplan.kitchen.steps.simmer import Simmer
from harvestplan.kitchen.steps.store import Store

DAY = 86400.0
DRY_CROP = 0.15
"""Share of water below which a food is bought dry, as beans and grain are (planning value)."""
DRIED = 0.25
"""Most water in dried food: fruit keeps with about 20 %, vegetables with 10 % (from memory)."""

COOKED = names_where(lambda kind: kind.cooks)
HEAT = names_where(lambda kind: kind.heats)
FROZEN = names_where(lambda kind: kind.freezes)

UNDECLARED: Literal["undeclared"] = "undeclared"
FoodClass = Hazard | Literal["undeclared"]
DECLARE = (
    "its crop file declares no hazard class, so the strictest holds: it is sealed only frozen and "
    "for the freezer, is heated before it is dried, and counts as raw "
    f'meat; declare one in its file, like hazard = "other" (or {", ".join(HAZARDS[:-1])})'
)
FLESH: frozenset[FoodClass] = frozenset(
    {"raw meat", "raw ground meat", "raw poultry", "raw fish", "smoked fish"}
)
AIRLESS: frozenset[FoodClass] = frozenset({"raw mushroom", "raw onion kin", "sprouts"})
"""Not sealed raw; heating or drying makes them fit for it."""
_MILD: frozenset[FoodClass] = frozenset({"acid fruit", "dry food"})
_CLASS_OF: dict[FoodKind, Hazard] = {
    "meat": "raw meat",
    "ground meat": "raw ground meat",
    "poultry": "raw poultry",
    "fish": "raw fish",
    "shellfish": "raw fish",
    "smoked fish": "smoked fish",
    "mushroom": "raw mushroom",
    "onion kin": "raw onion kin",
    "soft cheese": "soft cheese",
    "sprouts": "sprouts",
}
_DRY_WORDS = re.compile(r"\b(dry|dried|powder(ed)?|flakes|granul\w+)\b")
_SOUPS = frozenset(
    {
        "soup", "soups", "stew", "stews", "broth", "stock", "chowder", "bisque", "goulash", "gravy",
        "curry", "casserole", "ragu", "ragù", "bolognese", "chili", "chilli", "dal", "dhal",
        "gumbo", "pottage",
    }
)  # fmt: skip


@dataclass(frozen=True)
class FridgeLimit:
    """How many days a food keeps in the refrigerator at most, and who says so."""

    days: int
    sources: tuple[str, ...]


_FRIDGE: dict[FoodClass, FridgeLimit] = {
    "raw ground meat": FridgeLimit(2, ("illinois-meat",)),
    "raw poultry": FridgeLimit(2, ("illinois-meat",)),
    "raw fish": FridgeLimit(2, ("illinois-meat",)),
    "raw meat": FridgeLimit(5, ("illinois-meat",)),
    "smoked fish": FridgeLimit(5, ("uaf-vacfish",)),
    "cooked low-acid": FridgeLimit(4, ("illinois-meat", "umn-leftovers")),
    "soft cheese": FridgeLimit(7, ("memory",)),
    "sprouts": FridgeLimit(2, ("memory",)),
    UNDECLARED: FridgeLimit(2, ("illinois-meat",)),
}
CHILLED = FridgeLimit(10, ("fsa-vp-2017", "clemson-vac"))
"""Chilled vacuum packs of all other food: a rule of the Food Standards Agency for businesses."""


def kinds_of(crop: Crop, product: Product) -> frozenset[FoodKind]:
    """The kinds of food that the crop's names and the product's form tell of."""
    return kinds_named((crop.name, *crop.also, product.form))


def classes_of(crop: Crop, product: Product) -> frozenset[FoodClass]:
    """The raw food's hazard classes: what its file declares, what its names tell, and raw meat
    where the product is packed as meat."""
    found: set[FoodClass] = {crop.hazard or UNDECLARED}
    found |= {_CLASS_OF[kind] for kind in kinds_of(crop, product) if kind in _CLASS_OF}
    found |= {product.hazard} if product.hazard else set()
    if product.texture == "meat" and not found & FLESH:
        found.add("raw meat")
    return frozenset(found)


def raw_days(crop: Crop) -> int | None:
    """Days that raw meat, poultry and fish wait in the refrigerator at most, by class and names;
    None for all other food, which keeps as its file says."""
    kinds = kinds_named((crop.name, *crop.also))
    classes = {crop.hazard, *(_CLASS_OF.get(kind) for kind in kinds)}
    return min((_FRIDGE[each].days for each in FLESH if each in classes), default=None)


def handles_raw_meat(crop: Crop, product: Product) -> bool:
    """Whether raw meat, poultry or fish is on the table while it is made; so is what may be any
    food, since its file declares nothing."""
    return bool(classes_of(crop, product) & {*FLESH, UNDECLARED})


def is_eaten_raw(crop: Crop, product: Product) -> bool:
    """Whether it comes to the table uncooked, so that nothing raw from animals may touch it."""
    return product.eaten_raw and not classes_of(crop, product) & FLESH


def allergens_of(crop: Crop, product: Product) -> tuple[str, ...]:
    """What labels and sheets name: the file's, and fish, shellfish and milk by name or class."""
    kinds, classes = kinds_of(crop, product), classes_of(crop, product)
    told = list(crop.allergens)
    told += ["shellfish"] if "shellfish" in kinds else []
    told += ["fish"] if kinds & {"fish", "smoked fish"} else []
    if classes & {"raw fish", "smoked fish"} and not {"fish", "shellfish"} & set(told):
        told.append("fish or shellfish")
    told += ["milk"] if "soft cheese" in classes else []
    return tuple(dict.fromkeys(told))


def is_reheated(crop: Crop, product: Product) -> bool:
    """Whether it is a soup, a stew or cooked meat, to be made hot again all through."""
    cooked = any(step.step in COOKED for step in product.steps)
    words = set(re.findall(r"\w+", product.form.lower()))
    return cooked and bool(words & _SOUPS or classes_of(crop, product) & FLESH)


def fridge_limit(crop: Crop, product: Product, done: Collection[str]) -> FridgeLimit:
    """How long it keeps in the refrigerator, when these steps came before it was packed.

    Cooking takes raw food's own limit away; whatever was heated and is not acid keeps as cooked
    food does.
    """
    classes = classes_of(crop, product)
    if set(COOKED) & set(done):
        classes -= {*FLESH, "sprouts"}
    if {*COOKED, *HEAT} & set(done) and classes_of(crop, product) - _MILD:
        classes |= {"cooked low-acid"}
    limits = [_FRIDGE.get(each, CHILLED) for each in sorted(classes)]
    return min(limits, key=lambda limit: limit.days, default=CHILLED)


def before_sealing(product: Product) -> list[str]:
    """Steps before the pouch is closed; all of them where no step says so."""
    names = [step.step for step in product.steps]
    ends = [names.index(name) for name in (Seal.name, Portion.name) if name in names]
    return names[: ends[0]] if ends else [n for n in names if n not in (Freeze.name, Store.name)]


def frozen_for_good(product: Product, done: Collection[str]) -> bool:
    """Whether these steps froze it and it stays frozen: in the refrigerator it would thaw in its
    bag."""
    return product.storage == "freezer" and bool(set(FROZEN) & set(done))


def is_dry(crop: Crop, product: Product) -> bool:
    """Bought dry, or dried until little water is left."""
    before = before_sealing(product)
    if is_bought_dry(crop, product):
        return not {Simmer.name, Blanch.name} & set(before)
    shares = [s.leaves.value for s in product.steps if s.step == Dry.name and s.leaves]
    if Dry.name not in before or not shares:
        return False
    return 1 - (1 - crop.water_share.value) / math.prod(shares) <= DRIED


def is_bought_dry(crop: Crop, product: Product) -> bool:
    """Declared dry, with little water, and not called as what is moist.

    Of garlic, onions and mushrooms the name itself must say that they are dry.
    """
    if crop.hazard != "dry food" or crop.water_share.value >= DRY_CROP:
        return False
    moist = set(classes_of(crop, product)) - {"dry food"}
    if _DRY_WORDS.search(" ".join((crop.name, *crop.also, product.form)).lower()):
        moist -= {"raw mushroom", "raw onion kin"}
    return not moist
