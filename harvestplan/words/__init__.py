"""Phrases shared by everything that is read by people: amounts, dates, clock times, lists."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from harvestplan.errors import steers
from harvestplan.inputs.dates import DAYS, MONTHS, say
from harvestplan.words.food_words import crop_many, product_words, the_batch
from harvestplan.words.kitchen_measures import (
    about,
    area,
    as_ice,
    at_least,
    at_most,
    ice_mass,
    inches,
    liquid,
    mass,
    spooned,
    temperature,
    volume,
)
from harvestplan.words.pieces import in_pieces

if TYPE_CHECKING:
    from harvestplan.inputs.season import Measures

__all__ = [
    "about", "about_span", "area", "as_ice", "at_least", "at_most", "clean", "clock", "crop_many",
    "day", "food_name", "ice_mass", "in_pieces", "inches", "joined", "liquid", "mass", "money",
    "month", "one_line", "pack_name", "packs", "packs_called", "plural", "product_words", "span",
    "spooned", "temperature", "the_batch", "time_left", "volume",
]  # fmt: skip


def clean(text: str) -> str:
    """Text safe for any file here: nothing that steers what shows it, but line ends.

    Line and paragraph separators (U+2028, U+2029, CR) become plain line ends.
    """
    text = re.sub("\r\n?|[\u2028\u2029\u0085\v\f]", "\n", text).replace("\t", " ")
    return "".join(letter for letter in text if letter == "\n" or not steers(letter))


def one_line(text: str, limit: int | None = None) -> str:
    """Clean text on one line, cut with … to at most `limit` characters."""
    line = " ".join(clean(text).split())
    if limit is not None and len(line) > limit:
        line = line[: limit - 1].rstrip(" ,;") + "…"
    return line


def plural(number: int, one: str, many: str | None = None) -> str:
    """Like "1 pouch", "6 pouches"."""
    return f"{number} {one if number == 1 else many or one + 's'}"


MANY = {"pouch": "pouches", "zip bag": "zip bags", "box": "boxes", "pack": "packs"}
"""Kinds of containers, and what they are called together."""


def packs(count: int, kind: str | None) -> str:
    """Like "1 box", "6 zip bags"; an unknown kind is called a pouch."""
    one = kind if kind in MANY else "pouch"
    return plural(count, one, MANY[one])


def packs_called(count: int, kind: str | None, name: str) -> str:
    """Like "6 quart bags" where the name says what it is, else "6 zip bags quart"."""
    return f"{count} {pack_name(count, kind, name)}"


def pack_name(count: int, kind: str | None, name: str) -> str:
    """The same without the number."""
    last = name.rpartition(" ")[2]
    many = {"bag": "bags", "box": "boxes", "jar": "jars", "pouch": "pouches"}.get(last)
    if many is None or name == last:
        return f"{packs(count, kind).partition(' ')[2]} {name}"
    return name if count == 1 else name.removesuffix(last) + many


def joined(items: Sequence[str]) -> str:
    """Like "a", "a and b", "a, b and c"."""
    if len(items) < 2:
        return "".join(items)
    return ", ".join(items[:-1]) + " and " + items[-1]


def day(date: dt.date, year: bool = False) -> str:
    """Like "Thu 15 July" or, with `year`, "Thu 15 July 2027"."""
    words = f"{DAYS[date.weekday()]} {say(date)}"
    return f"{words} {date.year}" if year else words


def month(date: dt.date) -> str:
    """Month and year: July 2027."""
    return f"{MONTHS[date.month - 1]} {date.year}"


def clock(time: dt.datetime, measures: Measures) -> str:
    """Clock time as the household reads it: "6:05 pm" with US measures, else "18:05"."""
    if measures != "US":
        return f"{time.hour:02d}:{time.minute:02d}"
    return f"{(time.hour - 1) % 12 + 1}:{time.minute:02d} {'am' if time.hour < 12 else 'pm'}"


def food_name(product: str, limit: int | None = None) -> str:
    """A product as people name it, on one line."""
    return one_line(product_words(product), limit)


def money(amount: float, currency: str) -> str:
    """A price, with the household's currency: "$12.50", "12.50 EUR", or "12.50" alone."""
    sign = one_line(currency, 8)
    if not sign:
        return f"{amount:.2f}"
    return f"{amount:.2f} {sign}" if sign[-1].isalpha() else f"{sign}{amount:.2f}"


SOON, LONG = 2.0, 90.0
"""Seconds left of which nobody needs to hear, and from which on minutes are told."""


def time_left(seconds: float) -> str:
    """Like "about 40 s to go", "3 min to go"; nothing where it is soon."""
    if seconds < SOON:
        return ""
    return f"about {seconds:.0f} s to go" if seconds < LONG else f"{seconds / 60:.0f} min to go"


def span(seconds: float) -> str:
    """A stretch of time as a timer is set: "40 s", "2 min 30 s", "1 h 20 min"."""
    if seconds < 60:
        return f"{seconds:g} s"
    minutes, rest = divmod(round(seconds), 60)
    if minutes < 60:
        return f"{minutes} min {rest} s" if rest else f"{minutes} min"
    hours, minutes = divmod(minutes + (rest >= 30), 60)
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def about_span(seconds: float) -> str:
    """A stretch that was reckoned, to the half minute of some minutes: "40 s", "2 min"."""
    step = 10 if seconds < 55 else 30
    return span(max(round(seconds / step), 1) * step)
