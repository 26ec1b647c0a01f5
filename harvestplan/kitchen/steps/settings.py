"""What a cook must know to do a task, typed: each kind of step has its settings.

A plan's file keeps them as a plain table, in the order of the fields. A plan may have been changed
by hand: what is missing, or no value of its kind, reads as None.
"""

from __future__ import annotations

import math
import typing
from collections.abc import Hashable, Mapping
from dataclasses import MISSING, dataclass, fields
from functools import cache
from typing import Any, Protocol, Self

TOO_LARGE = 1e15
"""No number of a task comes near it."""


class Told(Protocol):
    """A task of a plan, or one that is still to be given its time."""

    @property
    def step(self) -> str: ...

    @property
    def settings(self) -> Mapping[str, Any]: ...


@dataclass(frozen=True)
class Settings:
    """The settings of a task; None where nothing is said."""

    @classmethod
    def of(cls, task: Told) -> Self:
        """What the task says of these settings; all else that it says is left out."""
        kinds = _kinds(typing.cast(Hashable, cls))
        said = {name: task.settings.get(name) for name in kinds}
        return cls(**{n: value if _is_one(value, kinds[n]) else None for n, value in said.items()})

    def as_json(self) -> dict[str, Any]:
        """The table in the plan's file. A field with None for its default stands there only where
        there is something to say."""
        said = ((field, getattr(self, field.name)) for field in fields(self))
        return {f.name: value for f, value in said if value is not None or f.default is MISSING}

    def timer(self) -> float:
        """Seconds to which a kitchen timer is set at the task; 0 where nothing is timed."""
        return 0.0

    def ice(self) -> int:
        """Ice in g that the task takes."""
        return 0

    def water(self) -> float:
        """Water in mL that the food is in at the task."""
        return 0.0


@cache
def _kinds(settings: Hashable) -> dict[str, tuple[type, ...]]:
    """By field of a class of settings the types that its value may have."""
    return {name: typing.get_args(kind) for name, kind in typing.get_type_hints(settings).items()}


def _is_one(value: object, kinds: tuple[type, ...]) -> bool:
    if isinstance(value, str):
        return str in kinds
    sound = isinstance(value, int | float) and not isinstance(value, bool)
    return sound and str not in kinds and math.fabs(value) < TOO_LARGE  # type: ignore[arg-type]


@dataclass(frozen=True, kw_only=True)
class _Freezer(Settings):
    freezer: str | None
    area_cm2: int | None


def freezer_of(task: Told) -> str | None:
    """The freezer that a task brings food to, of whatever step it is."""
    return _Freezer.of(task).freezer


def tray_area_of(task: Told) -> int:
    """Area in cm² that a task's food lies on, of whatever step it is."""
    return int(_Freezer.of(task).area_cm2 or 0)
