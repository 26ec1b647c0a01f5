"""The page of cautions: each with its hazard, its source and where it is shown."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass

from harvestplan.inputs.crops import Crop, Library, Product
from harvestplan.inputs.safety_answers import ANSWERS
from harvestplan.outputs.cautions import CAUTIONS, NEVER, TRADE, Caution, Page
from harvestplan.outputs.sources import Numbered, cited, uncited
from harvestplan.outputs.text_page import wrapped
from harvestplan.words import joined, one_line

HEAD = (
    "What to take care of, why, and where it is shown. Your local food-safety authority, and the "
    "manual of your own equipment, have the last word."
)
PAGES: dict[Page, str] = {
    "book": "in the book",
    "card": "on the capacity card",
    "stock": "under what is in store",
    "crops": "under the list of crops",
}


@dataclass(frozen=True)
class CautionRow:
    """One line of the page; `sources` are ids of the library's sources."""

    group: str
    hazard: str
    text: str
    shown: str
    sources: tuple[str, ...]


def rows(library: Library, names: Sequence[str] | None = None) -> list[CautionRow]:
    """Every caution in force: the program's own, those of the products `names` (None: of all the
    library), and what is refused."""
    foods = [(crop, product) for crop in library.crops.values() for product in crop.products]
    if names is not None:
        foods = [found for name in names if (found := library.find_product(name))]
    crops = {crop.name: crop for crop, _ in foods}
    return [
        *(
            CautionRow("always", c.hazard, _text(c), shown=_shown(c), sources=c.sources)
            for c in CAUTIONS
        ),
        *_of_foods(foods, library),
        *(
            CautionRow("refused", each.what, each.why, shown=_REFUSED, sources=each.sources)
            for each in NEVER
        ),
        *(row for crop in crops.values() for row in _refused(crop)),
        *(
            CautionRow("refused", a.asked, f"{a.why}; {a.instead}", shown=_ASKED, sources=a.sources)
            for a in ANSWERS
        ),
    ]


def cautions_text(library: Library, names: Sequence[str] | None = None) -> str:
    """The page, wrapped, with the sources at the end."""
    found = rows(library, names)
    sources = Numbered(library.sources)
    titles = {"always": "In every kitchen", "food": "Of single foods", "refused": "Never planned"}
    lines = wrapped(HEAD, hang=0)
    for group, title in titles.items():
        members = [row for row in found if row.group == group]
        lines += ["", f"{title} ({len(members)})"] if members else []
        for row in members:
            lines += ["", *wrapped(f"  {_named(row)}")]
            marks = ", ".join(map(sources.mark, row.sources))
            lines += wrapped(f"    Shown {row.shown}. Source: {marks}.")
    listed = [part for line in sources.lines() for part in wrapped(f"  {line}")]
    return "\n".join([*lines, "", "Sources", *listed])


def cautions_json(library: Library, names: Sequence[str] | None = None) -> str:
    """The same as JSON, with a format number."""
    table = [asdict(row) for row in rows(library, names)]
    return json.dumps({"format": 1, "cautions": table}, ensure_ascii=False, indent=1)


def _named(row: CautionRow) -> str:
    """The text behind its hazard, unless it begins with that itself."""
    known = row.text.lower().startswith(row.hazard.lower())
    words = row.text if known else f"{row.hazard}: {row.text}"
    return words[0].upper() + words[1:]


def _text(caution: Caution) -> str:
    other = f" Where packs are closed by hand: {caution.by_hand}" if caution.by_hand else ""
    return caution.text.format("…") + other


def _shown(caution: Caution) -> str:
    places = [PAGES[page] for page in caution.pages]
    if caution.steps:
        when = f", where {caution.when}" if caution.when else ""
        places.append(f"{_STEPS} {joined(caution.steps)}{when}")
    return joined(places)


_STEPS = "on run sheets and in the calendar at"
_FOOD = "on run sheets, in the book and under harvestplan crops with the food's name"
_ASKED = "where somebody asks for it"
_REFUSED = "on the capacity card and in the plan's notes where one is wanted"


def _of_foods(foods: Sequence[tuple[Crop, Product]], library: Library) -> Iterator[CautionRow]:
    """One row for what several foods share; the crop files name their sources in brackets."""
    shared: dict[tuple[str, str], list[str]] = {}
    for crop, product in foods:
        told = [(text, _FOOD) for text in product.cautions]
        told += [(s.caution, f"{_STEPS} {s.step}") for s in product.steps if s.caution]
        for text, where in dict.fromkeys(told):
            shared.setdefault((one_line(text), where), []).append(f"{crop.name}, {product.form}")
    for (text, where), names in shared.items():
        named = cited(text, library.sources) or TRADE
        yield CautionRow(
            "food", "; ".join(names), uncited(text, library.sources), shown=where, sources=named
        )


def _refused(crop: Crop) -> Iterator[CautionRow]:
    for refusal in crop.refused:
        where = f"under harvestplan crops {crop.name!r}"
        what = f"{crop.name}, {refusal.form}"
        yield CautionRow(
            "refused", what, one_line(refusal.why), shown=where, sources=(refusal.source,)
        )
