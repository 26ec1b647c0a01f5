"""Every caution the program gives of itself, each with its hazard, its sources and its places.

Cautions of single foods stand in the crop files. Local food-safety authorities and the manuals of
the household's own equipment come before all of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from harvestplan.kitchen.steps.all_steps import names_where
from harvestplan.kitchen.steps.dry import Dry
from harvestplan.kitchen.steps.fill import Fill
from harvestplan.kitchen.steps.freeze import Freeze
from harvestplan.kitchen.steps.heat_pot import HeatPot
from harvestplan.kitchen.steps.portion import Portion
from harvestplan.kitchen.steps.puree import Puree
from harvestplan.kitchen.steps.roast import Roast
from harvestplan.kitchen.steps.seal import Seal
from harvestplan.kitchen.steps.set_up import SetUp
from harvestplan.kitchen.steps.trim import Trim

Page = Literal["book", "card", "stock", "crops"]
"""Pages that show a caution whole; the steps of run sheets and calendar entries do it as well."""
TRADE = ("common-practice",)


@dataclass(frozen=True)
class Caution:
    """What to take care of.

    `text` may hold one ``{}`` for an amount in the household's measures; `by_hand` stands in its
    place where packs are closed without a vacuum; `sources` are ids of ``crops/sources.toml``;
    `when` says in words what else must hold for it to stand at its `steps`.
    """

    hazard: str
    text: str
    sources: tuple[str, ...] = TRADE
    steps: tuple[str, ...] = ()
    when: str = ""
    pages: tuple[Page, ...] = ()
    by_hand: str | None = None

    def told(self, *, vacuum: bool) -> str:
        """Its text where packs are sealed in a vacuum, or closed by hand."""
        return self.text if vacuum or self.by_hand is None else self.by_hand


STEAM = Caution(
    "steam and boiling water",
    "Steam and boiling water: lift the lid away from you, dry gloves, drain away from you.",
    steps=names_where(lambda kind: kind.boils),
)
LIFTING = Caution(
    "lifting hot and heavy pots",
    "Heavy: the water alone weighs {}. Fill and empty the pot with a jug where it stands; nobody "
    "carries it hot.",
    steps=(Fill.name, HeatPot.name),
    when="the water weighs 11 lb (5 kg) or more",
)
HOT_TRAYS = Caution(
    "burns from trays and oven",
    "Hot trays: dry gloves, and a free place to put them down before the oven opens.",
    steps=(Roast.name,),
)
KNIVES = Caution(
    "knives",
    "Knives: board on a damp cloth, blade away from the fingers.",
    steps=(Trim.name,),
)
BLADES = Caution(
    "blades of mill and blender, hot purée",
    "Blades: unplug before fingers or spoons go in; hot food only to half, a cloth on the lid.",
    steps=(Puree.name,),
)
GLOVES = Caution(
    "hot pepper on skin and eyes",
    "Hot pepper: wear gloves, keep hands off the face, open a window.",
    steps=names_where(lambda kind: kind.cuts),
    when="the food is hot pepper",
)
ROOM = Caution(
    "bacteria in food that stands about",
    "From the first cut to the cold: 2 hours in the room at most, 1 hour above 90 °F (32 °C).",
    sources=("eatright",),
    steps=names_where(lambda kind: kind.cuts),
)
ELECTRICITY = Caution(
    "electricity beside water",
    "Electricity: machines and cords away from sink and baths, dry hands at the switch, unplug "
    "before anything is wiped.",
    steps=(SetUp.name,),
)
HOT_BAR = Caution(
    "burns from the sealing bar",
    "The bar stays hot after a seal: fingers and cloths off it.",
    steps=(Seal.name,),
)
COLD_ONLY = Caution(
    "warm food in the vacuum chamber",
    "Only cold food in the chamber: {} or colder; filled bags wait for it in the refrigerator.",
    sources=("iapws",),
    steps=(Seal.name,),
    when="the sealing machine is a chamber machine and the food is not dry",
)
FOAMS = Caution(
    "purée that foams over",
    "It foams: keep the pump-down short, stop when it rises.",
    steps=(Seal.name,),
    when="the food foams",
)
GLASS = Caution(
    "glass",
    "Glass: no chipped or cracked jar; where one breaks, throw out the open food near it. No jar "
    "from hot to cold, none in the vacuum chamber.",
    steps=(Dry.name,),
    by_hand="Glass: no chipped or cracked jar; where one breaks, throw out the open food near it. "
    "No jar from hot to cold.",
)
SWELLING_FOOD = Caution(
    "food that swells as it freezes",
    "Food swells as it freezes: without its head space it lifts the lid or breaks the glass.",
    sources=("nchfp-headspace", "nchfp-containers"),
    steps=(Portion.name,),
    when="it is frozen in a rigid box or jar",
)
FREEZER_GLASS = Caution(
    "glass in the freezer",
    "Glass in the freezer: only jars made for freezing, best with a wide mouth, and cold food in "
    "cold jars; other glass breaks. Throw out what was near a broken one.",
    sources=("nchfp-containers",),
    steps=(Portion.name,),
    when="it is frozen in a rigid box or jar",
)
NOT_KEPT = Caution(
    "sealed food taken for preserved",
    "Sealed is not preserved: what is sealed goes into the freezer at once.",
    sources=("usu-vac", "clemson-vac", "nchfp-vac-copy"),
    steps=(Freeze.name,),
    by_hand="Packed is not preserved: what is closed goes into the freezer at once.",
)
BOTULISM = Caution(
    "botulism",
    "A vacuum pack preserves nothing by itself: what needed the refrigerator or freezer still "
    "does. In moist food without air, unfrozen, botulinum bacteria grow with no smell or swelling "
    "to warn of them. Throw out what is doubtful without tasting it.",
    sources=("clemson-vac", "usu-vac", "nchfp-vac-copy"),
    pages=("book", "card", "crops"),
    by_hand="A closed bag, box or jar preserves nothing by itself: what needed the refrigerator or "
    "freezer still does. In moist food without air, unfrozen, botulinum bacteria grow with no "
    "smell or swelling to warn of them. Throw out what is doubtful without tasting it.",
)
CANNING = Caution(
    "canning without a tested process",
    "No canning is planned here: it wants a tested process for each food, from your food-safety "
    "authority, and a pressure canner for what is low in acid. A sealed pouch is no substitute.",
    sources=("nchfp-vac-copy", "msu-beans-news"),
    pages=("book", "card", "crops"),
    by_hand="No canning is planned here: it wants a tested process for each food, from your "
    "food-safety authority, and a pressure canner for what is low in acid. A lid that is shut is "
    "no substitute.",
)
THAWING = Caution(
    "thawing in the sealed pack",
    "Thaw in the refrigerator, never on the counter. Open or pierce packs of fish before they "
    "thaw.",
    sources=("eatright", "ncsu-fish", "msu-fish", "clemson-fish"),
    pages=("book", "stock"),
    by_hand="Thaw in the refrigerator, never on the counter.",
)
REHEATING = Caution(
    "soups and stews that are only warmed",
    "Reheat soups, stews and cooked meat to 165 °F (74 °C) all through; bring what is liquid to a "
    "rolling boil.",
    sources=("fsis-reheat",),
    pages=("book", "stock"),
)
POWER_CUT = Caution(
    "a power cut",
    "If the power fails keep the freezer shut: full it stays cold about 48 hours, half full 24. "
    "Freeze again only what still has ice crystals or is 40 °F (4 °C) or colder; throw the rest "
    "out without tasting it.",
    sources=("fsgov-copy",),
    pages=("book", "stock"),
)
AUTHORITY = Caution(
    "old or local advice",
    "Your local food-safety authority, and the manual of your own equipment, have the last word.",
    pages=("book", "card", "stock", "crops"),
)
CAUTIONS = (
    STEAM, LIFTING, HOT_TRAYS, KNIVES, BLADES, GLOVES, ROOM, ELECTRICITY, HOT_BAR, COLD_ONLY, FOAMS,
    GLASS, SWELLING_FOOD, FREEZER_GLASS, NOT_KEPT, BOTULISM, CANNING, THAWING, REHEATING,
    POWER_CUT, AUTHORITY,
)  # fmt: skip
"""All of them, in the order of an evening and then of the winter."""


@dataclass(frozen=True)
class Never:
    """What no plan holds, whatever a crop file says, and why."""

    what: str
    why: str
    sources: tuple[str, ...]


NEVER = (
    Never(
        "garlic, onions and their kin, mushrooms, sprouts or soft cheese sealed raw",
        "botulinum and listeria bacteria grow in them without air; freeze them loose first",
        ("common-practice", "usu-vac"),
    ),
    Never(
        "raw cabbage and its kin sealed",
        "they give off gas that swells the pack; blanch, cool and drain them first",
        ("common-practice", "usu-vac"),
    ),
    Never(
        "warm moist food sealed",
        "it boils in the chamber and stays long in the heat in which bacteria grow; chill it first",
        ("snhd-cool", "cool-2stage"),
    ),
    Never(
        "moist food sealed for the shelf",
        "botulinum bacteria grow in it without a warning sign; freeze it, or dry it wholly",
        ("clemson-vac", "nchfp-vac-copy"),
    ),
    Never(
        "meat, poultry or fish dried before it is heated",
        "a dryer does not kill what is in it; heat meat to 160 °F (71 °C), poultry to 165 °F (74 "
        "°C) first",
        ("fsis-jerky",),
    ),
    Never(
        "raw ground meat, poultry and fish sealed and chilled for more than 2 days, raw whole meat "
        "and smoked fish for more than 5, cooked food for more than 4",
        "botulinum bacteria and listeria grow slowly even in the cold; freeze it",
        ("illinois-meat", "uaf-vacfish", "umn-leftovers"),
    ),
    Never(
        "food of a household's own whose file declares no hazard class, sealed unless frozen",
        "it may be any food, so the strictest rules hold; declare one in its file, like hazard = "
        '"other"',
        ("common-practice",),
    ),
    Never(
        "sealed food chilled for more than 10 days",
        "botulinum bacteria grow slowly from 38 °F (3 °C) on; freeze it",
        ("fsa-vp-2017", "clemson-vac"),
    ),
    Never(
        "garlic, vegetables or herbs in oil for more than 4 days",
        "botulinum bacteria grow under oil; freeze it",
        ("nchfp-garlicoil-2015", "psu-oil"),
    ),
    Never(
        "canning",
        "it wants a tested process for each food, and a pressure canner for what is low in acid",
        ("nchfp-vac-copy", "msu-beans-news"),
    ),
)
"""The refusals of the kitchen, in words for the page."""


def at_step(step: str) -> Iterator[Caution]:
    """Those that belong to a step of a session, conditions of `when` aside."""
    return (caution for caution in CAUTIONS if step in caution.steps)


def page_lines(page: Page, *, vacuum: bool = True) -> list[str]:
    """The texts that stand whole on a page of a kitchen with a `vacuum`, or without."""
    return [caution.told(vacuum=vacuum) for caution in CAUTIONS if page in caution.pages]
