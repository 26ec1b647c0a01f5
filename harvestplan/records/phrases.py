"""From the words of a diary line, or of a command, to the event they tell of."""

from __future__ import annotations

import contextlib
import datetime as dt
import re
from collections.abc import Callable, Mapping, Sequence
from functools import cache

from harvestplan.errors import HarvestPlanError, steers
from harvestplan.inputs.explain import suggestion
from harvestplan.inputs.ids import QUOTES, fold
from harvestplan.inputs.quantities import Quantity, QuantityError, read_quantity
from harvestplan.records.events import (
    Ate,
    Bought,
    Count,
    Emerged,
    Event,
    Flowering,
    Froze,
    Gave,
    KeepFree,
    Lost,
    LostAll,
    Moved,
    Picked,
    PowerCut,
    Serviced,
    Setting,
    TimedStep,
    Undo,
)
from harvestplan.records.names import Names, singulars

Head = tuple[dt.date, str, int]
"""Date, code and line of the event to be read."""


class NotUnderstoodError(HarvestPlanError):
    """Words that tell of no event; `message` says why and `hint` how to write it."""

    exit_code = 2

    def __init__(self, message: str, hint: str = "") -> None:
        self.message, self.hint = message, hint
        super().__init__(f"{message} {hint}".strip())


def read_event(verb: str, rest: str, names: Names, *, head: Head, strict: bool = False) -> Event:
    """The event that `verb` and the words after it tell of; its text comes back in the diary's
    own words.

    With `strict` a planting must be one of the season's; the lines of past years name plantings
    that are gone. Raises NotUnderstoodError.
    """
    if any(map(steers, rest := " ".join(rest.split()))):
        raise NotUnderstoodError(
            "There is a character in this that cannot be seen.", "Type it anew."
        )
    reader = _READERS.get(verb.lower())
    if reader is None:
        raise NotUnderstoodError(f'I do not know "{verb}".', suggestion(verb, _READERS))
    event = reader(rest, names, head)
    if strict and isinstance(event, (Picked, Flowering, Emerged)) and event.planting:
        _check_planting(event.planting, event.crop, names)
    return event


def _picked(rest: str, names: Names, head: Head) -> Picked:
    crop, rest, planting = _crop(rest, names)
    if not rest:
        raise NotUnderstoodError(f"How much {crop} was it?", f"Write: picked {crop} 2 lb")
    amount = _amount(rest, names)
    return Picked(
        *head, f"picked {_words(crop, rest, planting, names=names)}", crop, amount, planting
    )


def _bought(rest: str, names: Names, head: Head) -> Bought:
    crop, rest = _known(rest, names.crops, "food")
    if not rest:
        raise NotUnderstoodError(f"How much {crop} was it?", f'Write: bought "{crop}" 20 lb')
    return Bought(*head, f'bought "{crop}" {rest}', crop, _amount(rest, names))


def _flowering(rest: str, names: Names, head: Head) -> Flowering:
    crop, planting = _crop_alone(rest, names)
    return Flowering(*head, f"flowering {_words(crop, '', planting, names=names)}", crop, planting)


def _emerged(rest: str, names: Names, head: Head) -> Emerged:
    crop, planting = _crop_alone(rest, names)
    return Emerged(*head, f"emerged {_words(crop, '', planting, names=names)}", crop, planting)


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
    product, rest = _known(rest, names.products, "product")
    found = _FROZE.fullmatch(rest)
    if found is None:
        raise NotUnderstoodError(
            f'I cannot read "{rest}" as pouches.',
            f'Write: froze "{product}" 6 pouches of 12 oz, 1 failed seal, 95 minutes',
        )
    portion = _amount(found["portion"], names) if found["portion"] else None
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
        raise NotUnderstoodError(error.message, error.hint) from None
    if not 0 < minutes <= LONGEST_WORK:
        raise NotUnderstoodError(f'"{written}" of work is not one evening\'s.', "Write: 95 minutes")
    return minutes


@cache
def _timed_steps() -> dict[str, str]:
    """The words for the steps that hands alone set the time of, each with the step's name."""
    # Only who times a step waits until the kitchen is read.
    from harvestplan.kitchen.steps.all_steps import KINDS

    timed = [kind for kind in KINDS if kind.by_hand]
    return {word: kind.name for kind in timed for word in (kind.name, *kind.also)}


def _timed(rest: str, names: Names, head: Head) -> TimedStep:
    product, rest = _known(rest, names.products, "product")
    steps = _timed_steps()
    found = re.fullmatch(rf"(?P<step>{'|'.join(steps)}),? {_WORK} for (?P<amount>.+)", rest)
    if found is None:
        raise NotUnderstoodError(
            f'I cannot read "{rest}" as a step that was timed.',
            f'Write: timed "{product}" trim 25 minutes for 6 lb; the steps are '
            + ", ".join(dict.fromkeys(steps.values()))
            + ".",
        )
    minutes = _minutes(found["work"])
    assert minutes is not None  # the pattern asks for it
    step, amount = steps[found["step"]], _amount(found["amount"], names)
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


_POWER = re.compile(r"(?P<span>.*?)(?:,? (?:door )?(?:kept )?(?P<door>shut|closed|opened|open))?")
LONGEST_CUT = 60 * 24
"""Hours of a power cut that one line may tell of."""


def _serviced(rest: str, names: Names, head: Head) -> Serviced:
    if rest.lower() not in ("", "sealer", "the sealer", "sealing machine"):
        raise NotUnderstoodError(f'I cannot read "{rest}".', "Write: serviced sealer")
    return Serviced(*head, "serviced sealer")


def _power_cut(rest: str, names: Names, head: Head) -> PowerCut:
    found = _POWER.fullmatch(rest)
    assert found is not None  # the span takes whatever there is
    try:
        hours = read_quantity(found["span"], "time", "metric").value / 3600
    except QuantityError as error:
        raise NotUnderstoodError(error.message, "Write: power-cut 30 h, door shut") from None
    if not 0 < hours <= LONGEST_CUT:
        raise NotUnderstoodError(f'"{rest}" is no power cut.', "Write: power-cut 30 h, door shut")
    opened = (found["door"] or "shut").startswith("open")
    door = "opened" if opened else "shut"
    return PowerCut(*head, f"power-cut {found['span']}, door {door}", hours, opened)


def _setting(rest: str, names: Names, head: Head) -> Setting:
    try:
        product, words = _known(rest, names.products, "product")
    except NotUnderstoodError:
        # The sealer also closes food that is no product here: in quotes, any name will do.
        if not (quoted := _QUOTED.fullmatch(rest)):
            raise
        product, words = quoted[1].strip(), quoted[2]
    if not words:
        raise NotUnderstoodError(
            f"How was the sealer set for {product}?", f'Write: setting "{product}" pump-down 22 s'
        )
    return Setting(*head, f'setting "{product}" {words}', product, words)


_WHEN = r"(\d{4}-\d\d-\d\d) (\d\d:\d\d)"
_MOVED = re.compile(f"session {_WHEN} to {_WHEN}")
_KEEP = re.compile(r"free (\d{4}-\d\d-\d\d)(?: (\d\d:\d\d))?")


def _moved(rest: str, names: Names, head: Head) -> Moved:
    found = _MOVED.fullmatch(rest)
    if found is None:
        raise NotUnderstoodError(
            f'I cannot read "{rest}" as a session that moves.',
            "Write: moved session 2027-07-14 18:00 to 2027-07-15 18:30",
        )
    session, to = (dt.datetime.combine(_day(found[n]), _clock(found[n + 1])) for n in (1, 3))
    return Moved(*head, f"moved {rest}", session, to)


def _keep(rest: str, names: Names, head: Head) -> KeepFree:
    found = _KEEP.fullmatch(rest)
    if found is None:
        raise NotUnderstoodError(
            f'I cannot read "{rest}" as a day to keep free.', "Write: keep free 2027-07-14"
        )
    time = _clock(found[2]) if found[2] else None
    return KeepFree(*head, f"keep {rest}", _day(found[1]), time)


def _day(written: str) -> dt.date:
    try:
        return dt.date.fromisoformat(written)
    except ValueError:
        raise NotUnderstoodError(f'There is no day "{written}".') from None


def _clock(written: str) -> dt.time:
    try:
        return dt.time.fromisoformat(written)
    except ValueError:
        raise NotUnderstoodError(f'There is no time "{written}".', "Write like 18:30.") from None


def _undo(rest: str, names: Names, head: Head) -> Undo:
    if not re.fullmatch(r"#[0-9a-z]{4,8}", rest):
        raise NotUnderstoodError(f'"{rest}" is no code.', "Write: undo #a1f3")
    return Undo(*head, f"undo {rest}", rest[1:])


_READERS: dict[str, Callable[[str, Names, Head], Event]] = {
    "picked": _picked, "bought": _bought, "flowering": _flowering, "emerged": _emerged,
    "froze": _froze, "timed": _timed, "ate": _ate, "gave": _gave, "lost": _lost, "count": _count,
    "setting": _setting, "serviced": _serviced, "power-cut": _power_cut, "moved": _moved,
    "keep": _keep, "undo": _undo,
}  # fmt: skip

_QUOTED = re.compile(rf"[{QUOTES}](.+?)[{QUOTES}] ?(.*)")
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
    with contextlib.suppress(NotUnderstoodError):
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
    crop, after = _known(rest, names.crops, "crop")
    return crop, after, planting


def _crop_alone(rest: str, names: Names) -> tuple[str, str | None]:
    crop, after, planting = _crop(rest, names)
    if after:
        raise NotUnderstoodError(f'I do not know what "{after}" means after {crop}.')
    return crop, planting


def _portions(rest: str, names: Names, verb: str, *, least: int) -> tuple[str, int]:
    product, after = _known(rest, names.products, "product")
    found = _PORTIONS.fullmatch(after)
    if found is None or int(found[1]) < least:
        raise NotUnderstoodError(f"How many portions of {product}?", f'Write: {verb} "{product}" 2')
    return product, int(found[1])


def _gone(rest: str, names: Names, verb: str) -> tuple[str, int | None, Quantity | None, str]:
    """Name, portions or amount, and the words: portions are of a product, amounts of a crop."""
    product, after = _known(rest, {**names.crops, **names.products}, "product or crop")
    if found := _PORTIONS.fullmatch(after):
        return product, int(found[1]), None, f'{verb} "{product}" {found[1]}'
    crop, after = _known(rest, names.crops, "crop")
    if not after:
        raise NotUnderstoodError(f"How much {crop} was it?", f"Write: {verb} {crop} 2 lb")
    return crop, None, _amount(after, names), f"{verb} {_words(crop, after, None, names=names)}"


def _amount(text: str, names: Names) -> Quantity:
    try:
        amount = read_quantity(text, ("mass", "volume"), names.measures)
    except QuantityError as error:
        raise NotUnderstoodError(error.message, error.hint) from None
    if amount.value <= 0:
        raise NotUnderstoodError(f'"{text}" is nothing.', "Write what there was, or no line.")
    return amount


def _known(rest: str, known: Mapping[str, str], kind: str) -> tuple[str, str]:
    """The longest name at the start of `rest` as it is called here, and what follows it."""
    if quoted := _QUOTED.fullmatch(rest):
        if name := _find(quoted[1], known):
            return name, quoted[2]
        raise _unknown(quoted[1], known, kind)
    words = rest.split()
    for length in range(min(len(words), 8), 0, -1):
        if name := _find(" ".join(words[:length]).rstrip(","), known):
            return name, " ".join(words[length:])
    meant = re.split(r" (?=[\d.½¼¾⅓⅔])", rest)[0]
    raise _unknown(meant, known, kind)


def _find(written: str, known: Mapping[str, str]) -> str | None:
    """A name as written, or its singular."""
    return next((known[form] for form in singulars(fold(written)) if form in known), None)


def _unknown(written: str, known: Mapping[str, str], kind: str) -> NotUnderstoodError:
    hint = suggestion(fold(written), known) or "See the list: harvestplan crops"
    if not written:
        return NotUnderstoodError(f"Which {kind} was it?", hint)
    return NotUnderstoodError(f'I know no {kind} "{written}".', hint)


def _check_planting(planting: str, crop: str, names: Names) -> None:
    own = names.plantings.get(planting)
    if own is None:
        hint = suggestion(planting, names.plantings)
        raise NotUnderstoodError(f'There is no planting "{planting}".', hint)
    if own != crop:
        ids = [name for name, grown in names.plantings.items() if grown == crop]
        raise NotUnderstoodError(
            f'The planting "{planting}" is {own}, not {crop}.', suggestion(planting, ids)
        )
