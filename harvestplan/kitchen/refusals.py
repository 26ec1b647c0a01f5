"""Chains that are unsafe in a sealed pouch, whatever a crop file says.

A vacuum pack takes the air from what would spoil food in plain sight and leaves the ground to
Clostridium botulinum, which needs none and gives no sign. Each refusal says why and names entries
of ``crops/sources.toml``; local food-safety authorities have the last word.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from harvestplan.inputs.crops import Crop, Product
from harvestplan.kitchen.steps.all_steps import names_where
from harvestplan.kitchen.steps.blanch import Blanch
from harvestplan.kitchen.steps.chill import Chill
from harvestplan.kitchen.steps.cool import Cool
from harvestplan.kitchen.steps.dry import Dry
from harvestplan.kitchen.steps.freeze import Freeze
from harvestplan.kitchen.steps.portion import Portion
from harvestplan.kitchen.steps.puree import Puree
from harvestplan.kitchen.steps.seal import Seal
from harvestplan.kitchen.steps.simmer import Simmer
from harvestplan.kitchen.steps.store import Store

DAY = 86400.0
CHILLED_LIMIT = 10 * DAY
"""Chilled vacuum packs without further hurdles (Food Standards Agency, fsa-vp-2017)."""
OIL_LIMIT = 4 * DAY
"""Garlic in oil at 40 °F or below (NCHFP, nchfp-garlicoil-2015)."""
DRY_CROP = 0.15
"""Share of water below which a food is bought dry, as beans and grain are (planning value)."""
DRIED = 0.25
"""Most water in dried food: fruit keeps with about 20 %, vegetables with 10 % (from memory)."""

# Kinds of food by the words of their names.
NEVER_RAW = frozenset(
    {
        "garlic",
        "onion",
        "shallot",
        "leek",
        "chive",
        "scallion",
        "ramp",
        "mushroom",
    }
)
SOFT_CHEESE = frozenset(
    {
        "soft cheese",
        "cream cheese",
        "fresh cheese",
        "ricotta",
        "cottage cheese",
        "quark",
        "brie",
        "camembert",
        "mozzarella",
        "feta",
    }
)
CABBAGE_KIN = frozenset(
    {
        "cabbage",
        "broccoli",
        "cauliflower",
        "brussels sprout",
        "kale",
        "collard",
        "kohlrabi",
        "turnip",
        "rutabaga",
        "swede",
        "radish",
        "daikon",
        "horseradish",
        "mustard green",
        "bok choy",
        "pak choi",
        "arugula",
        "rocket",
        "watercress",
        "cress",
        "savoy",
        "romanesco",
    }
)
COOKED = names_where(lambda kind: kind.cooks)
HEAT = names_where(lambda kind: kind.heats)
COLD = names_where(lambda kind: kind.cools)
FROZEN = names_where(lambda kind: kind.freezes)


@dataclass(frozen=True)
class Refused:
    """Why a chain is refused, and the ids of the sources to read."""

    why: str
    sources: tuple[str, ...]

    def sentence(self) -> str:
        """Without a full stop, to go into a longer sentence."""
        return (
            f"it is refused for safety: {self.why} (to read more: harvestplan cautions; your local "
            "food-safety authority has the last word)"
        )


def refusal(product: Product, crop: Crop, *, vacuum: bool = True) -> Refused | None:
    """The first rule by which this chain is not made in any kitchen, or None."""
    spared = () if vacuum or product.storage != "freezer" else _VACUUM_ALONE
    rules = (rule for rule in _RULES if rule not in spared)
    return next((found for rule in rules if (found := rule(product, crop)) is not None), None)


def judge(product: Product, crop: Crop, *, vacuum: bool = True) -> str | None:
    """Why this chain is not made in any kitchen, as a sentence without full stop, or None; without
    a `vacuum` what is frozen may be raw."""
    refused = refusal(product, crop, vacuum=vacuum)
    return refused.sentence() if refused else None


def is_kin(crop: Crop, kinds: frozenset[str]) -> bool:
    """Whether one of the crop's names holds the words of one of `kinds`, as "red onions" does."""
    for name in (crop.name, *crop.also):
        words = " ".join(word.rstrip("s") for word in re.findall(r"\w+", name.lower()))
        for kind in kinds:
            wanted = " ".join(word.rstrip("s") for word in kind.split())
            if f" {wanted} " in f" {words} ":
                return True
    return False


def _before_sealing(product: Product) -> list[str]:
    """Steps before the pouch is closed; all of them where no step says so."""
    names = [step.step for step in product.steps]
    ends = [names.index(name) for name in (Seal.name, Portion.name) if name in names]
    return names[: ends[0]] if ends else [n for n in names if n not in (Freeze.name, Store.name)]


def _dry(product: Product, crop: Crop) -> bool:
    """Bought dry, or dried until little water is left."""
    if crop.water_share.value < DRY_CROP:
        return not {Simmer.name, Blanch.name} & set(_before_sealing(product))
    shares = [s.leaves.value for s in product.steps if s.step == Dry.name and s.leaves]
    if Dry.name not in _before_sealing(product) or not shares:
        return False
    return 1 - (1 - crop.water_share.value) / math.prod(shares) <= DRIED


def _canning(product: Product, crop: Crop) -> Refused | None:
    words = set(re.findall(r"\w+", product.form.lower()))
    if not words & {"canned", "canning", "jarred", "bottled", "can", "jar"}:
        return None
    return Refused(
        "canning wants a tested process for each food, with a pressure canner for what is low in "
        "acid, and a vacuum pack is no substitute",
        ("nchfp-vac-copy", "msu-beans-news"),
    )


def _in_oil(product: Product, crop: Crop) -> Refused | None:
    oily = {"oil", "confit"} & set(re.findall(r"\w+", f"{product.form} {crop.name}".lower()))
    keeps = product.storage == "fridge" and product.keeps.value <= OIL_LIMIT
    if not oily or product.storage == "freezer" or keeps or crop.water_share.value < DRY_CROP:
        return None
    return Refused(
        "garlic, vegetables and herbs in oil can grow botulinum bacteria; they keep 4 days at "
        "40 °F (4 °C) or in the freezer",
        ("nchfp-garlicoil-2015", "psu-oil"),
    )


def _raw_kin_of_onions(product: Product, crop: Crop) -> Refused | None:
    cheese = is_kin(crop, SOFT_CHEESE)
    if not (cheese or is_kin(crop, NEVER_RAW)) or crop.water_share.value < DRY_CROP:
        return None
    enough = set(FROZEN) if cheese else {*FROZEN, *HEAT, Dry.name}
    if enough & set(_before_sealing(product)):
        return None
    return Refused(
        f"{crop.name} is not sealed before it is frozen, since botulinum and listeria bacteria "
        "grow in it without air; freeze it loose on trays first",
        ("common-practice", "usu-vac"),
    )


def _raw_cabbage_kin(product: Product, crop: Crop) -> Refused | None:
    if not is_kin(crop, CABBAGE_KIN) or crop.water_share.value < DRY_CROP:
        return None
    if {*HEAT, Dry.name} & set(_before_sealing(product)):
        return None
    return Refused(
        f"raw {crop.name} gives off gas that swells the pack; blanch, cool and drain it before it "
        "is sealed, and freeze it",
        ("common-practice", "usu-vac"),
    )


def _warm(product: Product, crop: Crop) -> Refused | None:
    steps = _before_sealing(product)
    hot = max((i for i, step in enumerate(steps) if step in HEAT), default=-1)
    if hot < 0 and Puree.name not in steps:
        return None
    ways = ways_to_cool(product)
    if set(ways) & set(steps[hot + 1 :]):
        return None
    return Refused(
        f"after the {steps[hot] if hot >= 0 else Puree.name} nothing chills it as it should "
        f"({' or '.join(ways)}), and warm food in the chamber boils and stays long in the heat in "
        "which bacteria grow",
        ("snhd-cool", "cool-2stage"),
    )


def ways_to_cool(product: Product) -> tuple[str, ...]:
    """Steps of which one comes between the heat and the sealing, so that food is sealed cold.

    Purée, liquid, and cooked leaf and meat are chilled; cooked pieces may cool in cold water. Hot
    food on trays would thaw its neighbours in the freezer; drying ends on another day, cold. What
    was only blanched is so thin that every cold way serves.
    """
    cooked = any(step.step in (*COOKED, Puree.name) for step in product.steps)
    if product.texture == "pieces" and cooked:
        return (Cool.name, Chill.name, Dry.name)
    if cooked or product.texture in ("puree", "liquid"):
        return (Chill.name, Dry.name)
    return COLD


def _moist_on_the_shelf(product: Product, crop: Crop) -> Refused | None:
    if product.storage != "shelf" or _dry(product, crop):
        return None
    return Refused(
        "moist food sealed and kept at room temperature grows botulinum bacteria without a "
        "warning sign; freeze it, or dry it until it is brittle or leathery",
        ("clemson-vac", "nchfp-vac-copy"),
    )


def _long_in_the_fridge(product: Product, crop: Crop) -> Refused | None:
    if product.storage != "fridge" or _dry(product, crop):
        return None
    if max(product.keeps.value, product.keeps.high or 0.0) <= CHILLED_LIMIT:
        return None
    return Refused(
        "a chilled vacuum pack keeps 10 days at most, since botulinum bacteria grow slowly from "
        "38 °F (3 °C) on",
        ("fsa-vp-2017", "clemson-vac"),
    )


_RULES: Sequence[Callable[[Product, Crop], Refused | None]] = (
    _canning,
    _in_oil,
    _raw_kin_of_onions,
    _raw_cabbage_kin,
    _warm,
    _moist_on_the_shelf,
    _long_in_the_fridge,
)
_VACUUM_ALONE = (_raw_kin_of_onions, _raw_cabbage_kin)
"""What a vacuum makes unsafe: bacteria that thrive without air, and gas that swells a sealed pack.
In a bag or box closed by hand such food is frozen at home as it is (NCHFP, from memory)."""
