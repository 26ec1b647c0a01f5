"""Dates as people say them: "15 May", "15.05.", "Aug 24", "next Tuesday", "two weeks ago".

A date without a year lies where it is asked for: in the past for what happened, ahead for what will
be, nearest to a day that was suggested. Months of other languages are read by dateparser, in its
strict settings, and taken only where the day of the month stands in the words.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from harvestplan.inputs.dates import DAYS, MONTHS, say
from harvestplan.inputs.ids import fold
from harvestplan.inputs.spoken.said_hours import DAY_NAMES, WEEK
from harvestplan.inputs.spoken.said_numbers import figures
from harvestplan.inputs.spoken.unclear import Unclear, which

Toward = Literal["past", "next", "near"]
EXAMPLE = "Write it like 15 May, or 2027-05-15."
EARLIEST, LATEST = 1950, 2200
_LANGUAGES = ["de", "fr", "es", "it", "nl", "pt", "da", "sv", "nb", "pl", "cs", "fi"]
_LEAP = 2028
"""A year with every day, for days that are said without one."""
_TIES = 30
"""Days: a date whose two years are as near to the day suggested as this is asked about."""
_SHIFTS = {
    "today": 0, "tonight": 0, "now": 0, "just now": 0, "yesterday": -1, "last night": -1,
    "day before yesterday": -2, "tomorrow": 1, "day after tomorrow": 2,
}  # fmt: skip
_STEPS = {"day": 1, "week": 7, "fortnight": 14}
_PART = r"(?: (?:morning|noon|afternoon|evening|night))?"


@dataclass(frozen=True)
class _Asked:
    """What a date is read for: today, the side on which it lies, and the day it is near to."""

    today: dt.date
    toward: Toward
    near: dt.date


def read_date(
    said: str, today: dt.date, toward: Toward = "near", near: dt.date | None = None
) -> dt.date:
    """The day that the words mean, seen from `today`; `near` is the day that was suggested, for
    "next" the first it may be. Raises Unclear, with both readings where there are two."""
    asked = _Asked(today, toward, near or today)
    text = _plain(said)
    if number := _OF_MONTH.fullmatch(said.strip().lower()):
        return _of_month(int(number[1]), asked)
    for reader in (_relative, _by_weekday, _with_year_first, _in_figures, _by_name):
        if (found := reader(text, asked)) is not None:
            return found
    parts = _foreign(text, asked)
    return parts if isinstance(parts, dt.date) else _placed(*parts, said, asked)


def read_month_day(said: str) -> tuple[int, int]:
    """Month and day of a day of the year; raises Unclear."""
    asked = _Asked(dt.date(_LEAP, 7, 1), "near", dt.date(_LEAP, 7, 1))
    text = re.sub(r"^(?:about|around|usually|ca\.?) ", "", _plain(said))
    found = _numbers(text) or _named(text)
    if found is None:
        parts = _foreign(text, asked)
        if isinstance(parts, dt.date):
            raise Unclear(f'"{said.strip()}" is no day of the year.', "Write it like 15 May.")
        found = parts
    pairs, year = found
    _year(year or _LEAP)
    if len(pairs) > 1:
        raise which(said, [_day_month(*pair) for pair in pairs])
    return _checked(*pairs[0], _LEAP)


def _plain(said: str) -> str:
    text = fold(said.replace("–", "-").replace("—", "-")).replace(",", " ")
    text = re.sub(r"(?<=\d)(?:st|nd|rd|th)\b", "", text)
    text = re.sub(r"^(?:on|the|on the|since) ", "", " ".join(text.split()))
    return re.sub(r"\b(?:of|the) ", "", text)


def _relative(text: str, asked: _Asked) -> dt.date | None:
    """ "yesterday", "three days ago", "in two weeks"."""
    bare = re.sub(r"^this (?:morning|afternoon|evening)$", "today", text)
    bare = bare if bare in _SHIFTS else re.sub(rf"{_PART}$", "", bare)
    if bare in _SHIFTS:
        return asked.today + dt.timedelta(days=_SHIFTS[bare])
    counted = re.sub(r"^(in )?an? ", r"\g<1>1 ", text)
    counted = figures(counted) if not counted.startswith("in ") else "in " + figures(counted[3:])
    found = re.fullmatch(
        r"(?:(?P<ahead>in) )?(?P<n>\d{1,4}) (?P<unit>day|week|fortnight)s?"
        r"(?: (?P<side>ago|from now|from today|back))?",
        counted,
    )
    if found is None or bool(found["ahead"]) == bool(found["side"]):
        return None
    days = int(found["n"]) * _STEPS[found["unit"]]
    back = found["side"] in ("ago", "back")
    return asked.today + dt.timedelta(days=-days if back else days)


_WEEKDAY = re.compile(
    r"(?:(?P<which>last|past|next|this|coming|this coming|this past|a week on|week on) )?"
    rf"(?P<day>{'|'.join(DAY_NAMES)})(?P<week> week)?(?: (?:morning|afternoon|evening|night))?"
)


def _by_weekday(text: str, asked: _Asked) -> dt.date | None:
    """ "Tuesday", "next Tuesday", "last Sunday", "Saturday week"."""
    found = _WEEKDAY.fullmatch(text)
    if found is None:
        return None
    side, number = found["which"] or "", WEEK.index(DAY_NAMES[found["day"]])
    week = dt.timedelta(days=7)
    coming = asked.today + dt.timedelta(days=(number - asked.today.weekday() - 1) % 7 + 1)
    gone = asked.today - dt.timedelta(days=(asked.today.weekday() - number - 1) % 7 + 1)
    if found["week"] or side.endswith("week on"):
        return coming + week
    if side in ("last", "past", "this past"):
        return gone
    if side == "next":
        if coming.isocalendar().week == asked.today.isocalendar().week:
            raise which(text, [_spoken(coming), _spoken(coming + week)])
        return coming
    if not side and asked.toward == "past":
        return gone
    return coming


def _with_year_first(text: str, asked: _Asked) -> dt.date | None:
    """ "2027-05-15", "2027/05/15", "20270515"."""
    found = re.fullmatch(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})", text) or re.fullmatch(
        r"(\d{4})()(\d\d)(\d\d)", text
    )
    if found is None:
        return None
    year, month, day = int(found[1]), int(found[3]), int(found[4])
    _checked(month, day, year)
    return dt.date(_year(year), month, day)


_Found = tuple[list[tuple[int, int]], int | None]
"""(month, day) as they may be meant, and the year."""


def _numbers(text: str) -> _Found | None:
    """ "15.5.", "15/5/2027", "05-15": the month first only where it must be, or after a hyphen."""
    found = re.fullmatch(r"(\d{1,2}) ?([./-]) ?(\d{1,2})(?: ?[./-] ?(\d{4}|\d\d)?)?", text)
    if found is None:
        return None
    first, mark, second = int(found[1]), found[2], int(found[3])
    if mark == "-" and found[4] and len(found[4]) == 2:
        raise Unclear("It could begin with the year or with the day.", EXAMPLE)
    year = int(found[4]) + (2000 if len(found[4]) == 2 else 0) if found[4] else None
    ways = {".": [(second, first)], "/": [(second, first), (first, second)]}
    iso = mark == "-" and year is None and len(found[1]) == len(found[3]) == 2
    pairs = ways.get(mark) or ([(first, second)] if iso else [(second, first), (first, second)])
    pairs = [pair for pair in dict.fromkeys(pairs) if 1 <= pair[0] <= 12 and 1 <= pair[1] <= 31]
    if not pairs:
        raise Unclear("The calendar has no such day.", EXAMPLE)
    return pairs, year


def _in_figures(text: str, asked: _Asked) -> dt.date | None:
    found = _numbers(text)
    return None if found is None else _placed(*found, text, asked)


_NAMED = re.compile(
    rf"(?:(?P<weekday>{'|'.join(DAY_NAMES)})\.? )?"
    r"(?:(?P<d1>\d{1,2})\.?[ -]?(?P<m1>[a-z]{3,})\.?|(?P<m2>[a-z]{3,})\.?[ -]?(?P<d2>\d{1,2})\.?)"
    r"(?:[ -](?P<year>\d{4}))?"
)


def _named(text: str) -> _Found | None:
    """ "15 May 2027", "May 15"; a month by its name in English, or its beginning."""
    found = _NAMED.fullmatch(text)
    if found is None:
        return None
    name = found["m1"] or found["m2"]
    months = [n for n, month in enumerate(MONTHS, 1) if month.lower().startswith(name)]
    months = months or [9] * (name == "sept")
    if len(months) != 1:
        return None
    day = int(found["d1"] or found["d2"])
    return [(months[0], day)], int(found["year"]) if found["year"] else None


def _by_name(text: str, asked: _Asked) -> dt.date | None:
    found = _named(text)
    if found is None:
        return None
    day = _placed(*found, text, asked)
    match = _NAMED.fullmatch(text)
    if match and match["weekday"] and WEEK[day.weekday()] != DAY_NAMES[match["weekday"]]:
        raise Unclear(f"{say(day)} {day.year} is a {DAYS[day.weekday()]}.", EXAMPLE)
    return day


_OF_MONTH = re.compile(r"(?:on )?(?:the )?(\d{1,2})(?:st|nd|rd|th)")


def _of_month(day: int, asked: _Asked) -> dt.date:
    """ "the 3rd", of the month that lies nearest on the side asked for."""
    if not 1 <= day <= 31:
        raise Unclear(f"No month has a day {day}.", EXAMPLE)
    days = [asked.near + dt.timedelta(days=n) for n in range(-62, 63)]
    days = [each for each in days if each.day == day]
    if asked.toward == "past":
        return max(each for each in days if each <= asked.today)
    if asked.toward == "next":
        return min(each for each in days if each >= asked.near)
    return min(days, key=lambda each: abs(each - asked.near))


def _placed(
    pairs: Sequence[tuple[int, int]], year: int | None, said: str, asked: _Asked
) -> dt.date:
    """The day, in the year said or the one it is asked for; both readings where there are two."""
    days: list[dt.date] = []
    for month, day in pairs:
        if year is not None:
            _checked(month, day, _year(year))
            days.append(dt.date(year, month, day))
        else:
            days += _in_years(month, day, asked)
    if len(days) > 1:
        raise which(said, [_spoken(each) for each in days])
    return days[0]


def _in_years(month: int, day: int, asked: _Asked) -> list[dt.date]:
    _checked(month, day, _LEAP)
    first = asked.near.year if asked.toward != "past" else asked.today.year
    every = [
        dt.date(year, month, day)
        for year in range(first - 9, first + 10)
        if (month, day) != (2, 29) or (year % 4 == 0 and (year % 100 or year % 400 == 0))
    ]
    if asked.toward == "past":
        return [max(each for each in every if each <= asked.today)]
    if asked.toward == "next":
        return [min(each for each in every if each >= asked.near)]
    every.sort(key=lambda each: abs(each - asked.near))
    nearest, after = every[:2]
    away = abs(after - asked.near) - abs(nearest - asked.near)
    return sorted((nearest, after)) if away.days < _TIES else [nearest]


def _foreign(text: str, asked: _Asked) -> _Found | dt.date:
    """A date in another language, or the day for a word like "gestern"; raises
    Unclear where dateparser finds neither, or another day than the words have."""
    unclear = Unclear(f'I cannot read "{text}" as a date.', EXAMPLE)
    if match := _NAMED.fullmatch(text):
        unclear = Unclear(f'I know no month "{match["m1"] or match["m2"]}".', EXAMPLE)
    if not re.search(r"[a-z]{3}", text) or len(text) > 60:
        raise unclear
    import dateparser

    numbers = [int(each) for each in re.findall(r"\d+", text)]
    base = dt.datetime.combine(asked.today, dt.time(12))
    try:
        found = dateparser.parse(
            text,
            languages=_LANGUAGES,
            settings={
                "RELATIVE_BASE": base,
                "REQUIRE_PARTS": ["day", "month"] if numbers else [],
                "PARSERS": ["absolute-time"] if numbers else ["relative-time"],
            },
        )
    except (ValueError, OverflowError):
        raise unclear from None
    if found is None:
        raise unclear
    meant: dt.date = found.date()
    if not numbers and abs((meant - asked.today).days) <= 2:
        return meant
    day, *year = numbers or [0]
    month: int = found.month
    if day != found.day or len(year) > 1 or (year and year[0] != found.year):
        raise unclear
    return [(month, day)], year[0] if year else None


def _checked(month: int, day: int, year: int) -> tuple[int, int]:
    try:
        dt.date(year, month, day)
    except ValueError:
        if 1 <= month <= 12:
            of = MONTHS[month - 1] if year == _LEAP else f"{MONTHS[month - 1]} {year}"
            raise Unclear(f"{of} has no day {day}.", EXAMPLE) from None
        raise Unclear("The calendar has no such day.", EXAMPLE) from None
    return month, day


def _year(year: int) -> int:
    if not EARLIEST <= year <= LATEST:
        raise Unclear("Look at the year.", EXAMPLE)
    return year


def _day_month(month: int, day: int) -> str:
    return f"{day} {MONTHS[month - 1]}"


def _spoken(date: dt.date) -> str:
    return f"{say(date)} {date.year}"
