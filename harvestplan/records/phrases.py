"""From the words of a diary line, or of a command, to the event they tell of."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Callable, Sequence
from functools import cache

from harvestplan.errors import has_steering
from harvestplan.inputs.explain import suggestion
from harvestplan.inputs.ids import fold
from harvestplan.inputs.quantities import Quantity, QuantityError, read_quantity
from harvestplan.inputs.spoken.said_amounts import read_amount
from harvestplan.inputs.spoken.said_numbers import figures
from harvestplan.inputs.spoken.unclear import Unclear, which
from harvestplan.records.events import (
    Ate,
    Bought,
    ColdReading,
    Count,
    Emerged,
    Event,
    Failed,
    Flowering,
    Froze,
    Gave,
    InGarden,
    Lost,
    LostAll,
    NoneYet,
    Picked,
    Setting,
    TimedStep,
)
from harvestplan.records.known_names import QUOTED, known_name
from harvestplan.records.names import Names
from harvestplan.records.phrases_at_home import (
    Head,
    read_keep,
    read_moved,
    read_power_cut,
    read_printed,
    read_serviced,
    read_undo,
)
from harvestplan.words import mass
from harvestplan.words.pieces import counted


def read_event(verb: str, rest: str, names: Names, *, head: Head, strict: bool = False) -> Event:
    """The event that `verb` and the words after it tell of; its text comes back in the diary's
    own words.

    With `strict` a planting must be one of the season's; the lines of past years name plantings
    that are gone. Raises Unclear.
    """
    if has_steering(rest := " ".join(rest.split())):
        raise Unclear("There is a character in this that cannot be seen.", "Type it anew.")
    reader = _READERS.get(verb.lower())
    if reader is None:
        raise Unclear(f'I do not know "{verb}".', suggestion(verb, _READERS))
    event = reader(rest, names, head)
    if strict and isinstance(event, InGarden) and event.planting:
        _check_planting(event.planting, event.crop, names)
    elif strict and isinstance(event, Failed):
        _check_alone(event.crop, names)
    return event


def _picked(rest: str, names: Names, head: Head) -> Picked:
    crop, rest, planting = _crop(rest, names)
    if not rest:
        raise Unclear(f"How much {crop} was it?", f"Write: picked {crop} 2 lb")
    amount, written = _amount(rest, names, crop)
    return Picked(
        *head, f"picked {_words(crop, written, planting, names=names)}", crop, amount, planting
    )


def _bought(rest: str, names: Names, head: Head) -> Bought:
    crop, rest = known_name(rest, names, "food")
    if not rest:
        raise Unclear(f"How much {crop} was it?", f'Write: bought "{crop}" 20 lb')
    amount, written = _amount(rest, names, crop)
    return Bought(*head, f'bought "{crop}" {written}', crop, amount)


def _flowering(rest: str, names: Names, head: Head) -> Flowering:
    crop, planting = _crop_alone(rest, names)
    return Flowering(*head, f"flowering {_words(crop, '', planting, names=names)}", crop, planting)


def _emerged(rest: str, names: Names, head: Head) -> Emerged:
    crop, planting = _crop_alone(rest, names)
    return Emerged(*head, f"emerged {_words(crop, '', planting, names=names)}", crop, planting)


def _none(rest: str, names: Names, head: Head) -> NoneYet:
    yet, _, rest = rest.partition(" ")
    if yet.lower() != "yet" or not rest:
        raise Unclear("Of what is there none yet?", "Write: none yet asparagus")
    crop, planting = _crop_alone(rest, names)
    return NoneYet(*head, f"none yet {_words(crop, '', planting, names=names)}", crop, planting)


def _failed(rest: str, names: Names, head: Head) -> Failed:
    crop, planting = _crop_alone(rest, names)
    return Failed(*head, f"failed {_words(crop, '', planting, names=names)}", crop, planting)


_WORK = (
    r"(?:in )?(?P<work>\d[\d./ ]*(?:h|hours?|min|minutes?)\b(?: \d+ ?(?:min|minutes?)\b)?)"
    r"(?: of)?(?: hand)?(?: work)?"
)
_COUNT = r"(\d{1,5})"
"""Pouches of which one line may tell: no household has a hundred thousand."""
_PACK = r"pouch(?:es)?|portions?|(?:zip )?bags?|box(?:es)?|jars?|packs?"
_FROZE = re.compile(
    rf"{_COUNT}\s*(?:{_PACK})?(?: of (?P<portion>.+?))?"
    rf"(?:,? ?(?:and )?(?:(?P<failed>\d{{1,5}}) failed(?: seals?)?|{_WORK}))*"
)
LONGEST_WORK = 24 * 60
"""Minutes that one line may tell of."""


def _froze(rest: str, names: Names, head: Head) -> Froze:
    product, rest = known_name(rest, names, "product")
    found = _FROZE.fullmatch(rest) or _FROZE.fullmatch(rest := figures(rest))
    if found is None:
        raise Unclear(
            f'I cannot read "{rest}" as pouches.',
            f'Write: froze "{product}" 6 pouches of 12 oz, 1 failed seal, 95 minutes',
        )
    portion = _amount(found["portion"], names)[0] if found["portion"] else None
    text = f'froze "{product}" {rest}'
    failed, minutes = int(found["failed"] or 0), _minutes(found["work"])
    # None at all says that nothing came of the evening: there is no work to learn from.
    portions = int(found[1])
    return Froze(*head, text, product, portions, portion, failed, minutes if portions else None)


def _minutes(written: str | None) -> float | None:
    """Minutes of hand work, as in "95 minutes" or "1 h 35 min"."""
    if written is None:
        return None
    try:
        minutes = read_quantity(written, "time", "metric").value / 60
    except QuantityError as error:
        raise Unclear(error.message, error.hint) from None
    if not 0 < minutes <= LONGEST_WORK:
        raise Unclear(f'"{written}" of work is not one evening\'s.', "Write: 95 minutes")
    return minutes


@cache
def _timed_steps() -> dict[str, str]:
    """The words for the steps that hands alone set the time of, each with the step's name."""
    # Only who times a step waits until the kitchen is read.
    from harvestplan.kitchen.steps.all_steps import KINDS

    timed = [kind for kind in KINDS if kind.by_hand]
    return {word: kind.name for kind in timed for word in (kind.name, *kind.also)}


def _timed(rest: str, names: Names, head: Head) -> TimedStep:
    product, rest = known_name(rest, names, "product")
    steps = _timed_steps()
    found = re.fullmatch(rf"(?P<step>{'|'.join(steps)}),? {_WORK} for (?P<amount>.+)", rest)
    if found is None:
        raise Unclear(
            f'I cannot read "{rest}" as a step that was timed.',
            f'Write: timed "{product}" trim 25 minutes for 6 lb; the steps are '
            + ", ".join(dict.fromkeys(steps.values()))
            + ".",
        )
    minutes = _minutes(found["work"])
    assert minutes is not None  # the pattern asks for it
    step, (amount, _) = steps[found["step"]], _amount(found["amount"], names)
    return TimedStep(*head, f'timed "{product}" {rest}', product, step, minutes, amount)


def _ate(rest: str, names: Names, head: Head) -> Ate:
    product, portions = _portions(rest, names, "ate", least=1)
    return Ate(*head, f'ate "{product}" {portions}', product, portions)


def _count(rest: str, names: Names, head: Head) -> Count:
    product, portions = _portions(rest, names, "count", least=0)
    return Count(*head, f'count "{product}" {portions}', product, portions)


def counted_apart(words: Sequence[str]) -> list[list[str]]:
    """The words of a stocktake, ["snap bean, cut", "14", "sweet corn, kernel", "9"], cut after
    each number."""
    found: list[list[str]] = [[]]
    for word in words:
        numbered = any(_PORTIONS.fullmatch(each) for each in found[-1])
        if numbered and not _PORTION_WORD.fullmatch(word):
            found.append([])
        found[-1].append(word)
    return found


def _gave(rest: str, names: Names, head: Head) -> Gave:
    name, portions, amount, text = _gone(rest, names, "gave")
    return Gave(*head, text, name, portions, amount)


def _lost(rest: str, names: Names, head: Head) -> Lost | LostAll:
    if rest.lower() == "all":
        return LostAll(*head, "lost all")
    name, portions, amount, text = _gone(rest, names, "lost")
    return Lost(*head, text, name, portions, amount)


_READING = re.compile(
    r"(?P<read>-?\d[\d.]* ?°? ?[CF])(?:,? ?(?:after )?(?P<after>\d[\d./ ]*(?:h|min|minutes?)))?"
)
COLDEST, HOTTEST = -40.0, 120.0
"""°C that a kitchen's thermometer reads."""


def _reading(rest: str, names: Names, head: Head) -> ColdReading:
    product, rest = known_name(rest, names, "product")
    found = _READING.fullmatch(rest)
    write = f'Write: reading "{product}" 41 F after 50 min'
    if found is None:
        raise Unclear(f'I cannot read "{rest}" as a thermometer\'s reading.', write)
    try:
        celsius = read_quantity(found["read"].replace("°", ""), "temperature", "metric").value
    except QuantityError as error:
        raise Unclear(error.message, error.hint) from None
    if not COLDEST <= celsius <= HOTTEST:
        raise Unclear(f'"{found["read"]}" is no food\'s temperature.', write)
    return ColdReading(
        *head, f'reading "{product}" {rest}', product, celsius, _minutes(found["after"])
    )


def _setting(rest: str, names: Names, head: Head) -> Setting:
    try:
        product, words = known_name(rest, names, "product")
    except Unclear:
        # The sealer also closes food that is no product here: in quotes, any name will do.
        if not (quoted := QUOTED.fullmatch(rest)):
            raise
        product, words = quoted[1].strip(), quoted[2]
    if not words:
        raise Unclear(
            f"How was the sealer set for {product}?", f'Write: setting "{product}" pump-down 22 s'
        )
    return Setting(*head, f'setting "{product}" {words}', product, words)


_READERS: dict[str, Callable[[str, Names, Head], Event]] = {
    "picked": _picked, "bought": _bought, "flowering": _flowering, "emerged": _emerged,
    "none": _none, "failed": _failed,
    "froze": _froze, "timed": _timed, "ate": _ate, "gave": _gave, "lost": _lost, "count": _count,
    "reading": _reading, "setting": _setting, "serviced": read_serviced, "printed": read_printed,
    "power-cut": read_power_cut, "moved": read_moved, "keep": read_keep, "undo": read_undo,
}  # fmt: skip

_PLANTING = re.compile(r'((?:[^"]|"[^"]*")*?) planting (?:"([^"]+)"|([^"\s]+))')
_BARE = re.compile(r"[\w.,'’/&()+-]+")
"""What stands without quotes where it is one word; a semicolon, say, begins a remark."""
_PORTION_WORD = re.compile(rf"zip(?: bags?)?|{_PACK}")
_PORTIONS = re.compile(rf"{_COUNT} ?(?:{_PORTION_WORD.pattern})?")


def _split_planting(rest: str) -> tuple[str, str | None]:
    found = _PLANTING.fullmatch(rest)
    return (found[1], found[2] or found[3]) if found else (rest, None)


def _of(planting: str | None) -> str:
    if planting is None:
        return ""
    return f" planting {planting}" if _BARE.fullmatch(planting) else f' planting "{planting}"'


def _words(crop: str, rest: str, planting: str | None, *, names: Names) -> str:
    """Crop, what follows it and planting as they are written: the crop in quotes where it would
    be read as something else without."""
    after = f" {rest}{_of(planting)}" if rest else _of(planting)
    with contextlib.suppress(Unclear):
        bare = all(map(_BARE.fullmatch, crop.split()))
        if bare and _crop(f"{crop}{after}", names) == (crop, rest, planting):
            return f"{crop}{after}"
    return f'"{crop}"{after}'


def _crop(rest: str, names: Names) -> tuple[str, str, str | None]:
    """Crop, what follows it, and planting; a planting's id stands for its crop as well."""
    rest, planting = _split_planting(rest)
    first, _, after = rest.partition(" ")
    if planting is None and first in names.plantings and fold(first) not in names.crops:
        return names.plantings[first], after, first
    crop, after = known_name(rest, names, "crop")
    return crop, after, planting


def _crop_alone(rest: str, names: Names) -> tuple[str, str | None]:
    crop, after, planting = _crop(rest, names)
    if after:
        raise Unclear(f'I do not know what "{after}" means after {crop}.')
    return crop, planting


def _portions(rest: str, names: Names, verb: str, *, least: int) -> tuple[str, int]:
    product, after = known_name(rest, names, "product")
    found = _PORTIONS.fullmatch(after) or _PORTIONS.fullmatch(figures(after))
    if found is None or int(found[1]) < least:
        raise Unclear(f"How many portions of {product}?", f'Write: {verb} "{product}" 2')
    return product, int(found[1])


def _gone(rest: str, names: Names, verb: str) -> tuple[str, int | None, Quantity | None, str]:
    """Name, portions or amount, and the words: portions are of a product, amounts of a crop."""
    product, after = known_name(rest, names, "product or crop")
    if found := _PORTIONS.fullmatch(after) or _PORTIONS.fullmatch(figures(after)):
        return product, int(found[1]), None, f'{verb} "{product}" {found[1]}'
    crop, after = known_name(rest, names, "crop")
    if not after:
        raise Unclear(f"How much {crop} was it?", f"Write: {verb} {crop} 2 lb")
    amount, written = _amount(after, names, crop)
    return crop, None, amount, f"{verb} {_words(crop, written, None, names=names)}"


def _amount(text: str, names: Names, crop: str = "") -> tuple[Quantity, str]:
    """The amount, and how it is written plainly; pieces of a crop by what a medium one weighs.

    A number alone may mean pieces, or lack its unit: it is asked which.
    """
    if told := counted(figures(text), names.counted.get(crop)):
        grams, named = told
        written = mass(grams, names.measures)
        if not named:
            count, unit = figures(text), "kg" if names.measures == "metric" else "lb"
            raise which(text, [f"{count} pieces", f"{count} {unit}"])
        return read_quantity(written, "mass", names.measures), written
    amount, written = read_amount(text, ("mass", "volume"), names.measures)
    if amount.value <= 0:
        raise Unclear(f'"{text}" is nothing.', "Write what there was, or no line.")
    return amount, written


def _check_alone(crop: str, names: Names) -> None:
    """Which of several plantings failed has to be said."""
    ids = [name for name, grown in names.plantings.items() if grown == crop]
    if len(ids) > 1:
        raise Unclear(
            f"Which planting of {crop} failed? You have {len(ids)}.",
            f"Write: failed {crop} planting {ids[0]}, or {', '.join(ids[1:])}.",
            ids,
        )


def _check_planting(planting: str, crop: str, names: Names) -> None:
    own = names.plantings.get(planting)
    if own is None:
        hint = suggestion(planting, names.plantings)
        raise Unclear(f'There is no planting "{planting}".', hint)
    if own != crop:
        ids = [name for name, grown in names.plantings.items() if grown == crop]
        raise Unclear(f'The planting "{planting}" is {own}, not {crop}.', suggestion(planting, ids))
