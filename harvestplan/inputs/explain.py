"""Turn what the models refuse into sentences for a gardener, with the way to write it."""

from __future__ import annotations

import types
import typing
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel
from pydantic_core import PydanticCustomError

from harvestplan.inputs.quantities import QuantityError

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

_EXAMPLES = {
    "name": '"big pot"', "timezone": '"America/New_York"', "days": '["mon", "thu"]',
    "date": "2027-07-10", "volume": '"8 qt"', "power": '"1.8 kW"', "trays": "4",
    "tray_load": '"2 lb"', "tray_area": '"1.2 ft2"', "kind": '"external"', "bar": '"12 in"',
    "width": '"8 in"', "length": '"12 in"', "film": '"3 mil"', "crop": '"snap bean"',
    "item": '"apple"', "amount": '"40 lb"', "on": "2027-09-20", "product": '"snap bean, cut"',
    "portions": "24", "portion": '"12 oz"', "per_week": '"2 lb"', "frozen_on": "2026-11-02",
}  # fmt: skip
_TYPES = {
    "int": ("a whole number", "3"),
    "float": ("a number", "1.5"),
    "bool": ("true or false", "true"),
    "string": ("text in quotes", '"text"'),
    "date": ("a date, year-month-day without quotes", "2027-05-12"),
    "time": ("a time without quotes", "18:30"),
    "tuple": ("a list in square brackets", '["one", "two"]'),
}


_LONGEST = 100
"""Letters of a word that names are looked for by."""


def nearest(word: str, names: Iterable[str], cutoff: float = 0.6) -> str | None:
    """The name most like `word`, any case, or None if none is near."""
    # Imported only where something is amiss, so that what is right stays quick.
    from rapidfuzz.distance import OSA
    from rapidfuzz.process import extractOne

    by_lower = {name.lower(): name for name in names}
    found = extractOne(
        word.lower()[:_LONGEST],
        by_lower.keys(),
        scorer=OSA.normalized_similarity,
        score_cutoff=cutoff,
    )
    begun = [name for name in by_lower if len(name) >= 3 and word.lower().startswith(name)]
    near = [found[0]] if found else begun
    return by_lower[near[0]] if near else None


def suggestion(word: str, names: Iterable[str]) -> str:
    """A hint: the nearest of `names`, or all of them where there are few."""
    names = list(names)
    near = nearest(word, names)
    if near:
        return f'Did you mean "{near}"?'
    return f"Allowed are: {', '.join(names)}." if 0 < len(names) <= 24 else ""


def not_among(names: Iterable[str]) -> PydanticCustomError:
    """What a validator raises for a word that is none of `names`, as a model's own list of allowed
    words would."""
    expected = ", ".join(f"'{name}'" for name in names)
    return PydanticCustomError("literal_error", "an unknown word", {"expected": expected})


def keys_of(model: type[BaseModel]) -> list[str]:
    """The keys that people write for a model."""
    return [field.alias or name for name, field in model.model_fields.items()]


def explain(error: ErrorDetails, model: type[BaseModel], heading: str) -> tuple[str, str]:
    """The sentence and the hint for one validation error in a table called `heading`."""
    kind, place = error["type"], error["loc"]
    cause = (error.get("ctx") or {}).get("error")
    keys = [part for part in place if isinstance(part, str)]
    key = keys[-1] if keys else ""
    prefix = f'"{key}": ' if key else f"{heading}: "
    if kind == "missing":
        inner = f'"{keys[-2]}" in {heading}' if len(keys) > 1 else heading
        return f'{inner} needs "{key}".', f"Add for example: {key} = {_example(key, heading)}"
    if kind == "extra_forbidden":
        return _unknown_key(key, _model_at(model, place[:-1]), heading)
    if isinstance(cause, QuantityError):
        return prefix + cause.message, cause.hint
    if kind == "value_error":
        return f"{prefix}{cause}.", ""
    message, hint = _refused(error)
    return prefix + message, hint.replace("KEY", key)


def _example(key: str, heading: str) -> str:
    if key in ("start", "end"):
        day = {"start": "2027-05-01", "end": "2027-10-31"}[key]
        return {"start": "18:00", "end": "21:00"}[key] if "window" in heading else day
    return _EXAMPLES.get(key, "...")


def _unknown_key(key: str, model: type[BaseModel] | None, heading: str) -> tuple[str, str]:
    message = f'"{key}" is not known in {heading}.'
    return message, suggestion(key, keys_of(model) if model else [])


def _refused(error: ErrorDetails) -> tuple[str, str]:
    """Sentence and hint for a value of the wrong type, size or spelling."""
    kind, value, context = error["type"], error["input"], error.get("ctx") or {}
    family = kind.split("_")[0]
    if kind == "literal_error":
        allowed = str(context["expected"]).split("'")[1::2]
        if not isinstance(value, str):
            return "This is not one of the allowed words.", f"Allowed are: {', '.join(allowed)}."
        return f'"{value}" is not one of the allowed words.', suggestion(value, allowed)
    if kind == "string_pattern_mismatch":
        return f'"{value}" is not a month and day.', 'Write month-day with two digits: "05-12".'
    if kind in ("string_too_short", "too_short"):
        return "This is empty.", "Write something here or delete the line."
    if kind in ("string_too_long", "too_long"):
        return f"This is longer than {context['max_length']}.", "Write something shorter."
    if limit := _limit(context):
        return f"{value} is out of range.", f"It must be {limit}."
    if family in _TYPES:
        return _wrong_type(family, value)
    if kind == "model_type":
        return "This is not a table of keys and values.", "Write name = value lines under it."
    return "This value cannot be used here.", ""


def _limit(context: dict[str, Any]) -> str:
    words = {"ge": "at least", "gt": "more than", "le": "at most", "lt": "less than"}
    return next((f"{words[key]} {context[key]:g}" for key in words if key in context), "")


def _wrong_type(family: str, value: object) -> tuple[str, str]:
    named, example = _TYPES[family]
    if isinstance(value, str) and family not in ("string", "tuple"):
        message = f'"{value}" is text in quotes, but {named} is wanted.'
    else:
        message = f"This must be {named}."
    return message, f"Write for example: KEY = {example}"


def _model_at(model: type[BaseModel], place: Iterable[str | int]) -> type[BaseModel] | None:
    """The model of the table at `place` inside `model`."""
    found: type[BaseModel] | None = model
    for key in place:
        if found is None or isinstance(key, int):
            continue
        fields = {field.alias or name: field for name, field in found.model_fields.items()}
        found = _model_in(fields[key].annotation) if key in fields else None
    return found


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The model inside `X`, `X | None`, `tuple[X, ...]` or `dict[str, X]`."""
    if isinstance(annotation, type) and not isinstance(annotation, types.GenericAlias):
        return annotation if issubclass(annotation, BaseModel) else None
    inner = (_model_in(part) for part in typing.get_args(annotation))
    return next((model for model in inner if model), None)
