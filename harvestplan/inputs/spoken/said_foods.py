"""Foods as people call them: "green beans", "tomato sauce", "chopped courgettes", "15 pints of
apple sauce". What a household grows decides between foods of one name; else it is asked."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from harvestplan.inputs.ids import fold
from harvestplan.inputs.spoken.said_numbers import WORDS
from harvestplan.inputs.spoken.unclear import Unclear, which

if TYPE_CHECKING:
    from harvestplan.inputs.crops import Library

OTHER_NAMES = {
    "snap bean": "pole bean, haricot vert, bobby bean, dwarf bean",
    "edible-pod pea": "mangetout, mange tout, sugar snap, snow pea pod",
    "summer squash": "marrow, patty pan, pattypan, vegetable marrow, baby marrow, yellow squash",
    "winter squash": "kabocha, spaghetti squash, delicata, hokkaido, red kuri, crown prince",
    "sweet corn": "sweetcorn, maize",
    "pepper": "capsicum, sweet red pepper, paprika pepper",
    "hot pepper": "chilli pepper, chili pepper, cayenne, jalapeno pepper",
    "potato": "spud, new potato, maincrop potato",
    "cucumber": "cuke, gherkin, ridge cucumber",
    "okra": "lady's finger, ladies' finger, ladies finger, lady finger",
    "collard": "spring green",
    "chard": "leaf beet, perpetual spinach",
    "rutabaga": "swedish turnip, neep",
    "sour cherry": "morello cherry, morello, montmorency cherry",
    "kale": "cavolo nero, lacinato kale, tuscan kale",
    "onion": "red onion, white onion, brown onion",
    "apple": "eating apple, bramley",
    "minced meat": "minced pork, minced lamb",
    "shrimp": "king prawn",
    "fish fillet": "fish filet",
    "dry bean": "haricot bean, borlotti bean",
    "runner bean": "stick bean",
    "broad bean": "faba, horse bean, windsor bean, longpod bean",
    "southern pea": "blackeyed pea, cow pea, crowder pea, field pea, purple hull pea, zipper pea",
    "gooseberry": "goosegog, jostaberry",
    "grape": "concord grape, muscadine, wine grape",
    "mushroom": "cep, porcini, chanterelle, chestnut mushroom, cremini, oyster mushroom, "
    "portobello, portobello mushroom, shiitake, shiitake mushroom",
    "lemon": "lime",
    "orange": "tangerine, mandarin, clementine, satsuma, grapefruit, blood orange, seville orange",
    "mustard green": "mustard",
}  # fmt: skip
"""Names in common use beyond those of the crop files (trade usage, no source)."""
SHARED = {
    "bean": ("snap bean", "dry bean", "lima bean", "runner bean", "broad bean"),
    "squash": ("summer squash", "winter squash"),
    "cherry": ("sweet cherry", "sour cherry"),
    "currant": ("red currant", "black currant"),
    "pea": ("shelling pea", "edible-pod pea", "dry pea", "southern pea"),
}
"""Names that several foods share."""
_LEADING = {"pea": "shelling pea"}
"""The one that is meant by a shared name where nothing else tells."""
FORMS = {
    "sauce": ("sauce", "purée"), "passata": ("purée",), fold("purée"): ("purée", "sauce"),
    "pureed": ("purée", "sauce"), "pulp": ("purée",), "mash": ("purée",), "mashed": ("purée",),
    "juice": ("juice",), "soup": ("soup",), "dried": ("dried",), "ring": ("dried",),
    "whole": ("whole",), "sliced": ("sliced",), "slice": ("sliced",), "cut": ("cut", "sliced"),
    "kernel": ("kernel",), "cob": ("cob",), "ear": ("cob",), "leaf": ("leaf",),
    "floret": ("florets",), "shelled": ("shelled",), "podded": ("shelled",),
    "half": ("halves",), "halve": ("halves",), "halved": ("halves",), "pitted": ("pitted",),
    "stoned": ("pitted",), "strip": ("strips",), "shredded": ("shredded",),
    "cube": ("cubes", "ice cubes"),
    "cubed": ("cubes",), "diced": ("cubes",), "dice": ("cubes",), "chopped": ("chopped",),
    "cooked": ("cooked",), "sealed": ("sealed",), "portioned": ("portioned",),
    "spear": ("spears",), "stalk": ("stalks",), "stem": ("stalks",), "zest": ("zest",),
    "peel": ("dried peel", "zest"), "rind": ("dried peel", "zest"), "pickle": ("freezer pickle",),
    "freezer": ("freezer pickle",), "piece": ("portioned",),
}  # fmt: skip
"""Words for what is made of a crop, in the singular, and the forms of crop files they may mean."""
_SILENT = frozenset(
    ["of", "the", "a", "an", "some", "fresh", "frozen", "ripe", "raw", "our", "my", "home",
     "homemade", "grown"]
)  # fmt: skip
_JOINED = {"applesauce": "apple sauce", "sweetcorn": "sweet corn", "off cob": "kernel",
           "off the cob": "kernel", "on the cob": "cob", "pickles": "pickle"}  # fmt: skip


_MOST_WORDS = 40
"""Words among which a food is looked for."""
_FIGURE = re.compile(r"\d")


def singular(word: str) -> str:
    """A word in the singular, roughly: "leaves" is "leaf", "tomatos" is "tomato"."""
    special = {"leaves": "leaf", "halves": "half", "loaves": "loaf", "verts": "vert"}
    if word in special:
        return special[word]
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith(("oes", "shes", "ches", "xes")):
        return word[:-2]
    if word.endswith("s") and not word.endswith(("ss", "us")) and len(word) > 3:
        return word[:-1]
    return "tomato" if word == "tomatoe" else word


def _words(said: str) -> list[str]:
    """The words of a food in the singular, without accents, commas and what tells nothing."""
    text = " ".join(re.findall(r"[^\W_]+(?:['’-][^\W_]+)*", fold(said)))
    for joined, apart in _JOINED.items():
        text = re.sub(rf"\b{joined}\b", apart, text)
    return [singular(word.replace("’", "'")) for word in text.split() if word not in _SILENT]


def name_crop(
    crop: str,
    also: Sequence[str],
    forms: Sequence[tuple[str, bool]],
    crops: dict[str, str],
    products: dict[str, str],
) -> None:
    """Add a crop's names, folded, and those of its products, each a form and whether it is the
    usual one: a product goes by every name of its crop, the usual one by these alone."""
    for called in (crop, *also):
        crops[fold(called)] = crop
        for form, usual in forms:
            full = f"{crop}, {form}"
            products[fold(f"{called}, {form}")] = full
            products.setdefault(fold(f"{called} {form}"), full)
            if usual:
                products[fold(called)] = full


def library_foods(library: Library, likely: Collection[str] = (), grown: bool = False) -> Foods:
    """The foods of a crop library, or only those that are `grown`."""
    crops: dict[str, str] = {}
    products: dict[str, str] = {}
    for each in library.crops.values():
        if not grown or each.kind != "bought":
            forms = [(product.form, product.usual) for product in each.products]
            name_crop(each.name, each.also, forms, crops, products)
    return Foods(crops, products, tuple(likely))


@dataclass(frozen=True)
class Foods:
    """The foods that can be named: `crops` and `products` lead from every folded name in use to
    the one used here; `likely` are the crops that the household has."""

    crops: Mapping[str, str]
    products: Mapping[str, str]
    likely: Collection[str] = field(default_factory=tuple)

    @cached_property
    def _called(self) -> dict[tuple[str, ...], str]:
        """From the words of each name of a crop to the crop."""
        known = set(self.crops.values())
        found = {
            tuple(_words(name)): crop
            for crop, names in OTHER_NAMES.items()
            if crop in known
            for name in names.split(",")
        }
        return found | {tuple(_words(name)): crop for name, crop in self.crops.items()}

    @cached_property
    def _forms(self) -> dict[str, dict[str, str]]:
        """The products of each crop by their form."""
        found: dict[str, dict[str, str]] = {}
        for full in dict.fromkeys(self.products.values()):
            crop, _, form = full.partition(", ")
            found.setdefault(crop, {})[form] = full
        return found

    def crop(self, said: str) -> str | None:
        """The crop of this name, or None; raises Unclear where several share it."""
        exact = self.crops.get(fold(said))
        if exact and not self._shares(said):
            return exact
        if _FIGURE.search(said):
            return None
        possible = self._crops(tuple(_words(said)))
        return self._one(said, possible) if possible else None

    def product(self, said: str) -> str | None:
        """The product of this name, or a crop's usual one, or None; raises Unclear where several
        share the name, or the crop has no such product."""
        exact = self.products.get(fold(said))
        if exact and fold(said) not in self.crops and not self._shares(said):
            return exact
        if _FIGURE.search(said):
            return None
        words = tuple(_words(said))
        for length in range(len(words), 0, -1):
            for start in range(len(words) - length + 1):
                named = words[start : start + length]
                crops = self._crops(named)
                if crops and named[-1] in FORMS and self._crops(named[:-1]) == crops:
                    continue  # "corn cob" names the corn, and a form of it
                rest = words[:start] + words[start + length :]
                if crops and (self._named_form(crops, rest) or all(word in FORMS for word in rest)):
                    return self._made(said, crops, rest)
        return None

    def _shares(self, said: str) -> bool:
        return len(said.split()) == 1 and singular(fold(said)) in SHARED

    def _crops(self, words: tuple[str, ...]) -> list[str]:
        if len(words) == 1 and words[0] in SHARED:
            return [crop for crop in SHARED[words[0]] if crop in self.crops.values()]
        return [self._called[words]] if words in self._called else []

    def _made(self, said: str, crops: Sequence[str], rest: Sequence[str]) -> str:
        """The one product of these crops that the words for the form allow."""
        if not rest:
            return self._usual(self._one(said, crops))
        possible = [
            self._forms[crop][form]
            for crop in crops
            if crop in self._forms and (form := self._form(self._forms[crop], rest)) is not None
        ]
        if not possible:
            own = [full for crop in crops for full in self._forms.get(crop, {}).values()]
            raise Unclear(
                f'"{said.strip()}" is not made here.', f"Possible: {'; '.join(own)}.", own
            )
        return self._one(said, possible)

    def _named_form(self, crops: Sequence[str], rest: Sequence[str]) -> bool:
        """Whether the words are a form of these crops by its own name."""
        forms = (form for crop in crops for form in self._forms.get(crop, {}))
        return any(_words(form) == list(rest) for form in forms)

    @staticmethod
    def _form(forms: Mapping[str, str], rest: Sequence[str]) -> str | None:
        """The form by its own name, or the first that all the words allow."""
        for form in forms:
            if _words(form) == list(rest):
                return form
        if not all(word in FORMS for word in rest):
            return None
        allowed = [form for form in FORMS[rest[0]] if form in forms]
        allowed = [f for f in allowed if all(f in FORMS[word] for word in rest)]
        return allowed[0] if allowed else None

    def _usual(self, crop: str) -> str:
        return self.products.get(fold(crop)) or next(iter(self._forms[crop].values()))

    def _one(self, said: str, possible: Sequence[str]) -> str:
        """The only one, or the only one the household has; raises Unclear."""
        here = [each for each in possible if each.partition(",")[0] in self.likely]
        if len(possible) == 1 or len(here) == 1:
            return (here or list(possible))[0]
        words = _words(said)
        leading = _LEADING.get(words[0]) if len(words) == 1 and not here else None
        if leading in possible:
            return str(leading)
        raise which(said, here or list(possible))


def meant_crop(name: str, library: Library) -> str | None:
    """The crop that people call so, where it is one alone."""
    with contextlib.suppress(Unclear):
        return library_foods(library).crop(name)
    return None


def meant_product(name: str, library: Library) -> str | None:
    """The product that people call so, where it is one alone."""
    with contextlib.suppress(Unclear):
        return library_foods(library).product(name)
    return None


def split_food(said: str, find: Callable[[str], str | None]) -> tuple[str, str] | None:
    """The food and the words around it, wherever it stands: "5 lb of green beans" is the beans and
    "5 lb". None where no food is named; raises what `find` raises of a name."""
    tokens = re.findall(r"\S+", re.sub(r"([,:])(?=\s|$)", r" \1 ", said))
    if len(tokens) > _MOST_WORDS:
        return None
    for start, end in _stretches(tokens):
        if (found := find(" ".join(tokens[start:end]))) is not None:
            return found, _around(tokens[:start], tokens[end:])
    return None


def _stretches(tokens: Sequence[str]) -> Iterator[tuple[int, int]]:
    """The stretches of words that may be a name, the longest first: none with a figure in it, nor
    one that begins or ends with a word that names nothing."""
    hollow = {*_SILENT, ",", ":", "x", "row", "bed"} | set(WORDS)
    for length in range(min(len(tokens), 7), 0, -1):
        for start in range(len(tokens) - length + 1):
            part = tokens[start : start + length]
            edges = {part[0].lower(), part[-1].lower()}
            if edges & hollow or any(re.search(r"\d", each) for each in part):
                continue
            yield start, start + length


def _around(before: Sequence[str], after: Sequence[str]) -> str:
    left, right = " ".join(before), " ".join(after)
    left = re.sub(r"\s*(?:\bof|\bof the|[,:])\s*$", "", left, flags=re.IGNORECASE)
    right = re.sub(r"^\s*[,:]\s*", "", right)
    text = f"{left} {right}".strip()
    return re.sub(r"\s+([,:])", r"\1", text)
