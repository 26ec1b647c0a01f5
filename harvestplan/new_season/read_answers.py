"""Reads what a person answers to a question, and says back what was understood.

Each reader gives (what goes into the file, how it was understood) or raises Unclear with the way
to write it.
"""

from __future__ import annotations

import datetime as dt
import re
import zoneinfo
from collections.abc import Sequence

from harvestplan.errors import HarvestPlanError
from harvestplan.inputs.crops import Crop, Library
from harvestplan.inputs.dates import DAYS, MONTHS
from harvestplan.inputs.explain import nearest
from harvestplan.inputs.quantities import Kind, QuantityError, read_quantity, show
from harvestplan.inputs.ranges import check_ranges
from harvestplan.inputs.safety_answers import safety_answer
from harvestplan.inputs.season_kitchen import SeasonTable
from harvestplan.inputs.units import differs_by_country
from harvestplan.new_season.starter import Grown, WantAnswer, WindowAnswer
from harvestplan.records.names import singulars
from harvestplan.words import day, plural

WEEK = tuple(name.lower() for name in DAYS)
UNITS = {"altitude": ("ft", "m"), "volume": ("qt", "L"), "used": ("cu ft", "L"),
         "power": ("kW", "kW"), "bar": ("in", "cm")}  # fmt: skip
"""A usual unit for each key, with pints and with litres."""

AFTER_FROST = {"tender": 7, "half-hardy": -14, "hardy": -28}
"""Days from the last frost to sowing or setting out, offered as a first guess (common practice,
no source)."""


class Unclear(HarvestPlanError):
    """An answer that cannot be used; the message says why and how to write it."""


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
    """A time zone by its own name, or by the name of its city."""
    zones = sorted(zoneinfo.available_timezones())
    cities = {name.rsplit("/", 1)[-1].replace("_", " ").lower(): name for name in zones}
    asked = said.strip()
    lowered = {name.lower(): name for name in zones}
    found = lowered.get(asked.lower()) or cities.get(asked.replace("_", " ").lower())
    if found is None:
        near = nearest(asked, [*zones, *cities], 0.7)
        found_near = f' Did you mean "{cities.get(near or "", near)}"?' if near else ""
        raise Unclear(
            f'I know no time zone "{asked}".{found_near} Write the zone, like America/Chicago, '
            "or a large city in it."
        )
    return found, found if found != asked else ""


def whole(said: str, low: int, high: int) -> tuple[int, str]:
    """A whole number from `low` to `high`."""
    if not said.strip().isdecimal() or not low <= int(said) <= high:
        raise Unclear(f"Write a whole number from {low} to {high}.")
    return int(said), ""


def amount(
    said: str, kind: Kind, model: type[SeasonTable], *, key: str, whose: str
) -> tuple[str, str]:
    """A quantity for `key` of a table, in the household's measures (`whose`)."""
    text = " ".join(said.split())
    if re.fullmatch(r"[\d./ ]+", text) and key in UNITS:
        unit = UNITS[key][whose == "metric"]
        raise Unclear(f'"{text}" has no unit. Write for example "{text} {unit}".')
    value = _read(text, kind, whose)
    fields = dict.fromkeys(model.model_fields) | {key: value}
    for _, message, hint in check_ranges(model.model_construct(**fields), whose):
        raise Unclear(f"{message.split(': ', 1)[-1].capitalize()} {hint}")
    return pinned(text, kind, whose), metric(value, kind, text)


def _read(text: str, kind: Kind, whose: str) -> float:
    try:
        return read_quantity(text, kind, whose).value
    except QuantityError as error:
        raise Unclear(f"{error.message} {error.hint}") from None


def metric(value: float, kind: Kind, text: str) -> str:
    """The quantity in metric units, or nothing where it was written so or is nothing."""
    if not value:
        return ""
    shown = show(value, kind, "metric")
    return "" if shown.replace(" ", "") == text.replace(" ", "") else f"{text} = {shown}"


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
    """A day of the year as "05-12", from "12 May", "May 12" or "05-12"; empty is None."""
    if not said.strip():
        return None, ""
    month, number, _ = _parts(said)
    return f"{month:02}-{number:02}", f"{number} {MONTHS[month - 1]}"


def date(said: str, after: dt.date) -> tuple[dt.date, str]:
    """A date like "15 May 2027", "2027-05-15"; without a year the first on or after `after`."""
    month, number, year = _parts(said)
    for candidate in (year,) if year else (after.year, after.year + 1):
        try:
            found = dt.date(candidate, month, number)
        except ValueError:
            raise Unclear(f"{MONTHS[month - 1]} {candidate} has no day {number}.") from None
        if year or found >= after:
            return found, day(found, year=True)
    raise Unclear("Write it like 15 May.")


def _parts(said: str) -> tuple[int, int, int | None]:
    """Month, day, and the year if there is one."""
    text = " ".join(said.lower().replace(",", " ").split())
    example = "Write it like 15 May, or 05-15 (month and day)."
    if found := re.fullmatch(r"(?:(\d{4})-)?(\d{1,2})-(\d{1,2})", text):
        year, month, number = found.groups()
        numbers = int(month), int(number), int(year) if year else None
    else:
        found = re.fullmatch(
            r"(?:(\d{1,2})\.? ([a-z]{3,})|([a-z]{3,})\.? (\d{1,2}))(?: (\d{4}))?", text
        )
        if found is None:
            raise Unclear(example)
        name, number = found[2] or found[3], found[1] or found[4]
        months = [n for n, month in enumerate(MONTHS, 1) if month.lower().startswith(name)]
        if len(months) != 1:
            raise Unclear(f'I know no month "{name}". {example}')
        numbers = months[0], int(number), int(found[5]) if found[5] else None
    try:
        dt.date(2028, numbers[0], numbers[1])
    except ValueError:
        raise Unclear(f"The calendar has no such day. {example}") from None
    if numbers[2] is not None and not 1950 <= numbers[2] <= 2200:
        raise Unclear("Look at the year.")
    return numbers


EVENINGS = "Write it like: tue thu 18:00-21:00, sat 9:00-12:30"


def windows(said: str) -> tuple[tuple[WindowAnswer, ...], str]:
    """Days with hours: "tue thu 18-21, sat 9:00-12:30"; am and pm are understood."""
    found = tuple(_window(part) for part in re.split(r"[,;]\s*(?=[a-z])", said.lower().strip()))
    told = (f"{' '.join(w.days)} from {w.start:%H:%M} to {w.end:%H:%M}" for w in found)
    return found, "; ".join(told)


_HOURS = re.compile(
    r"(\d{1,2})(?:[:.](\d\d))?\s*(am|pm)?\s*(?:-|–|to)\s*(\d{1,2})(?:[:.](\d\d))?\s*(am|pm)?"
)


def _window(part: str) -> WindowAnswer:
    hours = _HOURS.search(part)
    if hours is None:
        raise Unclear(EVENINGS)
    named = re.findall(r"[a-z]+", part[: hours.start()])
    days = [name[:3] for name in named if name not in ("and", "from", "on")]
    unknown = next((name for name in days if name not in WEEK), None)
    if not days or unknown or part[hours.end() :].strip():
        raise Unclear(EVENINGS)
    start, end = _clock(hours[1], hours[2], hours[3] or hours[6]), _clock(*hours.groups()[3:])
    if start >= end and hours[3] is None and hours[6] == "pm":
        start = _clock(hours[1], hours[2], "am")
    if start >= end:
        raise Unclear(f"It ends at {end:%H:%M}, not after its start at {start:%H:%M}. {EVENINGS}")
    return WindowAnswer(tuple(day for day in WEEK if day in days), start, end)


def _clock(hour: str, minute: str | None, half: str | None) -> dt.time:
    number = int(hour)
    if half is not None:
        if not 1 <= number <= 12:
            raise Unclear(EVENINGS)
        number = number % 12 + (12 if half == "pm" else 0)
    try:
        return dt.time(number, int(minute or 0))
    except ValueError:
        raise Unclear(EVENINGS) from None


GROWN = "Write it like: snap bean 30 ft, or tomato 6 plants, or carrot 4x10 ft"


def grown(said: str, library: Library, whose: str) -> tuple[str, str, str | int, Crop]:
    """Crop, "row", "plants" or "area", how much of it, and what is known of the crop."""
    text = " ".join(said.split())
    found = re.fullmatch(
        r"(\d+) (\D+?)(?: plants?| bush(?:es)?| trees?)?|(.*?\D),? (\d[^,]*)", text
    )
    if found is None:
        raise Unclear(GROWN)
    name, size = (found[2], f"{found[1]} plants") if found[1] else (found[3], found[4])
    crop = _crop(name.strip(" ,"), library)
    if plants := re.fullmatch(r"(\d+) ?(?:plants?|bush(?:es)?|trees?|canes?)?", size):
        return crop.name, "plants", int(plants[1]), crop
    try:
        kind = read_quantity(size, ("length", "area"), whose).kind
    except QuantityError as error:
        raise Unclear(f"{error.message} {GROWN}") from None
    return crop.name, "row" if kind == "length" else "area", size, crop


def _crop(name: str, library: Library) -> Crop:
    crop = next((found for form in singulars(name) if (found := library.find_crop(form))), None)
    if crop is None:
        near = nearest(name, (n for c in library.crops.values() for n in (c.name, *c.also)))
        hint = f'Did you mean "{near}"?' if near else GROWN
        raise Unclear(f'I have no figures for "{name}". {hint}')
    if crop.kind == "bought":
        raise Unclear(f"{crop.name} is bought, not grown; it comes in garden.toml, later.")
    return crop


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


def wanted(
    said: str, library: Library, whose: str, *, before: Sequence[WantAnswer]
) -> tuple[WantAnswer, str]:
    """A product, how many portions, and the size of one."""
    found = re.fullmatch(r"(.*?\D),? (\d+) (?:portions? )?(?:of|x|×) (.+)", " ".join(said.split()))
    if found is None:
        raise Unclear(WANTED)
    name, count, size = found[1].strip(" ,"), int(found[2]), found[3]
    pair = next((pair for each in singulars(name) if (pair := library.find_product(each))), None)
    if pair is None:
        raise Unclear(_no_product(name, library))
    product = f"{pair[0].name}, {pair[1].form}"
    if product in (want.product for want in before):
        raise Unclear(f"{product} is on your list already.")
    if not 1 <= count <= 5000:
        raise Unclear(f"How many portions? {WANTED}")
    try:
        portion = read_quantity(size, ("mass", "volume"), whose)
    except QuantityError as error:
        raise Unclear(f"{error.message} {error.hint}") from None
    told = metric(portion.value, portion.kind, size) or size
    return (
        WantAnswer(product, count, pinned(size, portion.kind, whose)),
        f"{product}: {plural(count, 'portion')} of {told}",
    )


def _crop_within(name: str, library: Library) -> Crop | None:
    """The crop whose name begins the words, as in "tomato sauce"."""
    words = name.partition(",")[0].split()
    heads = (" ".join(words[:count]) for count in range(len(words), 0, -1))
    forms = (form for head in heads for form in singulars(head))
    return next((crop for form in forms if (crop := library.find_crop(form))), None)


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
