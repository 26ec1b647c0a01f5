"""Free hours of the week as people say them: "Mon-Fri 6-9pm", "Sat morning", "18h-21h"."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import dataclass

from harvestplan.inputs.dates import DAYS
from harvestplan.inputs.spoken.unclear import Unclear, which

WEEK = tuple(name.lower() for name in DAYS)
EVENINGS = "Write it like: tue thu 18:00-21:00, sat 9:00-12:30"
USUAL = {"morning": ("09:00", "12:00"), "afternoon": ("13:00", "17:00"),
         "evening": ("18:00", "21:00")}  # fmt: skip
"""The hours of a part of the day that is named without them (own judgement; always said back)."""
_ALL = ("every day", "daily", "everyday", "all days", "each day", "any day")
_GROUPS = {"weekday": WEEK[:5], "weekdays": WEEK[:5], "workday": WEEK[:5], "workdays": WEEK[:5],
           "weekend": WEEK[5:], "weekends": WEEK[5:]}  # fmt: skip
_NAMES = {
    "mon": "mon monday mo", "tue": "tue tues tuesday tu di", "wed": "wed weds wednesday we mi",
    "thu": "thu thur thurs thursday th do", "fri": "fri friday fr", "sat": "sat saturday sa",
    "sun": "sun sunday su so",
}  # fmt: skip
DAY_NAMES = {
    form: day
    for day, names in _NAMES.items()
    for name in names.split()
    for form in (name, name + "s")
}
"""Each name of a day, in English and as two letters in German, with the day."""
_DASH = r"\s*(?:-|–|—|to|till?|until|through|thru|bis)\s*"
_TIME = r"(noon|\d{1,2}(?:[:.h]\d\d(?!\d)|\d\d)?)\s*(?:h|uhr|o'clock)?\s*([ap]\.?m\.?(?![a-z]))?"
_HOURS = re.compile(rf"(?<!\d)(?:from )?(?:between )?{_TIME}{_DASH}{_TIME}(?:\s*(?:h|uhr))?(?!\w)")
_TO = re.compile(r"\b(?:to|through|thru|till?|until|bis)\b")
_FILLERS = frozenset(["and", "from", "on", "every", "each", "in", "the", "at"])


@dataclass(frozen=True)
class FreeHours:
    """A stretch of free time every week: days "mon" to "sun", and local times."""

    days: tuple[str, ...]
    start: dt.time
    end: dt.time

    def __str__(self) -> str:
        return f"{' '.join(self.days)} {self.start:%H:%M}-{self.end:%H:%M}"


def read_hours(said: str) -> tuple[FreeHours, ...]:
    """The stretches of a week; raises Unclear, with both where "6-9" may be morning or evening."""
    text = " ".join(said.lower().replace("–", "-").replace("—", "-").split())
    found = tuple(_stretch(part) for part in _parts(text))
    if not found:
        raise Unclear("Which days, and from when to when?", EVENINGS)
    return found


def _parts(text: str) -> Iterator[str]:
    """A part for each stretch: days and hours, or days and a part of the day."""
    text = re.sub(r"\b(?:mwf)\b", "mon wed fri", text)
    text = re.sub(r"\bm-f\b", "mon-fri", text)
    for each in text.split(";"):
        pieces = re.split(r"\s*,\s*|\s+and\s+|\s*&\s*|\s*\+\s*", each.strip())
        held = ""
        for piece in pieces:
            held = f"{held} {piece}".strip()
            if _when(held) and _has_day(held):
                yield held
                held = ""
        if held:
            yield held


def _when(text: str) -> bool:
    return bool(_HOURS.search(text) or re.search(r"\b(morning|afternoon|evening|night)s?\b", text))


def _has_day(text: str) -> bool:
    if any(phrase in text for phrase in _ALL) or "every " in text:
        return True
    return any(word in DAY_NAMES or word in _GROUPS for word in re.findall(r"[a-z]+", text))


def _stretch(part: str) -> FreeHours:
    hours = _HOURS.search(part)
    rest = part if hours is None else f"{part[: hours.start()]} {part[hours.end() :]}"
    named = re.search(r"\b(morning|afternoon|evening)s?\b", rest)
    half = named[1] if named else ""
    days = _days(rest.replace(named[0], " ", 1) if named else rest, all_week=bool(half))
    if hours is None:
        if not half:
            raise Unclear(f'From when to when is "{part.strip()}"?', EVENINGS)
        start, end = (dt.time.fromisoformat(time) for time in USUAL[half])
        return FreeHours(days, start, end)
    possible = _readings(hours, half)
    if not possible:
        raise Unclear(f'"{hours[0]}" does not end after it starts, on the same day.', EVENINGS)
    if len(possible) > 1:
        raise which(part, [str(FreeHours(days, *times)) for times in possible])
    return FreeHours(days, *possible[0])


def _days(text: str, *, all_week: bool) -> tuple[str, ...]:
    """The days named, "every day" among them; "every evening" names them all as well."""
    for phrase in _ALL:
        text = text.replace(phrase, " mon - sun ")
    text = _TO.sub(" - ", text.replace("/", " "))
    words = re.findall(r"[a-z]+|-", text)
    if not (set(words) - _FILLERS) and all_week and {"every", "each"} & set(words):
        return WEEK
    words = [word for word in words if word not in _FILLERS]
    found: set[str] = set()
    for place, word in enumerate(words):
        if word == "-" and 0 < place < len(words) - 1:
            found |= set(_between(words[place - 1], words[place + 1]))
        elif word in DAY_NAMES or word in _GROUPS:
            found |= set(_GROUPS.get(word, ())) or {DAY_NAMES[word]}
        else:
            raise Unclear(f'"{word}" is no day of the week.', EVENINGS)
    if not found:
        raise Unclear("On which days?", EVENINGS)
    return tuple(day for day in WEEK if day in found)


def _between(first: str, last: str) -> tuple[str, ...]:
    """The days from one to another, over the week's end where need be."""
    if first not in DAY_NAMES or last not in DAY_NAMES:
        raise Unclear("Which days?", EVENINGS)
    begin, end = (WEEK.index(DAY_NAMES[each]) for each in (first, last))
    return tuple(WEEK[(begin + step) % 7] for step in range((end - begin) % 7 + 1))


def _readings(hours: re.Match[str], half: str) -> list[tuple[dt.time, dt.time]]:
    """The times that the hours may mean: where am and pm are left open, the shortest stretches
    within the half of the day that is named; one from 21:00 on only where it is no morning's."""
    first, first_half, last, last_half = hours.groups()
    exact = any(_is_exact(each) for each in (first, last))
    pairs = [
        (start, end)
        for start in _times(first, first_half or "", exact)
        for end in _times(last, last_half or "", exact)
        if start < end and _fits(start, half)
    ]
    shortest = min(map(_minutes, pairs), default=0)
    found = [pair for pair in pairs if _minutes(pair) == shortest]
    early = [pair for pair in found if pair[0] < dt.time(21)]
    return list(dict.fromkeys(early or found))


def _minutes(pair: tuple[dt.time, dt.time]) -> int:
    start, end = pair
    return end.hour * 60 + end.minute - start.hour * 60 - start.minute


def _fits(start: dt.time, half: str) -> bool:
    return not half or (start.hour < 12) == (half == "morning")


def _is_exact(written: str) -> bool:
    """Whether an hour is on the clock of 24: "18:00", "09", "21h"."""
    hour = _apart(written)[0]
    return written != "noon" and (hour > 12 or hour == 0 or (written[0] == "0"))


def _apart(written: str) -> tuple[int, int]:
    if written == "noon":
        return 12, 0
    if found := re.fullmatch(r"(\d{1,2})[:.h]?(\d\d)?", written):
        return int(found[1]), int(found[2] or 0)
    raise Unclear(EVENINGS)


def _times(written: str, half: str, exact: bool) -> list[dt.time]:
    hour, minute = _apart(written)
    if half and not 1 <= hour <= 12:
        raise Unclear(EVENINGS)
    if half:
        hours = [hour % 12 + (12 if half.startswith("p") else 0)]
    elif exact or written == "noon" or hour == 12:
        hours = [hour]
    else:
        hours = [hour, hour + 12]
    if hour > 23 or minute > 59:
        raise Unclear(f'There is no time "{written}" on the clock before midnight.', EVENINGS)
    return [dt.time(each, minute) for each in hours if each < 24]
