"""Names by which foods are known that carry a hazard, so that none is hidden by what a file says.

Common trade names, no source: the lists are to be wide rather than neat. The longest phrase that
fits counts, so that an oyster mushroom is no oyster and a kidney bean no kidney.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Literal

from harvestplan.inputs.ids import fold

FoodKind = Literal[
    "meat", "ground meat", "poultry", "fish", "shellfish", "smoked fish", "mushroom", "onion kin",
    "soft cheese", "sprouts", "cabbage kin", "harmless",
]  # fmt: skip
"""Kinds of food by name, finer than the hazard classes."""

_NAMES: dict[FoodKind, str] = {
    "meat": """
        meat, beef, steak, pork, lamb, mutton, hogget, veal, venison, deer, elk, moose, bison,
        buffalo, caribou, reindeer, antelope, goat, rabbit, hare, boar, wild game, game meat,
        brisket, sirloin, tenderloin, ribeye, rump, flank, short rib, spare rib, sparerib, oxtail,
        ox cheek, shank, ham, bacon, gammon, pancetta, prosciutto, salami, jerky, biltong,
        pemmican, kangaroo, llama, mettwurst, carpaccio""",
    "ground meat": """
        mince, minced meat, ground meat, ground beef, hamburger, beefburger, burger, meatball,
        meat ball, meatloaf, meat loaf, tartare, sausage, bratwurst, chorizo, salsiccia, kofta,
        cevapcici, haggis, offal, liver, kidney, tripe, sweetbread, giblet, tongue, chitterling,
        black pudding, variety meat, hot dog, frankfurter, wiener""",
    "poultry": """
        poultry, chicken, hen, cockerel, rooster, capon, poussin, turkey, duck, duckling, goose,
        geese, guinea fowl, fowl, pheasant, partridge, quail, grouse, ptarmigan, pigeon, squab,
        dove, woodcock, game bird, ostrich, emu""",
    "fish": """
        fish, salmon, trout, steelhead, cod, codfish, coley, saithe, haddock, halibut, hake, hoki,
        pollock, pollack, tuna, albacore, bonito, mackerel, herring, sardine, pilchard, sprat,
        whitebait, anchovy, bass, sea bass, seabass, bream, carp, catfish, basa, pangasius, char,
        eel, flounder, plaice, sole, turbot, brill, dab, ling, monkfish, mullet, perch, pike,
        pickerel, walleye, zander, snapper, tilapia, whiting, whitefish, sturgeon, swordfish,
        marlin, shark, dogfish, skate, grouper, rockfish, sablefish, lingcod, smelt, shad,
        bluefish, bluegill, crappie, panfish, sunfish, barramundi, mahi mahi, orange roughy,
        grayling, burbot, roach, tench, roe, caviar, sashimi, sushi""",
    "shellfish": """
        shellfish, seafood, shrimp, prawn, langoustine, scampi, lobster, crab, crabmeat, crayfish,
        crawfish, krill, mussel, clam, geoduck, quahog, oyster, scallop, cockle, whelk, winkle,
        periwinkle, limpet, abalone, conch, squid, calamari, octopus, cuttlefish, sea urchin, crab
        meat""",
    "smoked fish": """
        kipper, bloater, buckling, lox, gravlax, gravadlax, smokie, finnan haddie, stockfish,
        bacalao, rollmop, maatjes, surstromming, smoked fish, cured fish, salt cod, salt fish""",
    "mushroom": """
        mushroom, fungus, fungi, toadstool, champignon, agaricus, shiitake, shitake, portobello,
        portabello, portobella, portabella, cremini, crimini, baby bella, oyster mushroom, king
        oyster, king trumpet, pleurotus, enoki, enokitake, enokidake, maitake, eryngii, hen of the
        wood, chicken of the wood, lion mane, hericium, porcini, porcino, cep, cepe, bolete,
        boletus, penny bun, slippery jack, chanterelle, girolle, pfifferling, morel, morille,
        truffle, black trumpet, horn of plenty, trompette, hedgehog mushroom, puffball, shimeji,
        nameko, wood ear, cloud ear, jelly ear, matsutake, pioppino, pioppini, blewit, parasol
        mushroom, field mushroom, ink cap, inkcap, shaggy mane, milk cap, milkcap, saffron milk
        cap, lobster mushroom, shrimp mushroom, chicken mushroom, beefsteak fungus, beefsteak
        mushroom, beefsteak polypore, dryad saddle, fish mushroom, wine cap, stropharia, turkey
        tail, reishi, huitlacoche, honey fungus, fairy ring champignon, snow fungus""",
    "onion kin": """
        garlic, onion, shallot, eschalot, echalote, leek, chive, scallion, ramp, ramson, bear
        garlic, calcot, cipollini, cipolline, cipollino, negi, rakkyo, nira, allium, scape, syboe,
        kurrat, elephant garlic""",
    "soft cheese": """
        soft cheese, cream cheese, fresh cheese, white cheese, curd cheese, curd, cottage cheese,
        farmer cheese, ricotta, quark, brie, camembert, mozzarella, buffalo mozzarella,
        bocconcini, burrata, stracciatella, stracchino, crescenza, mascarpone, feta, goat cheese,
        goats cheese, goat milk cheese, chevre, neufchatel, queso fresco, queso blanco, panela,
        requeson, paneer, panir, labneh, fromage frais, fromage blanc, tvorog, blue cheese,
        gorgonzola, roquefort, dolcelatte, cambozola, limburger, taleggio, reblochon, munster,
        vacherin, robiola, pont l eveque, epoisses, livarot""",
    "sprouts": """
        sprout, sprouted, beansprout, bean sprout, mung bean sprout, alfalfa sprout, broccoli
        sprout, radish sprout, onion sprout, kale sprout""",
    "cabbage kin": """
        cabbage, broccoli, broccolini, rapini, cauliflower, brussels sprout, kale, cavolo nero,
        collard, kohlrabi, turnip, rutabaga, swede, radish, daikon, horseradish, mustard green,
        bok choy, bok choi, pak choy, pak choi, choy sum, gai lan, mizuna, tatsoi, komatsuna,
        arugula, rocket, watercress, cress, savoy, romanesco""",
    "harmless": """
        kidney bean, red kidney, horse bean, crab apple, oyster plant, vegetable oyster, fish
        pepper, fish mint, trout bean, trout lettuce, goose berry, goose foot, goose bean, duck
        potato, fat hen, pigeon pea, lamb lettuce, lamb quarter, lamb ear, goat beard, hare ear,
        beef tomato, beef steak tomato, elk clover, deer tongue, deer tongue lettuce, ox tongue
        lettuce, turkey fig, turkey craw bean, tuna cactus, cactus tuna, onion squash, mince pie,
        fruit mince, coconut meat, nut meat, walnut meat, pecan meat, hen egg, chicken egg, duck
        egg, goose egg, quail egg, salmon berry, buffalo berry, buffalo gourd, bean curd, lemon
        curd, fruit curd, liver wort, chicken feed, eel grass, clam shell bean, cod fruit, char
        grilled""",
}  # fmt: skip
_GROUND = frozenset({"ground", "minced", "mince", "burger", "sausage", "patty"})
_SMOKED = frozenset({"smoked", "smoke", "cured", "kippered", "salted", "gravad"})
_FLESH: frozenset[FoodKind] = frozenset({"meat", "ground meat", "poultry", "fish", "shellfish"})


def _words(name: str) -> tuple[str, ...]:
    """The name's words in the singular, roughly: letters alone, without accents."""
    return tuple(filter(None, (_singular(w) for w in re.findall(r"[^\W_]+", fold(name)))))


def _singular(word: str) -> str:
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith(("shes", "ches", "xes", "oes")):
        return word[:-2]
    return word.rstrip("s")


def _table() -> dict[tuple[str, ...], set[FoodKind]]:
    found: dict[tuple[str, ...], set[FoodKind]] = {}
    for kind, names in _NAMES.items():
        for name in names.split(","):
            found.setdefault(_words(name), set()).add(kind)
    return found


_TABLE = _table()
_LONGEST = max(map(len, _TABLE))


def kinds_named(names: Iterable[str]) -> frozenset[FoodKind]:
    """The kinds of food that one of the names tells of, as "red onions" tells of onion kin."""
    return frozenset(kind for name in names for kind in _kinds(name))


@lru_cache(maxsize=4096)
def _kinds(name: str) -> frozenset[FoodKind]:
    words = _words(name)
    found = set(_phrases(words))
    if found & _FLESH and _GROUND & set(words):
        found.add("ground meat")
    if found & {"fish", "shellfish"} and _SMOKED & set(words):
        found = (found - {"fish"}) | {"smoked fish"}
    return frozenset(found - {"harmless"})


def _phrases(words: tuple[str, ...]) -> Iterator[FoodKind]:
    """From left to right what the longest phrase at each place tells."""
    place = 0
    while place < len(words):
        lengths = range(min(_LONGEST, len(words) - place), 0, -1)
        length = next((n for n in lengths if words[place : place + n] in _TABLE), 0)
        yield from _TABLE.get(words[place : place + length], ()) if length else ()
        place += length or 1
