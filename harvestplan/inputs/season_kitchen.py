"""What a household writes of its kitchen, from the stove to the freezers.

Quantities are floats in the fixed units of `quantity_types`.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from harvestplan.inputs.quantity_types import (
    Area,
    Duration,
    Length,
    Mass,
    Power,
    Size,
    Volume,
)

Name = Annotated[str, Field(min_length=1, max_length=80)]
PackKind = Literal["pouch", "zip bag", "box"]
Mouth = Literal["wide", "narrow"]


class SeasonTable(BaseModel):
    """A table in a season file: nothing unknown, nothing changed after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=False)


class Stove(SeasonTable):
    """What all burners of a stove draw together at most, W."""

    name: Name
    power: Power


class Pot(SeasonTable):
    """A pot on its burner: volume mL, the burner's power W; `batch` is the household's own, g.

    `stove` names the [[stove]] whose power it shares; `basket` is the area in m² of a basket in
    which it steams; `tap` is the water it is filled with.
    """

    name: Name
    volume: Volume
    power: Power
    kind: Literal["gas", "electric", "induction"] = "electric"
    efficiency: Annotated[float, Field(gt=0.05, le=1.0)] | None = None
    batch: Mass | None = None
    one_minute: bool = False
    stove: Name | None = None
    basket: Area | None = None
    tap: Literal["cold", "hot"] = "cold"


class Bath(SeasonTable):
    """A basin to wash, soak and cool in: volume mL."""

    name: Name
    volume: Volume


class Oven(SeasonTable):
    """An oven: trays, and the load of one tray in g."""

    name: Name
    trays: Annotated[int, Field(ge=1, le=12)]
    tray_load: Mass


class Dryer(SeasonTable):
    """A dryer: trays, and the area of one tray in m²."""

    name: Name
    trays: Annotated[int, Field(ge=1, le=40)]
    tray_area: Area


class Sealer(SeasonTable):
    """The sealing machine, or `count` equal ones: bar and chamber in m, times in s.

    `run_so_far` is that of each machine. With `kind` "none" there is no machine, and nothing else
    said of it counts.
    """

    name: Name = "sealer"
    count: Annotated[int, Field(ge=1, le=20)] = 1
    kind: Literal["chamber", "external", "none"]
    bar: Length = 0.0
    chamber: Size | None = None
    handling: Duration = 20.0
    service_after: Duration | None = None
    run_so_far: Duration = 0.0

    @model_validator(mode="after")
    def _bar_known(self) -> Sealer:
        if self.kind != "none" and "bar" not in self.model_fields_set:
            raise ValueError(
                'a sealing machine needs bar, like bar = "12 in"; without a machine write '
                'kind = "none"'
            )
        return self

    @property
    def units(self) -> tuple[str, ...]:
        """What each machine is called: by number where there are several."""
        if self.count == 1:
            return (self.name,)
        return tuple(f"{self.name} {number}" for number in range(1, self.count + 1))


NEEDED: dict[PackKind, dict[str, str]] = {
    "pouch": {"width": '"8 in"', "length": '"12 in"', "film": '"3 mil"'},
    "zip bag": {"width": '"7 in"', "length": '"8 in"'},
    "box": {"volume": '"1 US pint"', "mouth": '"wide" or "narrow"'},
}
"""What each kind of container must say of itself, with an example."""
OPTIONAL: dict[PackKind, tuple[str, ...]] = {"pouch": (), "zip bag": ("film",), "box": ("height",)}


class Pouch(SeasonTable):
    """What food is packed in: pieces, price and stock count alike for all kinds.

    pouch    for the sealing machine: width (the open mouth), length and film in m
    zip bag  closed by hand: width and length of the empty bag below its zip, lying flat
    box      a rigid box or jar with a lid: volume in mL to the brim, how wide its mouth is, and
             its height inside in m, where that is known
    """

    name: Name
    kind: PackKind = "pouch"
    width: Length | None = None
    length: Length | None = None
    film: Length | None = None
    volume: Volume | None = None
    mouth: Mouth | None = None
    height: Length | None = None
    pack: Annotated[int, Field(ge=1, le=5000)] | None = None
    price: Annotated[float, Field(ge=0, le=1_000_000)] | None = None
    in_stock: Annotated[int, Field(ge=0, le=1_000_000)] = 0

    @model_validator(mode="after")
    def _said_in_full(self) -> Pouch:
        needed = NEEDED[self.kind]
        missing = [key for key in needed if getattr(self, key) is None]
        if missing:
            examples = ", ".join(f"{key} = {needed[key]}" for key in missing)
            keys = " and ".join(missing)
            raise ValueError(f"a {self.kind} needs {keys}; add for example {examples}")
        known = {*needed, *OPTIONAL[self.kind]}
        sizes = {key for keys in NEEDED.values() for key in keys} | {"film", "height"}
        odd = sorted(key for key in sizes - known if getattr(self, key) is not None)
        if odd:
            keys = " and ".join(odd)
            raise ValueError(f"a {self.kind} has no {keys}; take it out, or mend kind")
        return self

    @property
    def by_hand(self) -> bool:
        """Whether hands close it, without a machine and without a vacuum."""
        return self.kind != "pouch"


class Freezer(SeasonTable):
    """A freezer: volume and what is taken of it in mL, freezing per day in g, trays in m²."""

    name: Name
    volume: Volume
    used: Volume = 0.0
    freezing_per_day: Mass | None = None
    tray_area: Area | None = None


class Cold(SeasonTable):
    """Room for waiting food: how much of the fridge it may take in mL (as much as it likes where
    nothing is said), and whether there is a cellar; whether ice is bought or made in the first
    freezer, on the day before it is needed."""

    fridge: Volume | None = None
    cellar: bool = False
    ice: Literal["buy", "make"] = "buy"
