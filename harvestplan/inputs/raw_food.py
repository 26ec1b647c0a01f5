"""Raw food that waits: where, how long it is good there, and what of its worth a day costs."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from harvestplan.inputs.counted_food import CountedFood
from harvestplan.inputs.figures import CropTable, Figure, Name
from harvestplan.inputs.quantity_types import Duration, Mass

Place = Literal["fridge", "cellar", "room"]
LostADay = Annotated[float, Field(ge=0, le=1)]
"""A share of its worth, by the day."""


class Counted(CropTable):
    """A food that people count; see `CountedFood`. Those whose sizes differ by more than half, like
    squashes that keep, have no such table."""

    weight: Figure[Mass]
    one: Name
    many: Name
    american: tuple[Name, Name] | None = None
    dozens: bool = False
    told: bool = False

    @property
    def food(self) -> CountedFood:
        """The same as plain data."""
        return CountedFood(
            self.weight.value, self.one, self.many, self.american, self.dozens, self.told
        )


class Keeping(CropTable):
    """How long the raw food keeps, for quality, in each place."""

    fridge: Figure[Duration] | None = None
    cellar: Figure[Duration] | None = None
    room: Figure[Duration] | None = None

    @model_validator(mode="after")
    def _some_place(self) -> Keeping:
        if not (self.fridge or self.cellar or self.room):
            raise ValueError("say how long it keeps: fridge, cellar or room")
        return self

    def best_place(self, cellar: bool) -> Place:
        """Where it keeps longest; `cellar` says whether the household has one.

        It needs no fridge where it keeps as long elsewhere. What is known to keep in a cellar
        alone stays in the room without one.
        """
        there: dict[Place, Figure[Duration] | None] = {
            "cellar": self.cellar if cellar else None,
            "room": self.room,
            "fridge": self.fridge,
        }
        times = {place: figure.value for place, figure in there.items() if figure is not None}
        return max(times, key=lambda place: times[place], default="room")


class Freshness(CropTable):
    """What a day of waiting costs: the share of its worth that raw food loses a day, for quality,
    on the plant or in the ground after it is ready, and then in each place where it may wait.

    A measured loss of what it is eaten for (sugar, firmness, colour, vitamins) is so much of its
    worth lost, spread evenly over the days; where a source tells only for how long it is good or
    sold, half is lost by then (own judgement).
    """

    standing: Figure[LostADay] | None = None
    fridge: Figure[LostADay] | None = None
    cellar: Figure[LostADay] | None = None
    room: Figure[LostADay] | None = None
