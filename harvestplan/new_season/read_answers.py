"""Reads what a person answers to a question, and says back what was understood.

Each reader gives (what goes into the file, how it was understood) or raises Unclear with the way
to write it. What words mean is told in `inputs/spoken`.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import re
from collections.abc import Collection, Sequence

from harvestplan.inputs.crops import Crop, Library
from harvestplan.inputs.dates import MONTHS
from harvestplan.inputs.explain import nearest
from harvestplan.inputs.quantities import Kind, QuantityError, read_quantity, show
from harvestplan.inputs.ranges import check_ranges
from harvestplan.inputs.safety_answers import safety_answer
from harvestplan.inputs.season_kitchen import Freezer, SeasonTable
from harvestplan.inputs.spoken.said_amounts import read_amount
from harvestplan.inputs.spoken.said_dates import read_date, read_month_day
from harvestplan.inputs.spoken.said_foods import library_foods, split_food
from harvestplan.inputs.spoken.said_hours import FreeHours, read_hours
from harvestplan.inputs.spoken.said_numbers import decimals, figures
from harvestplan.inputs.spoken.unclear import Unclear, which
from harvestplan.inputs.units import differs_by_country
from harvestplan.new_season.starter import Grown, WantAnswer
from harvestplan.new_season.zones import read_zone
from harvestplan.words import day, plural

UNITS = {"altitude": ("ft", "m"), "volume": ("qt", "L"), "used": ("cu ft", "L"),
         "bar": ("in", "cm")}  # fmt: skip
"""A usual unit for each key, with pints and with litres, for numbers that stand alone."""
PLAUSIBLE = {"power": (300, 12e3), "altitude": (5, 5000), "bar": (0.1, 1.0)}
"""W and m that kitchens and gardens have: only to choose between readings (own judgement)."""
AFTER_FROST = {"tender": 7, "half-hardy": -14, "hardy": -28}
"""Days from the last frost to sowing or setting out, offered as a first guess (common practice,
no source)."""


def words(said: str) -> tuple[str, str]:
    """A name: anything that is not empty."""
    name = " ".join(said.split())
    if not 0 < len(name) <= 80:
        raise Unclear("Write a few words.")
    return name, ""


def measures(said: str) -> tuple[str, str]:
    """US, UK or metric."""
    known = {"us": "US", "uk": "UK", "metric": "metric", "usa": "US", "imperial": "UK"}
    found = known.get(said.strip().lower().replace(".", ""))
    if found is None:
        raise Unclear("Write US, UK or metric.")
    meant = {"US": "a pint is 473 mL", "UK": "a pint is 568 mL", "metric": "g, kg, mL and L"}
    return found, meant[found]


def zone(said: str) -> tuple[str, str]:
    """A time zone by its own name, the name of a city in it, or a country with one zone."""
    return read_zone(said)


def whole(said: str, low: int, high: int) -> tuple[int, str]:
    """A whole number from `low` to `high`."""
    if not said.strip().isdecimal() or not low <= int(said) <= high:
        raise Unclear(f"Write a whole number from {low} to {high}.")
    return int(said), ""


def amount(
    said: str, kind: Kind, model: type[SeasonTable], *, key: str, whose: str
) -> tuple[str, str]:
    """A quantity for `key` of a table, in the household's measures (`whose`); a number alone is in
    the question's own unit."""
    low, high = PLAUSIBLE.get(key, (0.0, float("inf")))
    value, text = read_amount(
        said,
        kind,
        whose,
        units=usual_units(model, key, whose),
        fits=(lambda value: low <= value <= high) if key in PLAUSIBLE else None,
    )
    fields = dict.fromkeys(model.model_fields) | {key: value.value}
    for _, message, hint in check_ranges(model.model_construct(**fields), whose):
        raise Unclear(f"{message.split(': ', 1)[-1].capitalize()} {hint}")
    return pinned(text, kind, whose), metric(value.value, kind, text, said)


def usual_units(model: type[SeasonTable], key: str, whose: str) -> tuple[str, ...]:
    """The units that a number alone may be in: those of the question."""
    if key == "power":
        return ("W", "kW")
    if model is Freezer and whose != "metric":
        return ("cu ft",) if whose == "US" else ("L",)
    return (UNITS[key][whose == "metric"],) if key in UNITS else ()


def metric(value: float, kind: Kind, text: str, said: str = "") -> str:
    """The quantity in metric units too, or as it was understood where that is not as it was said;
    nothing where it was written so."""
    shown = show(value, kind, "metric") if value else ""
    if not value or shown.replace(" ", "").lower() == text.replace(" ", "").lower():
        return "" if not said or said.strip() == text else text
    return f"{text} = {shown}"


def pinned(text: str, kind: Kind, whose: str) -> str:
    """The quantity so that it means the same in all measures: "16 US qt"."""
    if kind not in ("volume", "mass"):
        return text
    value = read_quantity(text, ("mass", "volume"), whose)

    def named(found: re.Match[str]) -> str:
        word = found[1]
        base = word.lower().replace(".", "").removesuffix("s")
        return f"{whose} {word}" if differs_by_country(base) else word

    written = text
    if whose in ("US", "UK"):
        written = re.sub(r"(?<!US )(?<!UK )\b(fl\.? ?oz|[A-Za-z]+)\b", named, text)
    try:
        same = all(
            abs(read_quantity(written, value.kind, m).value - value.value) < 1e-6 * value.value
            for m in ("US", "UK", "metric")
        )
    except QuantityError:
        same = False
    return written if same else f"{value.value:.6g} {'mL' if value.kind == 'volume' else 'g'}"


def place(said: str) -> tuple[tuple[float, float] | None, str]:
    """Latitude and longitude in degrees, north and east above nought, from "40.1 N 95.2 W",
    "40°06'N, 95°12'W" or "40.1, -95.2"; empty is None."""
    if not said.strip():
        return None, ""
    parts = re.fullmatch(f"{_DEGREES}[ ,;]*([NS]?)[ ,;]+{_DEGREES} *([EW]?)", said.strip().upper())
    example = "Write it like 40.1 N 95.2 W, or 40.1, -95.2."
    if parts is None:
        raise Unclear(example)
    latitude = _degrees(parts[1], parts[2]) * (-1 if parts[3] == "S" else 1)
    longitude = _degrees(parts[4], parts[5]) * (-1 if parts[6] == "W" else 1)
    if abs(latitude) > 90 or abs(longitude) > 180:
        raise Unclear(f"Latitudes end at 90, longitudes at 180. {example}")
    north, east = "S" if latitude < 0 else "N", "W" if longitude < 0 else "E"
    told = f"{abs(latitude):g}° {north}, {abs(longitude):g}° {east}"
    return (latitude, longitude), told


_DEGREES = r"(-?\d{1,3}(?:\.\d{1,6})?) *(?:° *(?:(\d{1,2})['′] *)?)?"


def _degrees(whole: str, minutes: str | None) -> float:
    """Degrees and minutes of arc, to about a kilometre."""
    return round(float(whole) + int(minutes or 0) / 60, 2)


def month_day(said: str) -> tuple[str | None, str]:
    """A day of the year as "05-12", from "12 May", "May 12", "12.5." or "05-12"; empty is None."""
    if not said.strip():
        return None, ""
    month, number = read_month_day(said)
    return f"{month:02}-{number:02}", f"{number} {MONTHS[month - 1]}"


def date(said: str, near: dt.date, today: dt.date | None = None) -> tuple[dt.date, str]:
    """A date like "15 May 2027", "15.5.", "next Tuesday"; without a year the one nearest to the
    day that was suggested."""
    found = read_date(said, today or dt.date.today(), "near", near)
    return found, day(found, year=True)


def windows(said: str) -> tuple[tuple[FreeHours, ...], str]:
    """Days with hours: "tue thu 18-21, sat 9:00-12:30", "Mon-Fri 6-9pm", "Sat morning"."""
    found = read_hours(said)
    told = (f"{' '.join(w.days)} from {w.start:%H:%M} to {w.end:%H:%M}" for w in found)
    return found, "; ".join(told)


GROWN = "Write it like: snap bean 30 ft, or tomato 6 plants, or carrot 4x10 ft"
_PLANTS = re.compile(r"(?:x|×)? ?(\d+) ?(?:x|×)? ?(?:plants?|bush(?:es)?|trees?|canes?|crowns?)?")


def grown(said: str, library: Library, whose: str) -> tuple[str, str, str | int, Crop]:
    """Crop, "row", "plants" or "area", how much of it, and what is known of the crop."""
    if bought := _bought(said, library):
        raise Unclear(f"{bought} is bought, not grown; it comes in garden.toml, later.")
    found = split_food(said, library_foods(library, grown=True).crop)
    if found is None:
        raise _not_grown(said, library)
    name, about = found
    about = re.sub(r"\b(?:row|bed|patch)s?\b(?: of)?", " ", about)
    about = re.sub(r"^(?:an?|one) (?=\d)", "", about.strip(" ,:"))
    crop, size = library.crops[name], " ".join(figures(about).split())
    if plants := _PLANTS.fullmatch(size):
        return crop.name, "plants", int(plants[1]), crop
    refused: QuantityError | None = None
    for text in (about, *decimals(size, whose)):
        try:
            kind = read_quantity(text, ("length", "area"), whose).kind
        except QuantityError as error:
            refused = error
            continue
        return crop.name, "row" if kind == "length" else "area", text, crop
    raise Unclear(f"{refused.message if about and refused else ''} {GROWN}".strip())


def _bought(said: str, library: Library) -> str | None:
    """The bought food that is named, whose name may have that of a crop in it."""
    try:
        found = split_food(said, library_foods(library).crop)
    except Unclear:
        return None
    return found[0] if found and library.crops[found[0]].kind == "bought" else None


def _not_grown(said: str, library: Library) -> Unclear:
    name = re.sub(r"[\d½¼¾].*", "", said).strip(" ,:") or said.strip()
    near = nearest(name, (n for c in library.crops.values() for n in (c.name, *c.also)))
    hint = f'Did you mean "{near}"?' if near else GROWN
    return Unclear(f'I have no figures for "{name}".', hint, [near] if near else [])


def planting(part: tuple[str, str, str | int, Crop], begun: dt.date) -> Grown:
    """The planting, sown or set out on the day by what is usual for its crop."""
    name, basis, size, crop = part
    return Grown(name, basis, size, begun=begun_by(crop), day=begun)


def begun_by(crop: Crop) -> str:
    """How the crop is usually begun in the garden: "sown" or "set_out"."""
    return "sown" if crop.growth is not None and crop.growth.clock == "sown" else "set_out"


def usual_start(crop: Crop, last_frost: dt.date) -> dt.date:
    """A first guess at the day of sowing or setting out; plants that stay were set out long ago."""
    if crop.growth is None or crop.growth.clock == "biofix":
        return last_frost.replace(year=last_frost.year - 3, day=min(last_frost.day, 28))
    return last_frost + dt.timedelta(days=AFTER_FROST[crop.growth.frost.value])


WANTED = "Write it like: snap bean 20 of 12 oz"
LEAST_PORTION = 50.0
"""g or mL below which a unit alone is no portion: "12 oz" says too little (own judgement)."""
_PACKS = r"(?:portions?|bags?|zip bags?|pouch(?:es)?|packs?|packets?|box(?:es)?|jars?|tubs?)"
_UNIT_ALONE = re.compile(r"(\d+) ?([a-z][a-z. ]*)")
_COUNTED = re.compile(
    rf"(\d+)(?:[ ,]*{_PACKS})?[ ,]*(?:of|x|×|at|@)?[ ,]+(\d[^,]*?)"
    rf"(?:,? (?:each|per {_PACKS}|{_PACKS}))?"
)


def wanted(
    said: str,
    library: Library,
    whose: str,
    *,
    before: Sequence[WantAnswer],
    likely: Collection[str] = (),
) -> tuple[WantAnswer, str]:
    """A product, how many portions, and the size of one; `likely` are the crops that are grown."""
    _refuse_unsafe(said, library)
    found = split_food(said, library_foods(library, likely).product)
    if found is None:
        raise Unclear(_no_product(_name(said), library))
    product, about = found
    if product in (want.product for want in before):
        raise Unclear(f"{product} is on your list already.")
    count, size = _portions(about, whose)
    if not 1 <= count <= 5000:
        raise Unclear(f"How many portions? {WANTED}")
    portion, text = read_amount(size, ("mass", "volume"), whose)
    told = metric(portion.value, portion.kind, text) or text
    return (
        WantAnswer(product, count, pinned(text, portion.kind, whose)),
        f"{product}: {plural(count, 'portion')} of {told}",
    )


def _portions(about: str, whose: str) -> tuple[int, str]:
    """Count and size of "20 of 12 oz", "20 bags, 12 oz each", or of "15 pints"."""
    text = figures(about).strip(" ,:")
    if alone := _UNIT_ALONE.fullmatch(text):
        try:
            portion, _ = read_amount(f"1 {alone[2]}", ("mass", "volume"), whose)
        except Unclear as error:
            if error.choices:
                raise which(about, [f"{alone[1]}{each[1:]}" for each in error.choices]) from None
            raise Unclear(WANTED) from None
        if portion.value >= LEAST_PORTION:
            return int(alone[1]), f"1 {alone[2]}"
        raise Unclear(f"How many portions of {text}?", WANTED)
    text = re.sub(r"(?<=\d),(?=\d{1,2}\b)", ".", text)
    text = re.sub(r"(?<=\d) ?[x×] ?(?=\d)", " x ", text)
    counted = _COUNTED.fullmatch(text)
    if counted is None:
        raise Unclear(WANTED)
    return int(counted[1]), counted[2]


def _name(said: str) -> str:
    """What stands of a name before the first number, or after an amount."""
    before = re.split(r"[\d½¼¾⅓⅔]", said)[0].strip(" ,:")
    return before or re.sub(r"^[\d\s.,/½¼¾⅓⅔x×]+(?:\S+ of )?", "", said).strip(" ,:")


def _refuse_unsafe(said: str, library: Library) -> None:
    """Raises Unclear, with the reason, for what nobody should make, and for what a crop file
    refuses to be made of its crop."""
    name = _name(said)
    if library.find_product(name) is None and (answer := safety_answer(name)) is not None:
        raise Unclear(answer.sentence(name))
    crop = _crop_within(name, library)
    form = name.partition(",")[2].strip().lower()
    if crop and any(refused.form == form for refused in crop.refused):
        raise Unclear(_no_product(name, library))


def _crop_within(name: str, library: Library) -> Crop | None:
    """The crop whose name begins the words, as in "tomato sauce"."""
    foods = library_foods(library)
    words = name.partition(",")[0].split()
    for count in range(len(words), 0, -1):
        with contextlib.suppress(Unclear):
            if crop := foods.crop(" ".join(words[:count])):
                return library.crops[crop]
    return None


def _no_product(name: str, library: Library) -> str:
    crop = _crop_within(name, library)
    form = name.partition(",")[2].strip().lower()
    refused = next((r for r in crop.refused if r.form == form), None) if crop else None
    if refused is None and (answer := safety_answer(name)) is not None:
        return answer.sentence(name)
    if crop is None:
        near = nearest(name, [*library.product_names(), *library.crops])
        hint = f'Did you mean "{near}"?' if near else WANTED
        return f'I know no product "{name}". {hint}'
    possible = "; ".join(f"{crop.name}, {product.form}" for product in crop.products)
    why = f"{refused.why} " if refused else ""
    return f"{why}Possible: {possible}."
