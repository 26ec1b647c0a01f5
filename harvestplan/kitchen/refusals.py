"""Chains that are unsafe in a sealed pouch, whatever a crop file says.

A vacuum pack takes the air from what would spoil food in plain sight and leaves the ground to
Clostridium botulinum, which needs none and gives no sign. What is refused follows from the food's
hazard classes and names (`kitchen.hazards`), never from its file alone. Each refusal says why and
names entries of ``crops/sources.toml``; local food-safety authorities have the last word.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from harvestplan.inputs.crops import Crop, Product
from harvestplan.inputs.ids import fold
from harvestplan.kitchen.hazards import (
    AIRLESS,
    COOKED,
    DAY,
    DECLARE,
    FLESH,
    HEAT,
    UNDECLARED,
    before_sealing,
    classes_of,
    fridge_limit,
    frozen_for_good,
    is_bought_dry,
    is_dry,
    kinds_of,
)
from harvestplan.kitchen.steps.all_steps import names_where
from harvestplan.kitchen.steps.chill import Chill
from harvestplan.kitchen.steps.cool import Cool
from harvestplan.kitchen.steps.dry import Dry
from harvestplan.kitchen.steps.puree import Puree
from harvestplan.words import plural

OIL_LIMIT = 4 * DAY
"""Garlic in oil at 40 °F or below (NCHFP, nchfp-garlicoil-2015)."""
CANNING_WORDS = frozenset({"canned", "canning", "jarred", "bottled", "tinned"})
"""In a food's or a product's name."""
_VESSELS = frozenset({"can", "cans", "jar", "jars", "tin", "tins"})
"""In a product's name alone."""
COLD = names_where(lambda kind: kind.cools)


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
    """The first rule by which this chain is not made in any kitchen, or None.

    Of a food whose file declares no hazard class it also says how to declare one.
    """
    spared = () if vacuum or product.storage != "freezer" else _VACUUM_ALONE
    rules = (rule for rule in _RULES if rule not in spared)
    found = next((found for rule in rules if (found := rule(product, crop)) is not None), None)
    if found is not None and UNDECLARED in classes_of(crop, product):
        return Refused(f"{found.why}; {DECLARE}", found.sources)
    return found


def judge(product: Product, crop: Crop, *, vacuum: bool = True) -> str | None:
    """Why this chain is not made in any kitchen, as a sentence without full stop, or None; without
    a `vacuum` what is frozen may be raw."""
    refused = refusal(product, crop, vacuum=vacuum)
    return refused.sentence() if refused else None


def _refused_form(product: Product, crop: Crop) -> Refused | None:
    """What the library refuses by name stays refused in a household's file."""
    named = (each for each in crop.refused if fold(each.form) == fold(product.form))
    return next((Refused(each.why.rstrip("."), (each.source,)) for each in named), None)


def _canning(product: Product, crop: Crop) -> Refused | None:
    form = set(re.findall(r"\w+", product.form.lower()))
    food = set(re.findall(r"\w+", " ".join((crop.name, *crop.also)).lower()))
    if not form & {*CANNING_WORDS, *_VESSELS} and not food & CANNING_WORDS:
        return None
    return Refused(
        "canning wants a tested process for each food, with a pressure canner for what is low in "
        "acid, and a vacuum pack is no substitute",
        ("nchfp-vac-copy", "msu-beans-news"),
    )


def _in_oil(product: Product, crop: Crop) -> Refused | None:
    oily = {"oil", "confit"} & set(re.findall(r"\w+", f"{product.form} {crop.name}".lower()))
    keeps = product.storage == "fridge" and product.keeps.value <= OIL_LIMIT
    if not oily or product.storage == "freezer" or keeps or is_bought_dry(crop, product):
        return None
    return Refused(
        "garlic, vegetables and herbs in oil can grow botulinum bacteria; they keep 4 days at "
        "40 °F (4 °C) or in the freezer",
        ("nchfp-garlicoil-2015", "psu-oil"),
    )


def _sealed_raw(product: Product, crop: Crop) -> Refused | None:
    classes = classes_of(crop, product)
    frozen_only = classes & {"soft cheese", UNDECLARED}
    if (not frozen_only and not classes & AIRLESS) or is_bought_dry(crop, product):
        return None
    done = before_sealing(product)
    if frozen_for_good(product, done) or (not frozen_only and {*HEAT, Dry.name} & set(done)):
        return None
    return Refused(
        f"{crop.name} is not sealed before it is frozen, since botulinum and listeria bacteria "
        "grow in it without air; freeze it loose on trays first and keep it frozen",
        ("common-practice", "usu-vac"),
    )


def _raw_cabbage_kin(product: Product, crop: Crop) -> Refused | None:
    if "cabbage kin" not in kinds_of(crop, product) or is_bought_dry(crop, product):
        return None
    if {*HEAT, Dry.name} & set(before_sealing(product)):
        return None
    return Refused(
        f"raw {crop.name} gives off gas that swells the pack; blanch, cool and drain it before it "
        "is sealed, and freeze it",
        ("common-practice", "usu-vac"),
    )


def _dried_unheated(product: Product, crop: Crop) -> Refused | None:
    """A step that cooks must come before the dryer: roasting or simmering to the temperature."""
    steps = [step.step for step in product.steps]
    if Dry.name not in steps or not classes_of(crop, product) & {*FLESH, UNDECLARED}:
        return None
    if set(COOKED) & set(steps[: steps.index(Dry.name)]):
        return None
    return Refused(
        "meat is heated to 160 °F (71 °C), poultry to 165 °F (74 °C), before it is dried, since a "
        f"dryer does not kill what is in it; put a step before the dry ({' or '.join(COOKED)}), "
        "measured with a thermometer",
        ("fsis-jerky",),
    )


def _warm(product: Product, crop: Crop) -> Refused | None:
    """Dry food is exempt: nothing in it boils."""
    if is_dry(crop, product):
        return None
    steps = before_sealing(product)
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
    if product.storage != "shelf" or is_dry(crop, product):
        return None
    return Refused(
        "moist food sealed and kept at room temperature grows botulinum bacteria without a "
        "warning sign; freeze it, or dry it until it is brittle or leathery",
        ("clemson-vac", "nchfp-vac-copy"),
    )


def _long_in_the_fridge(product: Product, crop: Crop) -> Refused | None:
    if product.storage != "fridge" or is_dry(crop, product):
        return None
    limit = fridge_limit(crop, product, before_sealing(product))
    if max(product.keeps.value, product.keeps.high or 0.0) <= limit.days * DAY:
        return None
    return Refused(
        f"sealed and chilled, {crop.name} keeps {plural(limit.days, 'day')} at most at 40 °F "
        "(4 °C), since botulinum bacteria and listeria grow slowly even in the cold; eat it or "
        "freeze it by then",
        limit.sources,
    )


_RULES: Sequence[Callable[[Product, Crop], Refused | None]] = (
    _refused_form,
    _canning,
    _in_oil,
    _sealed_raw,
    _raw_cabbage_kin,
    _dried_unheated,
    _warm,
    _moist_on_the_shelf,
    _long_in_the_fridge,
)
_VACUUM_ALONE = (_sealed_raw, _raw_cabbage_kin)
"""What a vacuum makes unsafe: bacteria that thrive without air, and gas that swells a sealed pack.
In a bag or box closed by hand such food is frozen at home as it is (NCHFP, from memory)."""
