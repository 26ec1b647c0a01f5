"""What every part of the plan is: an immutable record, counted in whole units."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

Grams = Annotated[int, Field(ge=0)]
Count = Annotated[int, Field(ge=0)]


class Record(BaseModel):
    """A part of the plan: nothing unknown, nothing changed after making."""

    model_config = ConfigDict(extra="forbid", frozen=True)
