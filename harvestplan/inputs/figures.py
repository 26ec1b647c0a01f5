"""A figure of the crop library: its value, where it comes from, and what other sources say."""

from __future__ import annotations

from typing import Annotated, Generic, TypeVar

from pydantic import BaseModel, ConfigDict, Field

T = TypeVar("T")
Name = Annotated[str, Field(min_length=1, max_length=60)]


class CropTable(BaseModel):
    """A table in a crop file: nothing unknown, nothing changed after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class OtherFigure(CropTable, Generic[T]):
    """What another source says of the same thing, and why it is not the one used."""

    value: T
    source: Name
    seen: bool
    note: str = ""


class Figure(CropTable, Generic[T]):
    """A value with where it comes from."""

    value: T
    low: T | None = None
    high: T | None = None
    source: Name
    seen: bool
    note: str = ""
    other: tuple[OtherFigure[T], ...] = ()
