"""Answers for those who ask after a product that nobody should make like that: why, what to do
instead, and who says so. A name that the library does not know is looked up here before it is
called unknown."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass

from harvestplan.inputs.crop_folder import SOURCES, crop_folder
from harvestplan.inputs.food_names import FoodKind, kinds_named
from harvestplan.inputs.ids import fold

_CANNED = (
    r"\b((home|water bath|oven|pressure|open kettle)? ?(cann?ed|canning)|cans?|tins?|tinned|jarred"
    r"|jars?|bottled|mason)\b"
)
_SEALED = r"\b(vacuum|vacuumed|vac|sealed|airless|sous vide|airtight)\b"
_SHELF = (
    r"\b(shelf|room temp(erature)?|pantry|larder|cupboard|counter|ambient|unrefrigerated|"
    r"without (a )?(fridge|refrigerator))\b"
)
_CHILLED = r"\b(chilled|fridge|refrigerat\w+)\b"
_FRUIT = (
    r"\b(jam|jams|jelly|jellies|marmalade|preserves?|fruit|apples?|pears?|peach(es)?|plums?|"
    r"cherr(y|ies)|\w*berr(y|ies)|apricots?|nectarines?|rhubarb|grapes?|pickles?|pickled|relish|"
    r"chutney|sauerkraut|juice)\b"
)
_FLESH: frozenset[FoodKind] = frozenset(
    {"meat", "ground meat", "poultry", "fish", "shellfish", "smoked fish"}
)


@dataclass(frozen=True)
class SafetyAnswer:
    """What stands against a way of keeping food, and what can be done instead.

    It answers a name in which each of the patterns `words` is found and, where there are `kinds`,
    one of them is named, none of `not_words`. `sources` are ids of ``crops/sources.toml``.
    """

    asked: str
    why: str
    instead: str
    sources: tuple[str, ...]
    words: tuple[str, ...]
    kinds: frozenset[FoodKind] = frozenset()
    not_words: str = r"(?!)"

    def answers(self, name: str) -> bool:
        """Whether a name, folded, without punctuation, asks for this."""
        named = not self.kinds or bool(self.kinds & kinds_named((name,)))
        if not named or re.search(self.not_words, name):
            return False
        return all(re.search(pattern, name) for pattern in self.words)

    @property
    def advice(self) -> str:
        """What to do instead, who says so, and who has the last word."""
        return (
            f"Instead: {self.instead}. Source: {_who_says(self.sources)}. Your local food-safety "
            "authority has the last word."
        )

    def sentence(self, name: str) -> str:
        """The whole answer, for a line of its own."""
        return f"{self.reason(name)} {self.advice}"

    def reason(self, name: str) -> str:
        """Why what is called `name` is not put by."""
        return f'"{name}" is not put by here: {self.why}.'


def _who_says(ids: tuple[str, ...]) -> str:
    """The publishers of these sources, from the list that comes with the crop files."""
    folder = crop_folder()
    listed = tomllib.loads((folder / SOURCES).read_text("utf-8")) if folder else {}
    known = [listed.get(each, {}) for each in ids]
    return "; ".join(
        dict.fromkeys(each.get("publisher") or each.get("title", "") for each in known)
    )


ANSWERS = (
    SafetyAnswer(
        "eggs pickled or canned, for the shelf",
        "no tested process keeps pickled eggs at room temperature: the yolk is low in acid, and "
        "they have given people botulism",
        "keep pickled eggs in the refrigerator, made by a tested recipe for that",
        ("nchfp-eggs",),
        (r"\beggs?\b", rf"{_CANNED}|{_SHELF}|\bpickled\b"),
        not_words=r"\begg ?plants?\b",
    ),
    SafetyAnswer(
        "butter, milk or cheese in cans or jars",
        "there is no tested process for canning butter, milk, cream or cheese at home",
        "freeze butter and hard cheese; keep the rest in the refrigerator",
        ("clemson-dairy",),
        (r"\b(milk|cream|cheeses?|ghee)\b|^butter\b|\b(canned|jarred|bottled) butter$", _CANNED),
    ),
    SafetyAnswer(
        "bread or cake in jars",
        "bread and cake sealed in a jar are moist and low in acid: botulinum bacteria can grow",
        "bake it and freeze it",
        ("memory",),
        (r"\b(bread|cakes?|pies?)\b", _CANNED),
        not_words=r"\b(pie filling|crab ?cakes?)\b",
    ),
    SafetyAnswer(
        "garlic, herbs, vegetables or mushrooms in oil",
        "botulinum bacteria grow under oil, and garlic in oil has given people botulism",
        "make it fresh and keep it at most 4 days at 40 °F (4 °C), or freeze it at once",
        ("nchfp-garlicoil-2015", "psu-oil"),
        (
            r"\b(in|under) (\w+ )?oil\b|\b(garlic|herb|herbs|basil|rosemary|chil[il]i?|chile|"
            r"pepper|tomato|mushroom|truffle|infused) oil\b|\boil infus|\bconfit\b|"
            r"\binfused\b.*\boil\b",
        ),
    ),
    SafetyAnswer(
        "pumpkin or squash canned as purée or butter",
        "no tested process exists for pumpkin or squash that is mashed: it is too thick and too "
        "low in acid, in a pressure canner as well",
        "freeze the purée; cubes alone are canned, by a tested process with a pressure canner",
        ("nchfp-pumpkin",),
        (r"\b(pumpkins?|squash)\b", _CANNED, r"\b(puree\w*|butter|mash\w*)\b"),
    ),
    SafetyAnswer(
        "tomatoes, sauce or salsa in cans or jars",
        "tomatoes stand on the border of what is acid enough, so that jars want added acid and a "
        "tested process",
        "freeze them here; for jars follow a tested process, with lemon juice from a bottle or "
        "citric acid",
        ("uwyo-tomato", "nchfp-vac-copy"),
        (r"\b(tomato(es)?|salsa|passata|marinara|ketchup)\b", _CANNED),
        not_words=r"\b(meat|beef|bolognese|ragu)\b",
    ),
    SafetyAnswer(
        "mushrooms in cans or jars",
        "mushrooms are low in acid and want a pressure canner; for wild ones no process is tested",
        "freeze or dry them; cultivated ones alone are canned, by a tested process",
        ("uwex-mushroom",),
        (_CANNED,),
        frozenset({"mushroom"}),
    ),
    SafetyAnswer(
        "meat, poultry, fish or soups with them in cans or jars",
        "they are low in acid: without a pressure canner and a tested process botulinum bacteria "
        "outlive the heat and grow in the jar without a sign",
        "freeze it here; for jars follow a tested process, with a pressure canner",
        ("ut-canning", "nchfp-vac-copy"),
        (_CANNED,),
        _FLESH,
    ),
    SafetyAnswer(
        "fruit, jam and pickles in cans or jars",
        "this program plans no canning: each food wants a tested process, also where it is acid",
        "freeze or dry it here; for jars follow a tested process of your food-safety authority",
        ("ut-canning", "nchfp-vac-copy"),
        (_FRUIT, _CANNED),
    ),
    SafetyAnswer(
        "vegetables, beans, soups and all else in cans or jars",
        "what is low in acid gives people botulism where it is canned without pressure, and the "
        "jar shows no sign; electric pressure cookers do not reach what is needed",
        "freeze it here; for jars follow a tested process, with a pressure canner",
        ("msu-beans-news", "ut-canning", "usu-cookers"),
        (_CANNED,),
    ),
    SafetyAnswer(
        "raw mushrooms sealed",
        "botulinum bacteria grow in fresh mushrooms without air",
        "heat them or freeze them loose on trays first, then seal and freeze them; or dry them",
        ("common-practice", "usu-vac"),
        (rf"{_SEALED}|{_CHILLED}|{_SHELF}|\braw\b",),
        frozenset({"mushroom"}),
    ),
    SafetyAnswer(
        "raw garlic, onions or their kin sealed",
        "botulinum bacteria grow in raw garlic and onions without air",
        "freeze them loose on trays first, then seal them frozen; or dry them",
        ("common-practice", "usu-vac"),
        (rf"{_SEALED}|{_CHILLED}|{_SHELF}|\braw\b",),
        frozenset({"onion kin"}),
    ),
    SafetyAnswer(
        "soft cheese sealed",
        "listeria grow in soft cheese in the cold, and no air leaves them the room",
        "leave it in its wrapping and eat it within a week, or freeze it before it is sealed",
        ("common-practice", "usu-vac"),
        (rf"{_SEALED}|{_SHELF}",),
        frozenset({"soft cheese"}),
    ),
    SafetyAnswer(
        "bean and seed sprouts",
        "what carries salmonella, E. coli or listeria grows along with the sprout, and washing "
        "does not take it off",
        "cook sprouts through and eat them at once; nothing of them is put by raw",
        ("fda-sprouts",),
        (r".",),
        frozenset({"sprouts"}),
    ),
    SafetyAnswer(
        "jerky and dried meat, poultry or fish",
        "a dryer does not kill what is in raw meat, and dry bacteria outlive more heat than moist",
        "heat meat to 160 °F (71 °C) and poultry to 165 °F (74 °C) before it is dried; in a crop "
        "file of your own put a step that roasts or simmers before the dry",
        ("fsis-jerky",),
        (r"\b(jerky|biltong|pemmican|dried|dry|dehydrated|air dried)\b",),
        _FLESH,
    ),
    SafetyAnswer(
        "smoked or cured fish sealed",
        "light smoking and curing do not preserve: botulinum bacteria grow in sealed smoked fish "
        "from 38 °F (3 °C) on",
        "freeze it, or eat it within 5 days below 38 °F (3 °C)",
        ("uaf-vacfish",),
        (r".",),
        frozenset({"smoked fish"}),
    ),
    SafetyAnswer(
        "sausage, ham and bacon cured at home",
        "curing needs exact salt, nitrite, time and cold, or botulinum bacteria grow in it",
        "freeze the meat fresh; for curing follow a tested process of your food-safety authority",
        ("memory",),
        (r"\b(cured|home made|homemade|dry aged|salami|prosciutto|pancetta)\b",),
        frozenset({"meat", "ground meat", "poultry"}),
    ),
    SafetyAnswer(
        "raw meat, poultry or fish sealed and kept cold, or on the shelf",
        "a vacuum pack does not make it keep: raw ground meat, poultry and fish keep 2 days in the "
        "refrigerator, whole cuts 5, and none on the shelf",
        "freeze it, at 0 °F (-18 °C) or below",
        ("illinois-meat", "usu-vac"),
        (rf"{_SEALED}|{_CHILLED}|{_SHELF}|\baged\b",),
        _FLESH,
    ),
    SafetyAnswer(
        "cooked or baked potatoes sealed, in foil or on the shelf",
        "botulinum bacteria grow in cooked potatoes that stand in the warm without air",
        "freeze them, or keep them loose in the refrigerator and eat them within 4 days",
        ("memory", "umn-leftovers"),
        (r"\bpotato(es)?\b", rf"{_SHELF}|\bfoil\b"),
    ),
    SafetyAnswer(
        "moist food on the shelf",
        "moist food without air grows botulinum bacteria at room temperature without a sign",
        "freeze it, or dry it until it is brittle or leathery",
        ("clemson-vac", "nchfp-vac-copy"),
        (_SHELF,),
        not_words=r"\b(dry|dried|flour|rice|grain|sugar|salt)\b",
    ),
)  # fmt: skip
"""The first that answers counts: what is told apart stands before what is alike."""


def safety_answer(name: str) -> SafetyAnswer | None:
    """The answer for whoever asks for a product of this name, or None where none is known."""
    plain = " ".join(re.findall(r"[^\W_]+", fold(name[:200])))
    return next((answer for answer in ANSWERS if answer.answers(plain)), None)
