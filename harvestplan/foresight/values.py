"""The value of a change in the types that the season's models want."""

from __future__ import annotations

import datetime as dt
import re
import types
import typing
from collections.abc import Mapping
from typing import Any

from harvestplan.inputs.explain import keys_of
from harvestplan.inputs.quantities import Kind, QuantityError, read_quantity
from harvestplan.inputs.season import SeasonSpan
from harvestplan.inputs.season_kitchen import SeasonTable
from harvestplan.inputs.spoken.said_dates import read_date
from harvestplan.inputs.spoken.said_numbers import decimals
from harvestplan.inputs.spoken.unclear import Unclear

UNITS: dict[Kind, str] = {
    "mass": "g", "volume": "mL", "length": "m", "area": "m2", "time": "s", "power": "W",
}  # fmt: skip
_BY = re.compile(r"([+-])\s*(\S.*)")
_TIME = re.compile(r"(\d{1,2})(?::(\d\d))?\s*([ap]m)?", re.IGNORECASE)
_SPAN = re.compile(
    r"(\d[\d:]*\s*(?:[ap]m)?)\s*(?:-|–|to)\s*(\d[\d:]*\s*(?:[ap]m)?)"
    r"(?:\s*,\s*(\d+)\s*(?:pairs? of )?hands?)?",
    re.IGNORECASE,
)


class UnclearError(ValueError):
    """A value that cannot be read; carries a sentence and the way to write it."""

    def __init__(self, message: str, hint: str = "") -> None:
        self.message, self.hint = message, hint
        super().__init__(message)


OWN_NONE = ((SeasonSpan, "visits"),)
"""Keys of which "none" is a value."""


def field_of(model: type[SeasonTable], key: str) -> Any:
    """What pydantic knows of a key, or None where the model has no such key."""
    fields = {about.alias or name: about for name, about in model.model_fields.items()}
    return fields.get(key)


def wanted_value(model: type[SeasonTable], key: str, text: str, *, old: Any, measures: str) -> Any:
    """The value of `key` that `text` asks for, where `old` stands (None where nothing does).

    What cannot be turned into the wanted type stays text, so that the loader says what is wrong.
    Raises UnclearError for a step up or down from nothing, or in another kind of quantity.
    """
    about = field_of(model, key)
    kinds = _types(about.annotation) if about is not None else set()
    step = _BY.fullmatch(text)
    if step and kinds != {str}:
        before = old if old is not None else (about.default if about is not None else None)
        if not isinstance(before, str | int | float | dt.date | dt.time):
            raise UnclearError(f'"{key}" has no value yet to change.', "Write the whole value.")
        sign = 1 if step[1] == "+" else -1
        return _stepped(before, sign, step[2], measures=measures)
    quantity = "BeforeValidator" in repr(about)
    if quantity and "," in text and len(plain := decimals(text, measures)) == 1:
        text = plain[0]
    if dt.date in kinds and isinstance(old, dt.date) and re.search(r"\d", text):
        text = _day_of(text, old)
    return _converted(kinds, text, quantity=quantity)


def _day_of(text: str, old: dt.date) -> str:
    """A date said without its year, as the one nearest to the date that stands there."""
    if re.fullmatch(r"\d{4}-.*", text) or re.search(r"\b(?:ago|in|days?|weeks?)\b", text):
        return text
    try:
        return read_date(text, old, "near", old).isoformat()
    except Unclear as error:
        raise UnclearError(error.message, error.hint) from None


def _types(annotation: Any) -> set[Any]:
    """The plain types in an annotation; a literal is text."""
    if typing.get_origin(annotation) is typing.Annotated:
        return _types(typing.get_args(annotation)[0])
    if typing.get_origin(annotation) is tuple:
        return {tuple}
    if typing.get_origin(annotation) is typing.Literal:
        return {str}
    if typing.get_origin(annotation) in (typing.Union, types.UnionType):
        return set().union(*(_types(part) for part in typing.get_args(annotation))) - {type(None)}
    return {annotation}


def _converted(kinds: set[Any], text: str, quantity: bool) -> Any:
    try:
        if dt.date in kinds:
            return dt.date.fromisoformat(text)
        if dt.time in kinds:
            return read_time(text)
        if bool in kinds and text.lower() in ("true", "yes", "false", "no"):
            return text.lower() in ("true", "yes")
        if int in kinds:
            return int(text)
        if float in kinds and not quantity:
            return float(text)
    except ValueError:
        return text
    if tuple in kinds and not quantity:
        return [part.strip() for part in text.split(",")]
    return text


def read_time(text: str) -> dt.time:
    """A clock time like "18:30", "9" or "6:15 pm"; raises ValueError."""
    found = _TIME.fullmatch(text.strip())
    if found is None:
        raise ValueError(text)
    hour = int(found[1])
    if found[3]:
        hour = hour % 12 + (12 if found[3].lower() == "pm" else 0)
    return dt.time(hour, int(found[2] or 0))


def read_span(text: str) -> dict[str, Any] | None:
    """The keys of a window written as "18:00-21:00, 2 hands", or None."""
    found = _SPAN.fullmatch(text.strip())
    if found is None:
        return None
    try:
        keys: dict[str, Any] = {"start": read_time(found[1]), "end": read_time(found[2])}
    except ValueError:
        return None
    return keys | ({"hands": int(found[3])} if found[3] else {})


def read_pairs(model: type[SeasonTable], text: str) -> dict[str, str]:
    """The keys and values of "volume 8 qt, power 1.8 kW"; raises UnclearError."""
    keys = sorted(keys_of(model), key=len, reverse=True)
    named = re.compile(rf"({'|'.join(map(re.escape, keys))})\s+(\S.*)", re.IGNORECASE)
    parts = re.split(rf",\s*(?=(?:{'|'.join(map(re.escape, keys))})\s)", text, flags=re.IGNORECASE)
    pairs: dict[str, str] = {}
    for part in parts:
        found = named.fullmatch(part.strip())
        if found is None:
            hint = f"Write key value, key value; the keys are: {', '.join(keys_of(model))}."
            raise UnclearError(f'I cannot read "{part.strip()}".', hint)
        pairs[found[1].lower()] = found[2].strip()
    return pairs


def _stepped(old: Any, sign: int, by: str, *, measures: str) -> Any:
    """`old` more or less `by`: "1", "2 weeks", "100 L", "50 %"."""
    if share := re.fullmatch(r"(\d+(?:\.\d+)?)\s*%", by):
        return _scaled(old, 1 + sign * float(share[1]) / 100, measures)
    if isinstance(old, dt.date):
        seconds = sign * _quantity(by, measures, ("time",)).value
        return old + dt.timedelta(days=round(seconds / 86400))
    if isinstance(old, dt.time):
        seconds = sign * _quantity(by, measures, ("time",)).value
        moved = dt.datetime.combine(dt.date(2000, 1, 2), old) + dt.timedelta(seconds=seconds)
        if moved.date() != dt.date(2000, 1, 2):
            raise UnclearError("This goes past midnight.", "A window ends on the day it starts.")
        return moved.time()
    if isinstance(old, int | float):
        try:
            return old + sign * (int(by) if isinstance(old, int) else float(by))
        except ValueError:
            raise UnclearError(f'"{by}" is no number to add.', "Write for example +1.") from None
    before = _quantity(str(old), measures, tuple(UNITS))
    step = _quantity(by, measures, (before.kind,))
    return _as_text(before.value + sign * step.value, before.kind)


def _scaled(old: Any, factor: float, measures: str) -> Any:
    if isinstance(old, int):
        return max(old + (1 if factor > 1 else 0), round(old * factor))
    if isinstance(old, float):
        return old * factor
    if isinstance(old, str):
        before = _quantity(old, measures, tuple(UNITS))
        return _as_text(before.value * factor, before.kind)
    raise UnclearError("Only amounts go up or down by per cent.")


def _quantity(text: str, measures: str, kinds: tuple[Kind, ...]) -> Any:
    try:
        return read_quantity(text, kinds, measures)
    except QuantityError as error:
        raise UnclearError(error.message, error.hint) from None


def _as_text(value: float, kind: Kind) -> str:
    return f"{value:.6f} {UNITS[kind]}"


def with_pairs(
    model: type[SeasonTable], content: Mapping[str, Any], pairs: Mapping[str, str], *, measures: str
) -> dict[str, Any]:
    """The table with every pair's value in place of what stood there; "none" takes a key out,
    unless it is one of the key's own words."""
    changed = dict(content)
    for key, text in pairs.items():
        about = model.model_fields.get(key)
        own_word = about is not None and text.lower() in typing.get_args(about.annotation)
        own_word = own_word or (model, key) in OWN_NONE
        if text.lower() == "none" and not own_word:
            changed.pop(key, None)
        else:
            changed[key] = wanted_value(model, key, text, old=content.get(key), measures=measures)
    return changed
