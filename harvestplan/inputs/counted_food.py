"""A food that people count: "a dozen ears", "2 courgettes"."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from harvestplan.inputs.quantities import QuantityError, read_quantity

if TYPE_CHECKING:
    from harvestplan.inputs.season import Measures


@dataclass(frozen=True)
class CountedFood:
    """What a medium one weighs as it is picked, in g; what one and many are called, `american` the
    same with US measures where the word differs; whether a small pick is `told` by the piece, and
    by `dozens`."""

    grams: float
    one: str
    many: str
    american: tuple[str, str] | None = None
    dozens: bool = False
    told: bool = False

    def named(self, count: float, measures: Measures) -> str:
        """One or many of it: "ear", "ears"."""
        one, many = self.american if self.american and measures == "US" else (self.one, self.many)
        return one if count <= 1 else many


def counted_from(table: Any) -> CountedFood | None:
    """From the table `counted` of a crop file, unchecked; None where it tells nothing of use."""
    try:
        grams = read_quantity(table["weight"]["value"], "mass", "metric").value
        american = tuple(map(str, table["american"])) if "american" in table else None
        return CountedFood(
            grams,
            str(table["one"]),
            str(table["many"]),
            american=(american[0], american[1]) if american else None,
            dozens=bool(table.get("dozens")),
            told=bool(table.get("told")),
        )
    except (QuantityError, KeyError, TypeError, IndexError):
        return None
