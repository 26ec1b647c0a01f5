"""What a step adds to its food: so much for a mass of what enters it, or of the water it is in."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationInfo, model_validator

from harvestplan.inputs.figures import CropTable, Figure, Name
from harvestplan.inputs.quantity_types import AmountRate, Density

TAP = "water"
"""What is added, and weighed, but never bought."""


class Staple(CropTable):
    """What stands on a household's shelf: an entry of staples.toml."""

    density: Figure[Density]
    """Loose, as spoon and cup take it up."""


class Ingredient(CropTable):
    """One thing added in a step.

    `amount` is for the food that enters the step ("1 cup per lb") or for the water that it is in
    ("4 tsp per gal"). `use` ends the sheet's line: what it is for, or how it is added. `density`
    is wanted with an amount by volume, and comes from staples.toml where that has the item.
    """

    item: Name
    amount: Figure[AmountRate]
    use: str = ""
    density: Figure[Density] | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_the_shelf(cls, said: Any, info: ValidationInfo) -> Any:
        shelf: dict[str, Staple] = (info.context or {}).get("staples", {})
        if not isinstance(said, dict) or "density" in said or said.get("item") not in shelf:
            return said
        return said | {"density": shelf[said["item"]].density}

    @model_validator(mode="after")
    def _weighable(self) -> Ingredient:
        if self.amount.value.of == "volume" and self.density is None:
            raise ValueError(
                "an amount by volume needs the density of the item: give the amount as a mass, or "
                "add the item to staples.toml"
            )
        return self

    @property
    def in_water(self) -> bool:
        """Whether the amount is for the water of the step."""
        return self.amount.value.per == "volume"

    def grams(self, food: float, water: float) -> float:
        """Mass in g for `food` g entering the step, in `water` mL."""
        density = self.density.value if self.density else 1.0
        weight = density if self.amount.value.of == "volume" else 1.0
        return self.amount.value.value * weight * (water if self.in_water else food)
