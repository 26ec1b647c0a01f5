"""Phrases shared by everything that is read by people: amounts, dates, clock times, lists."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Sequence

from harvestplan.errors import steers
from harvestplan.inputs.dates import DAYS, MONTHS, say
from harvestplan.inputs.quantities import show
from harvestplan.inputs.season import Measures


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


def mass(grams: float, measures: Measures) -> str:
    """Grams in the household's measures."""
    return show(grams, "mass", measures)


def about(grams: float, measures: Measures) -> str:
    """Like `mass`, to the two figures that a forecast is good for: "14 oz", "3.6 lb"."""
    number, _, unit = mass(grams, measures).partition(" ")
    value = float(number.replace(",", ""))
    places = 1 - math.floor(math.log10(value)) if value else 0
    return f"{round(value, places):g} {unit}"


def portion_mass(grams: float, measures: Measures) -> str:
    """What a portion is called: to the quarter ounce, so that 283 g is "10 oz"."""
    if measures != "metric":
        quarter = 28.349523125 / 4
        grams = max(1, round(grams / quarter)) * quarter
    return mass(grams, measures)


def volume(millilitres: float, measures: Measures) -> str:
    """Millilitres in the household's measures."""
    return show(millilitres, "volume", measures)


_SPOONS: dict[str, tuple[tuple[str, float, float], ...]] = {
    "US": (("cup", 236.5882365, 0.25), ("tbsp", 14.78676478, 2), ("tsp", 4.928921594, 0)),
    "UK": (("pint", 568.26125, 0.25), ("tbsp", 15.0, 2), ("tsp", 5.0, 0)),
}
"""Measures with mL and the least of each that is told in it."""


def spooned(grams: float, millilitres: float | None, measures: Measures) -> str:
    """What is measured out in a kitchen: "1 1/2 cups", "3/4 tsp"; a mass for metric households, and
    where the volume is unknown."""
    if measures == "metric" or millilitres is None:
        return mass(grams, measures)
    rows, amount = _SPOONS[measures], millilitres
    name, size, _ = next(row for row in rows if amount >= row[1] * (row[2] - 0.05))
    quarters = round(4 * amount / size)
    if not quarters:
        return "a pinch"
    whole, rest = divmod(quarters, 4)
    number = " ".join(filter(None, (str(whole or ""), ("", "1/4", "1/2", "3/4")[rest])))
    return f"{number} {name}{'s' if name in ('cup', 'pint') and quarters > 4 else ''}"


def area(square_cm: float, measures: Measures) -> str:
    """Square centimetres in the household's measures."""
    return show(square_cm / 1e4, "area", measures)


def inches(millimetres: float, measures: Measures) -> str:
    """A short length: "1 1/2 in" to the quarter inch, or "38 mm" with metric measures."""
    if measures == "metric":
        return f"{millimetres:.0f} mm"
    whole, quarters = divmod(round(millimetres / 6.35), 4)
    parts = (str(whole) if whole or not quarters else "", ("", "1/4", "1/2", "3/4")[quarters])
    return " ".join(part for part in (*parts, "in") if part)


def temperature(celsius: float, measures: Measures) -> str:
    """°C in the household's measures."""
    return show(celsius, "temperature", measures).replace(" ", " °")


def span(seconds: float) -> str:
    """A stretch of time as a timer is set: "40 s", "2 min 30 s", "1 h 20 min"."""
    if seconds < 60:
        return f"{seconds:g} s"
    minutes, rest = divmod(round(seconds), 60)
    if minutes < 60:
        return f"{minutes} min {rest} s" if rest else f"{minutes} min"
    hours, minutes = divmod(minutes + (rest >= 30), 60)
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"
