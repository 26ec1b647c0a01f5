"""Find the crop or product that a line of the diary tells of, or say why it is none."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Literal

from harvestplan.inputs.explain import suggestion
from harvestplan.inputs.ids import QUOTES, fold
from harvestplan.inputs.safety_answers import safety_answer
from harvestplan.inputs.spoken.said_foods import split_food
from harvestplan.inputs.spoken.said_numbers import figures
from harvestplan.inputs.spoken.unclear import Unclear
from harvestplan.records.names import Names

QUOTED = re.compile(rf"[{QUOTES}](.+?)[{QUOTES}] ?(.*)")
"""A name in quotes, and what follows it."""

Kind = Literal["crop", "food", "product", "product or crop"]


def known_name(rest: str, names: Names, kind: Kind) -> tuple[str, str]:
    """The food at the start of `rest` as it is called here, and what follows it; where an amount
    stands first, as in "6 bags of beans", it comes after."""
    find = _finder(names, kind, rest)
    if quoted := QUOTED.fullmatch(rest):
        if name := find(quoted[1]):
            return name, quoted[2]
        raise _unknown(quoted[1], names, kind)
    words = rest.split()
    for length in range(min(len(words), 8), 0, -1):
        if name := find(" ".join(words[:length]).rstrip(",")):
            if words[length:] and words[length][0].isalpha():
                _refuse_unsafe(_without_numbers(rest), " ".join(words[:length]))
            return name, " ".join(words[length:])
    if re.match(r"[\d½¼¾⅓⅔⅛]", figures(rest)) and (found := split_food(rest, find)):
        _refuse_unsafe(re.sub(r"\d+", " ", rest), found[0])
        return found
    raise _unknown(_without_numbers(rest), names, kind)


def _finder(names: Names, kind: Kind, rest: str) -> Callable[[str], str | None]:
    """Finds a name of this kind; that something is unsafe is told before which is meant."""
    foods = names.foods

    def find(said: str) -> str | None:
        try:
            if kind in ("product", "product or crop") and (product := foods.product(said)):
                return product
            return None if kind == "product" else foods.crop(said)
        except Unclear:
            if (answer := safety_answer(_without_numbers(rest))) is not None:
                raise Unclear(answer.reason(rest), answer.advice) from None
            raise

    return find


def _refuse_unsafe(meant: str, known: str) -> None:
    """Where what is `meant` begins with a known name, but is something that nobody should make."""
    answer = safety_answer(meant) if safety_answer(known) is None else None
    if answer is not None:
        raise Unclear(answer.reason(meant), answer.advice)


def _without_numbers(rest: str) -> str:
    """What stands before the first number."""
    return re.split(r"(?:^| )(?=[\d.½¼¾⅓⅔])", rest)[0]


def _unknown(written: str, names: Names, kind: Kind) -> Unclear:
    known = {
        "product": names.products,
        "product or crop": {**names.crops, **names.products},
    }.get(kind, names.crops)
    hint = suggestion(fold(written), known) or "See the list: harvestplan crops"
    if not written:
        return Unclear(f"Which {kind} was it?", hint)
    if (answer := safety_answer(written)) is not None:
        return Unclear(answer.reason(written), answer.advice)
    return Unclear(f'I know no {kind} "{written}".', hint)
