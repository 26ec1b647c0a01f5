"""Amounts as people say them: "8,5 l", "half a bushel", "2000" for watts where watts are asked."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Sequence

from harvestplan.inputs.quantities import Quantity, QuantityError, read_quantity
from harvestplan.inputs.spoken.said_numbers import decimals, figures
from harvestplan.inputs.spoken.unclear import Unclear, which
from harvestplan.inputs.units import Kind, differs_by_country

PLAUSIBLE: dict[Kind, tuple[float, float]] = {"mass": (5, 500e3), "volume": (2, 1e6)}
"""g and mL of food that a household tells of at a time: only used to choose between readings of
one writing (own judgement)."""
_PLAIN = re.compile(r"\d{1,9}(?:\.\d\d?)? ?(?:kg|g|lb|oz)", re.ASCII)
"""What has one reading at sight."""
_LETTERS = re.compile(r"[a-zµ°\"'″′]+\.?", re.IGNORECASE)


def read_amount(
    said: str,
    kinds: Kind | Sequence[Kind],
    measures: str,
    *,
    units: Sequence[str] = (),
    fits: Callable[[float], bool] | None = None,
) -> tuple[Quantity, str]:
    """The quantity, and how it is written plainly with its unit: "8.5 l".

    `units` are those of the question, for a number that stands alone; `fits` tells which values it
    can take, and chooses between readings. Raises Unclear, with both where two are possible.
    """
    kinds = (kinds,) if isinstance(kinds, str) else tuple(kinds)
    if _PLAIN.fullmatch(said):
        with contextlib.suppress(QuantityError):
            return read_quantity(said, kinds, measures), said
    found: dict[float, tuple[Quantity, str]] = {}
    first: QuantityError | None = None
    for text in _writings(said, kinds, measures, units):
        try:
            quantity = read_quantity(text, kinds, measures)
            same = text.lower() == " ".join(said.lower().split())
            found.setdefault(round(quantity.value, 9), (quantity, said.strip() if same else text))
        except QuantityError as error:
            first = first or error
    if not found:
        raise _refused(said, first)
    likely = [each for each in found.values() if _likely(each[0], fits)]
    if len(likely) == 1 and (len(found) == 1 or fits or measures == "metric"):
        return likely[0]
    if len(found) == 1:
        quantity, text = next(iter(found.values()))
        if fits is None and not _likely(quantity, None) and re.search(r"\d,\d", said):
            raise which(said, [text, said.strip().replace(",", ".", 1)])
        return quantity, text
    raise which(said, [text for _, text in (likely or found.values())])


def _likely(quantity: Quantity, fits: Callable[[float], bool] | None) -> bool:
    if fits is not None:
        return fits(quantity.value)
    low, high = PLAUSIBLE.get(quantity.kind, (0, float("inf")))
    return low <= quantity.value <= high


def _writings(said: str, kinds: Sequence[Kind], measures: str, units: Sequence[str]) -> list[str]:
    """The plain ways in which the words may be meant, with units."""
    texts = decimals(figures(said), measures)
    if not _LETTERS.search(texts[0]):
        return [f"{text.strip()} {unit}" for text in texts for unit in units] or texts
    texts = [_usual(text, kinds) for text in texts]
    if measures == "metric" and "volume" in kinds:
        texts = [whose for text in texts for whose in _whose(text)]
    return texts


def _usual(text: str, kinds: Sequence[Kind]) -> str:
    """With the unit's usual name: "btu" for BTU/h, "c" for cups."""
    if "power" in kinds:
        text = re.sub(r"\bbtus?\.?(?:/hr?)?\s*(?:an? hour|per hour)?$", "btu/h", text)
    if "volume" in kinds and "temperature" not in kinds:
        text = re.sub(r"(?<=\d) ?c\.?$", " cups", text)
    return re.sub(r"(?<=\d) ?(?:gr|grs)\.?$", " g", text) if "mass" in kinds else text


def _whose(text: str) -> list[str]:
    """A measure that differs by country, once for each."""
    found = re.fullmatch(r"([\d\s./½¼¾⅓⅔⅛-]+)\s*([a-z. ]+)", text)
    base = found[2].strip(" .").removesuffix("s") if found else ""
    if found and differs_by_country(base) and base not in ("cup", "tbsp", "tsp", "tablespoon",
                                                           "teaspoon"):  # fmt: skip
        return [f"{found[1].strip()} {whose} {found[2].strip()}" for whose in ("US", "UK")]
    return [text]


def _refused(said: str, error: QuantityError | None) -> Unclear:
    if error is None:
        return Unclear(f'"{said}" has no unit.', "Write it with its unit.")
    return Unclear(error.message, error.hint)
