"""Quantities as people write them: "12 oz", "1 1/2 cups", "2 lb 3 oz", "6x10 in".

Everything becomes a float in one unit per kind: mass g, volume mL, length m, area m², time s,
power W, temperature °C. What the units hold stands in `units`.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NoReturn

from harvestplan.errors import HarvestPlanError
from harvestplan.inputs.units import FAHRENHEIT, Kind, differs_by_country, units_for

__all__ = ["EXAMPLES", "Kind", "Quantity", "QuantityError", "plain_fractions", "read_parts",
           "read_quantity", "read_rate", "read_size", "show"]  # fmt: skip


@dataclass(frozen=True)
class Quantity:
    """A number in the fixed unit of its kind."""

    value: float
    kind: Kind

    def grams(self, density: float) -> float:
        """The mass in g; a volume's by the density of what it is a volume of, in g/mL."""
        return self.value * density if self.kind == "volume" else self.value


class QuantityError(HarvestPlanError, ValueError):
    """A quantity that cannot be read; `message` says why and `hint` how to write it."""

    exit_code = 3

    def __init__(self, message: str, hint: str) -> None:
        self.message, self.hint = message, hint
        super().__init__(f"{message} {hint}")


_PRETTY = {"btu/h": "BTU/h", "kw": "kW", "ml": "mL", "l": "L", "w": "W", "c": "C", "f": "F"}

EXAMPLES: dict[Kind, str] = {
    "mass": '"12 oz" or "500 g"',
    "volume": '"12 fl oz" or "2 L"',
    "length": '"10 in" or "25 cm"',
    "area": '"4x10 ft" or "0.5 m2"',
    "time": '"35 s" or "2 h"',
    "power": '"1.8 kW" or "12000 BTU/h"',
    "temperature": '"-18 C" or "0 F"',
}


_LONGEST = 80
_LARGEST = 1e12
_NUMBER = r"(?:\d+[ -]+\d+/\d+|\d+/\d+|\d+(?:\.\d+)?|\.\d+)"
_POWER = r"[23](?![\w.])"
_UNIT = rf"[a-z°.'\"]+(?:{_POWER})?(?:[ /-]+[a-z°.]+(?:{_POWER})?)*"
_TERM = re.compile(rf"\s*(?:,\s|and\b|&)?\s*([-+]?)\s*({_NUMBER})\s*({_UNIT})", re.ASCII)
_SIMPLE = re.compile(r"(\d+(?:\.\d+)?) ?([a-z]+)", re.ASCII)
_BARE = re.compile(rf"[-+]?\s*{_NUMBER}", re.ASCII)
_BY = re.compile(r"\s*(?:\bx\b|(?<=\d)x(?=\s*\d)|(?<=['\"])x(?=\d)|×|\bby\b)\s*")
_DECIMAL_COMMA = re.compile(r"(?<![\d.])(\d+),(\d+)(?!\d)")
_SLASHES = str.maketrans(
    {
        "⁄": "/",
        "−": "-",
        "µ": "u",
        "μ": "u",
        "²": "2",
        "³": "3",
        "″": '"',
        "′": "'",
        "”": '"',
        "’": "'",
        "\u00a0": " ",
    }
)


def _tidy(text: object, kinds: Sequence[Kind]) -> str:
    """The text in lower case with plain fractions, signs and powers; refuses what is no text."""
    example = EXAMPLES[kinds[0]]
    if isinstance(text, bool) or not isinstance(text, str):
        if isinstance(text, (int, float)) and not isinstance(text, bool):
            raise QuantityError(f"{text} has no unit.", f"Write {_as_example(f'{text:g}', kinds)}.")
        raise QuantityError(f"This is not {_a(kinds)}.", f"Write for example {example}.")
    if len(text) > _LONGEST:
        message = f'"{text[:20]}..." is too long for {_a(kinds)}.'
        raise QuantityError(message, f"Write for example {example}.")
    if comma := _DECIMAL_COMMA.search(text):
        _refuse_comma(text, comma)
    return " ".join(plain_fractions(text.translate(_SLASHES)).lower().split())


def _refuse_comma(text: str, comma: re.Match[str]) -> NoReturn:
    whole, part = comma.groups()
    thousands = len(part) == 3
    ways = [] if thousands and comma.string[comma.end() :].startswith(".") else [f"{whole}.{part}"]
    if thousands:
        ways.append(whole + part)
    written = " or ".join(f'"{text.replace(comma[0], way).strip()}"' for way in ways)
    raise QuantityError(f'"{text}" has a comma inside a number.', f"Write {written}.")


def plain_fractions(text: str) -> str:
    """The text with "1/2" for "½"."""
    return text if text.isascii() else "".join(_plain_fraction(char) for char in text)


def _plain_fraction(char: str) -> str:
    """Turn "½" into " 1/2"; leave other characters alone."""
    apart = unicodedata.normalize("NFKD", char).replace("⁄", "/")
    return f" {apart}" if re.fullmatch(r"\d/\d+", apart) else char


def _named(kinds: Sequence[Kind]) -> str:
    names = {"time": "length of time"}
    return " or ".join(names.get(kind, kind) for kind in kinds)


def _a(kinds: Sequence[Kind]) -> str:
    named = _named(kinds)
    return f"{'an' if named[0] in 'aeiou' else 'a'} {named}"


def _as_example(number: str, kinds: Sequence[Kind]) -> str:
    units = {
        "mass": ("oz", "g"),
        "volume": ("fl oz", "mL"),
        "length": ("in", "cm"),
        "area": ("ft2", "m2"),
        "time": ("s", "min"),
        "power": ("W", "kW"),
        "temperature": ("F", "C"),
    }
    return " or ".join(f'"{number} {unit}"' for unit in units[kinds[0]])


def _number(written: str, text: str) -> float:
    """The value of "3", "2.5", "1/2" or "1 1/2"."""
    value = 0.0
    for part in re.split(r"[ -]+", written):
        top, _, bottom = part.partition("/")
        if bottom and not float(bottom):
            raise QuantityError(f'"{text}" divides by zero.', 'Write a fraction like "1/2".')
        value += float(top) / float(bottom) if bottom else float(top)
    return value


def _look_up(word: str, measures: str) -> tuple[str, Kind, float] | None:
    """The tidy name, kind and factor of a unit word, or None."""
    units = units_for(measures)
    name = " ".join(word.replace(".", " ").replace("-", " ").split()).removesuffix(" and")
    name = re.sub(r"\s*/\s*", "/", name)
    for form in (name, name.removesuffix("s")):
        if form in units:
            return (form, *units[form])
    return None


def _refuse_unit(word: str, number: str, kinds: Sequence[Kind], *, measures: str) -> NoReturn:
    """Say why `word` is no unit here, and what to write."""
    word = word.strip()
    base = word.rstrip(".").removesuffix("s")
    example = f"Write for example {EXAMPLES[kinds[0]]}."
    if "volume" in kinds and differs_by_country(base):
        raise QuantityError(
            f'"{word}" differs between the US and the UK.',
            f'Write mL or L, or say whose: "{number} US {base}" or "{number} UK {base}".',
        )
    near: list[str] = []
    if len(word) >= 3:
        names = [name for name, (kind, _) in units_for(measures).items() if kind in kinds]
        near = difflib.get_close_matches(word, names, n=1, cutoff=0.6)
    hint = f'Did you mean "{number} {_PRETTY.get(near[0], near[0])}"?' if near else example
    raise QuantityError(f'I do not know the unit "{word}" for {_a(kinds)}.', hint)


def _refuse_kind(
    name: str, kind: Kind, number: str, *, kinds: Sequence[Kind], measures: str
) -> NoReturn:
    """Say that a known unit measures another kind of thing, and what to write."""
    twins = {
        ("oz", "volume"): "fl oz",
        ("ounce", "volume"): "fl oz",
        ("fl oz", "mass"): "oz",
        ("fluid ounce", "mass"): "oz",
        ("m", "time"): "min",
        ("ft", "area"): "ft2",
        ("m", "area"): "m2",
        ("ft", "volume"): "cu ft",
        ("in", "area"): "in2",
        ("m", "volume"): "m3",
        ("c", "volume"): "cups",
    }
    wanted = next((twins[name, k] for k in kinds if (name, k) in twins), None)
    hint = f'Write "{number} {wanted}".' if wanted else f"Write for example {EXAMPLES[kinds[0]]}."
    name = _PRETTY.get(name, name)
    message = f'"{name}" measures {_named([kind])}, but {_a(kinds)} is wanted here.'
    raise QuantityError(message, hint)


def _sum_terms(tidy: str, text: str, kinds: Sequence[Kind], *, measures: str) -> Quantity:
    """Add up the terms of "2 lb 3 oz"; all are of one kind among `kinds`."""
    total, found, end = 0.0, [], 0
    while term := _TERM.match(tidy, end):
        sign, number, word = term.groups()
        unit = _look_up(word, measures) or _refuse_unit(word, number, kinds, measures=measures)
        name, kind, factor = unit
        if kind not in kinds:
            _refuse_kind(name, kind, number, kinds=kinds, measures=measures)
        if sign == "-" and kind != "temperature":
            hint = f"{_a([kind]).capitalize()} is zero or more."
            raise QuantityError(f'"{text}" is below zero.', hint)
        value = _number(number, text) * (-1 if sign == "-" else 1)
        total += (value - 32) * factor if name in FAHRENHEIT else value * factor
        found.append(kind)
        end = term.end()
    if not found or tidy[end:].strip():
        _refuse_shape(tidy, text, kinds)
    if len(set(found)) > 1 or (found[0] == "temperature" and len(found) > 1):
        raise QuantityError(
            f'"{text}" mixes things that do not add up.', f"Write for example {EXAMPLES[kinds[0]]}."
        )
    if not total < _LARGEST:
        raise QuantityError(f'"{text}" is too large a number.', "Check the digits.")
    if found[0] == "temperature" and total < -273.15:
        raise QuantityError(f'"{text}" is colder than anything can be.', "Check the number.")
    return Quantity(total, found[0])


def _refuse_shape(tidy: str, text: str, kinds: Sequence[Kind]) -> NoReturn:
    if _BARE.fullmatch(tidy):
        raise QuantityError(f'"{text}" has no unit.', f"Write {_as_example(tidy, kinds)}.")
    raise QuantityError(
        f'I cannot read "{text}" as {_a(kinds)}.', f"Write for example {EXAMPLES[kinds[0]]}."
    )


@lru_cache(maxsize=4096)
def _read(text: str, kinds: tuple[Kind, ...], measures: str) -> Quantity:
    units = units_for(measures)
    simple = _SIMPLE.fullmatch(text)
    if simple and (unit := units.get(simple[2])) and unit[0] in kinds and simple[2] != "f":
        value = float(simple[1]) * unit[1]
        if value < _LARGEST:
            return Quantity(value, unit[0])
    tidy = _tidy(text, kinds)
    if "area" in kinds and len(sides := _BY.split(tidy)) == 2 and all(sides):
        wide, long = _sides(sides, text, measures)
        return Quantity(wide * long, "area")
    return _sum_terms(tidy, text, kinds, measures=measures)


def read_quantity(text: object, kinds: Kind | Sequence[Kind], measures: str) -> Quantity:
    """Read `text` as a quantity of one of `kinds`.

    Raises QuantityError, which says the way to write it.
    """
    kinds = (kinds,) if isinstance(kinds, str) else tuple(kinds)
    if not isinstance(text, str):
        _tidy(text, kinds)
    return _read(str(text), kinds, measures)


def _sides(parts: Sequence[str], text: str, measures: str) -> tuple[float, ...]:
    """Lengths in m of "6", "10 in": a side without a unit takes the next one's."""
    sides: list[float] = []
    word = ""
    if _BARE.fullmatch(parts[-1]):
        raise QuantityError(f'"{text}" has no unit.', f'Write "{text.strip()} in" or "{text} cm".')
    for part in reversed(parts):
        if _BARE.fullmatch(part):
            part = f"{part} {word}"
        elif term := _TERM.fullmatch(part):
            word = term[3]
        sides.append(_sum_terms(part, text, ("length",), measures=measures).value)
    return tuple(reversed(sides))


def read_size(text: object, measures: str) -> tuple[float, ...]:
    """Read "6x10 in" or "300x360x110 mm" as two or three lengths in m; raises QuantityError."""
    tidy = _tidy(text, ("length",)) if isinstance(text, str) else ""
    parts = [part for part in _BY.split(tidy) if part]
    if len(parts) not in (2, 3):
        raise QuantityError(
            "This is not a size of two or three lengths.",
            'Write for example "6x10 in" or "300x360x110 mm".',
        )
    return _sides(parts, str(text), measures)


_PER = re.compile(r"\s+per\s+|(?<=[^\d\s/])\s*/\s*")


def read_rate(text: object, numerator: Kind, denominator: Kind, *, measures: str) -> float:
    """Read "120 lb per 100 ft" or "0.51 kg/L" in the kinds' own units (g/m, g/mL, ...).

    Raises QuantityError. A denominator without a number means one of it.
    """
    top, bottom = read_parts(text, (numerator,), (denominator,), measures=measures)
    return top.value / bottom.value


def read_parts(
    text: object, above: Sequence[Kind], below: Sequence[Kind], *, measures: str
) -> tuple[Quantity, Quantity]:
    """What stands before and after "per", each of one of its kinds; raises QuantityError."""
    example = f"Write for example {_rate_example(above[0], below[0])}."
    if not isinstance(text, str):
        raise QuantityError(f"This is not {_a(above)} per {_named(below)}.", example)
    parts = _PER.split(text.strip(), maxsplit=1)
    if len(parts) != 2:
        message = f'"{text}" does not say per how much {_named(below)}.'
        raise QuantityError(message, example)
    under = parts[1] if re.match(r"[\d½¼¾⅓⅔⅛.+-]", parts[1]) else f"1 {parts[1]}"
    top = read_quantity(parts[0], above, measures)
    bottom = read_quantity(under, below, measures)
    if bottom.value == 0:
        raise QuantityError(f'"{text}" divides by zero.', example)
    return top, bottom


def _rate_example(numerator: Kind, denominator: Kind) -> str:
    tops = {"mass": "1.2 lb", "volume": "1 gal", "time": "12 min"}
    bottoms = {"mass": "kg", "volume": "L", "length": "ft", "area": "ft2"}
    return f'"{tops.get(numerator, "1")} per {bottoms.get(denominator, "1")}"'


# What results are shown in: (from this value on, unit written, factor), largest first.
_SHOWN: dict[str, dict[Kind, tuple[tuple[float, str, float], ...]]] = {
    "metric": {
        "mass": ((999.5, "kg", 1000.0), (0, "g", 1.0)),
        "volume": ((999.5, "L", 1000.0), (0, "mL", 1.0)),
        "length": ((1, "m", 1.0), (0.01, "cm", 0.01), (0.0005, "mm", 0.001), (0, "um", 1e-6)),
        "area": ((0.1, "m2", 1.0), (0, "cm2", 1e-4)),
    },
    "US": {
        "mass": ((453.0, "lb", 453.59237), (0, "oz", 28.349523125)),
        "volume": (
            (22000.0, "cu ft", 28316.846592), (946.0, "qt", 946.352946),
            (236.0, "cups", 236.5882365), (0, "fl oz", 29.5735295625),
        ),
        "length": ((0.7, "ft", 0.3048), (0.0011, "in", 0.0254), (0, "mil", 0.0000254)),
        "area": ((0.09, "sq ft", 0.09290304), (0, "sq in", 0.00064516)),
    },
    "UK": {
        "volume": (
            (60000.0, "L", 1000.0), (4546.0, "gal", 4546.09),
            (568.0, "pints", 568.26125), (0, "fl oz", 28.4130625),
        ),
    },
}  # fmt: skip
_SHOWN["UK"] = {**_SHOWN["US"], **_SHOWN["UK"]}
_SHOWN_ALIKE: dict[Kind, tuple[tuple[float, str, float], ...]] = {
    "time": ((172800, "days", 86400.0), (7200, "h", 3600.0), (120, "min", 60.0), (0, "s", 1.0)),
    "power": ((999.5, "kW", 1000.0), (0, "W", 1.0)),
}


def show(value: float, kind: Kind, measures: str) -> str:
    """Print a quantity for people, to three digits: 340.2 g is "12 oz" in US measures."""
    if kind == "temperature":
        return f"{round(value * 9 / 5 + 32)} F" if measures == "US" else f"{round(value)} C"
    rows = _SHOWN_ALIKE.get(kind) or _SHOWN[measures][kind]
    _, unit, factor = next(row for row in rows if abs(value) >= row[0])
    amount = value / factor
    digits = ".0f" if amount >= 100 else ".3g" if amount >= 0.001 else ".0f"
    number = f"{amount:{digits}}"
    if number == "1" and unit in ("cups", "pints", "days"):
        unit = unit.removesuffix("s")
    return f"{number} {unit}"
