"""The crop library: what is known of each crop and bought good, every figure with its source.

A crop file is TOML. A figure is an inline table::

    base = { value = "10 C", source = "OSU69", seen = true, note = "soil and air alike" }

`source` names an entry of ``crops/sources.toml``; `seen` says whether the source was read or the
figure is from memory; `low`/`high` give its range; `other` records what other sources say.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, ValidationInfo, field_validator, model_validator

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.inputs.counted_food import CountedFood
from harvestplan.inputs.explain import not_among
from harvestplan.inputs.figures import CropTable, Figure, Name
from harvestplan.inputs.growing import Growth, Habit, Picking, Yields
from harvestplan.inputs.hazard_classes import Hazard
from harvestplan.inputs.ids import NO_QUOTES, QUOTES, fold
from harvestplan.inputs.ingredients import Ingredient, Staple
from harvestplan.inputs.measured_text import MeasuredText
from harvestplan.inputs.quantity_types import (
    Density,
    Duration,
    Length,
    Mass,
    MassPerArea,
    Temperature,
    TimePerMass,
    VolumePerMass,
)
from harvestplan.inputs.raw_food import Counted, Freshness, Keeping

DAY = 86400


def _without_quotes(name: str) -> str:
    if any(quote in name for quote in QUOTES):
        raise ValueError(NO_QUOTES)
    if name != " ".join(name.split()):
        raise ValueError("blanks stand between words only, one each")
    return name


def _without_comma(name: str) -> str:
    if "," in name:
        raise ValueError("a comma cannot stand in it, since it parts crop and form of a product")
    return name


Form = Annotated[Name, AfterValidator(_without_quotes)]
CropName = Annotated[Form, AfterValidator(_without_comma)]
"""Names that season files and lines of the diary can hold, and read back as they were."""


GAIN_SLACK = 0.01
"""Amounts of ingredients are round ones; what a step leaves may differ by so much."""
Share = Annotated[float, Field(gt=0, le=4)]
"""A ratio of masses: mostly below 1; above 1 where water or stock is added."""


class Piece(CropTable):
    """The shape that heats through in the pot, or freezes through on trays: size is the slab's
    thickness or the diameter."""

    shape: Literal["slab", "cylinder", "sphere"]
    size: Figure[Length]


class Steam(CropTable):
    """Blanching over steam instead of in water: time in s from where its own clock starts."""

    time: Figure[Duration]
    clock: Literal["lid on"]
    """Steaming is timed from lid on (NCHFP, nchfp-blanching)."""


@dataclass(frozen=True)
class KnownSteps:
    """What the kitchen knows of steps: their names, those whose time hands alone set, what a step
    lacks, and what is wrong with a chain of them, as sentences without full stop. It is handed in
    as "steps" of the context of validation; without it no step is judged."""

    names: tuple[str, ...]
    by_hand: tuple[str, ...]
    flaw: Callable[[Step], str | None]
    chain_flaw: Callable[[Sequence[Step]], str | None]


def _known_steps(info: ValidationInfo) -> KnownSteps | None:
    found = (info.context or {}).get("steps")
    return found if isinstance(found, KnownSteps) else None


class Step(CropTable):
    """One step of a chain: all that any kind of step may say.

    per_kg       work or time for each kg that enters the step
    fixed        time for each run (batch steps: for each batch), whatever the mass
    hands        people who stand by; 0 = it goes on by itself
    leaves       mass after the step ÷ mass before it; above 1 by what is added
    verb         what hands do, as the sheet says it: "husk", "top and tail"
    size         how the pieces are when it is done: "slices of {1/4 in}"
    mixed        what to do about pieces of other sizes: "thin spears a minute less"
    ingredients  what is added
    """

    step: Name
    verb: Annotated[str, Field(pattern=r"^[a-z][^.{}]{1,40}$")] | None = None
    size: Figure[MeasuredText] | None = None
    mixed: Figure[MeasuredText] | None = None
    ingredients: tuple[Ingredient, ...] = ()
    per_kg: Figure[TimePerMass] | None = None
    fixed: Figure[Duration] | None = None
    hands: Annotated[int, Field(ge=0, le=4)] = 1
    leaves: Figure[Share] | None = None
    # blanch, roast, simmer, soak; dry: hours in the dryer after the sitting
    time: Figure[Duration] | None = None
    clock: Literal["return to boil", "lid on"] | None = None
    water: Figure[VolumePerMass] | None = None
    """blanch, simmer, soak: water in mL for each g that enters; a blanch step over steam, as
    `kitchen.steaming` makes it, has none."""
    heat_to: Figure[Temperature] | None = None
    """simmer: the temperature at which its time begins, where that is below the boil."""
    piece: Piece | None = None
    steam: Steam | None = None
    # cool
    ratio: Figure[Annotated[float, Field(gt=0, le=4)]] | None = None
    """cool: cooling time ÷ blanching time."""
    # chill, tray freeze, dry: where a second sitting may follow
    pause_limit: Figure[Duration] | None = None
    """The longest wait, chilled or frozen on trays, before the second sitting goes on."""
    pause_least: Figure[Duration] | None = None
    """The shortest wait before the second sitting; the run then always takes two sittings."""
    # tray freeze, dry; a tray freeze has a piece as well
    tray_load: Figure[MassPerArea] | None = None
    caution: str = ""

    @field_validator("step", mode="before")
    @classmethod
    def _known(cls, name: Any, info: ValidationInfo) -> Any:
        known = _known_steps(info)
        if known is not None and name not in known.names:
            raise not_among(known.names)
        return name

    @model_validator(mode="after")
    def _complete(self, info: ValidationInfo) -> Step:
        known = _known_steps(info)
        if known is not None and (flaw := known.flaw(self)):
            raise ValueError(flaw)
        return self

    @model_validator(mode="after")
    def _gains_what_is_added(self) -> Step:
        """A step that leaves more than enters it says where the rest comes from."""
        gained = (self.leaves.value if self.leaves else 1.0) - 1
        if gained <= 0:
            return self
        added = sum(each.grams(1.0, 0.0) for each in self.ingredients)
        drawn = self.water.value if self.water else 0.0
        if not added - GAIN_SLACK <= gained <= added + drawn + GAIN_SLACK:
            raise ValueError(
                f"leaves {1 + gained:g} is more than goes in: it must be 1 and what the "
                f"ingredients add, which is {1 + added:.3g}, or come out of the step's water"
            )
        return self

    @model_validator(mode="after")
    def _least_below_limit(self) -> Step:
        least, limit = self.pause_least, self.pause_limit
        if least and not (limit and least.value < limit.value):
            raise ValueError("pause_least needs a pause_limit that is longer")
        return self


class Product(CropTable):
    """One chain: how the crop becomes one stored product, "crop, form"."""

    form: Form
    usual: bool = False
    storage: Literal["freezer", "shelf", "fridge"]
    texture: Literal["pieces", "leaf", "puree", "liquid", "meat", "dry"]
    eaten_raw: bool = False
    """True for what is usually eaten as it thaws, without cooking."""
    foams: bool = False
    """True where a long pump-down makes it foam (a purée that holds air)."""
    density: Figure[Density]
    """Mass over the volume it takes up, packed as sold or stored (cup weights)."""
    keeps: Figure[Duration]
    """Best-before in that storage; quality, not safety, at 0 °F or below."""
    steps: Annotated[tuple[Step, ...], Field(min_length=2)]
    cautions: tuple[str, ...] = ()
    hazard: Hazard | None = None
    """A class that it has beside its crop's."""

    @model_validator(mode="after")
    def _in_order(self, info: ValidationInfo) -> Product:
        known = _known_steps(info)
        if known is not None and (flaw := known.chain_flaw(self.steps)):
            raise ValueError(flaw)
        return self

    @property
    def packed_share(self) -> float:
        """Mass packed per mass of raw food."""
        share = 1.0
        for step in self.steps:
            if step.leaves is not None:
                share *= step.leaves.value
        return share


class Refusal(CropTable):
    """A way of keeping food that is refused, with the reason and where to read more."""

    form: Name
    why: str
    source: Name
    seen: bool


class Crop(CropTable):
    """A garden crop (`kind` "grown") or a good bought in bulk ("bought")."""

    name: CropName
    also: tuple[CropName, ...] = ()
    """Other common trade names, understood in season files."""
    kind: Literal["grown", "bought"]
    in_water: Literal["mild", "strong", "colours"] = "mild"
    """What it does to water that it is blanched in: nothing, a strong taste, or its colour. Mild
    food goes in before strong, and what colours the water last."""
    allergens: tuple[Name, ...] = ()
    """What of it makes some people ill, as food labels name it: "fish", "shellfish"."""
    water_share: Figure[Annotated[float, Field(gt=0, lt=1)]]
    raw_density: Figure[Density]
    """Loose raw food, for fridge space and for amounts given as a volume."""
    least_batch: Figure[Mass] | None = None
    """Raw food in g for which it is worth starting: washing, heating a kettle, cleaning up."""
    counted: Counted | None = None
    """How people count it, and what one weighs; None where they do not."""
    growth: Growth | None = None
    picking: Picking | None = None
    yields: Yields | None = None
    habits: tuple[Habit, ...] = ()
    keeping: Keeping
    freshness: Freshness = Freshness()
    products: Annotated[tuple[Product, ...], Field(min_length=1)]
    refused: tuple[Refusal, ...] = ()
    hazard: Hazard | None = None
    """What it may carry raw; None, where its file does not say, stands for the strictest class."""

    @model_validator(mode="after")
    def _grown_crops_grow(self) -> Crop:
        if self.kind == "grown" and not (self.growth and self.picking and self.yields):
            raise ValueError("a grown crop needs growth, picking and yields")
        if sum(product.usual for product in self.products) != 1:
            raise ValueError("exactly one product is the usual one")
        if len({fold(product.form) for product in self.products}) < len(self.products):
            raise ValueError("each product needs a form of its own")
        if len({fold(habit.name) for habit in self.habits}) < len(self.habits):
            raise ValueError("each habit needs a name of its own")
        return self

    def grown_as(self, habit: str | None) -> Crop:
        """The crop as plants of this habit grow; itself for None, or a habit that it has not."""
        named = (each for each in self.habits if habit and fold(each.name) == fold(habit))
        if self.growth is None or (found := next(named, None)) is None:
            return self
        timed = found.model_dump(include={"days_to_maturity", "thermal_time"}, exclude_none=True)
        growth = self.growth.model_copy(update={key: getattr(found, key) for key in timed})
        tables = {"picking": found.picking, "yields": found.yields}
        told = {key: table for key, table in tables.items() if table is not None}
        return self.model_copy(update={"growth": growth, **told})

    @property
    def stands(self) -> int:
        """Whole days that a ripe pick can stand on its plant before it is brought in."""
        return 0 if self.picking is None else int(self.picking.stands.value // DAY)


class Source(CropTable):
    """Where figures come from: an entry of sources.toml. `packs` says of what its keeping times
    tell: "ordinary" ones, bags and boxes closed by hand."""

    title: str
    publisher: str = ""
    year: str = ""
    where: str = ""
    packs: Literal["ordinary"] | None = None


class Library(CropTable):
    """All crops by name, all sources by id, all staples by name; the steps whose time hands alone
    set, where they are known."""

    crops: dict[str, Crop]
    sources: dict[str, Source]
    staples: Annotated[dict[str, Staple], Field(default_factory=dict)]
    by_hand: Annotated[tuple[str, ...], Field(exclude=True)] = ()

    def find_crop(self, name: str) -> Crop | None:
        """The crop called `name` (its own name or another trade name, any case), or None."""
        wanted = name.strip().lower()
        for crop in self.crops.values():
            if wanted in (crop.name.lower(), *(name.lower() for name in crop.also)):
                return crop
        return None

    def crop(self, name: str) -> Crop:
        """The crop called `name`; raises FilesNeedMending where there is none."""
        crop = self.find_crop(name)
        if crop is None:
            message = f'"{name}" is not in the crop library.'
            raise FilesNeedMending([Flaw("season folder", None, name, message=message)])
        return crop

    def counted(self, name: str) -> CountedFood | None:
        """How people count the crop called `name`, or None."""
        crop = self.find_crop(name)
        return None if crop is None or crop.counted is None else crop.counted.food

    def find_product(self, name: str) -> tuple[Crop, Product] | None:
        """The product "crop, form", or a crop's usual product for its bare name, or None."""
        crop_name, _, form = (part.strip().lower() for part in name.partition(","))
        crop = self.find_crop(crop_name)
        if crop is None:
            return None
        for product in crop.products:
            if product.form.lower() == form or (not form and product.usual):
                return crop, product
        return None

    def full_name(self, name: str) -> str:
        """The product's own name, "crop, form"; what is no product is called as it is."""
        found = self.find_product(name)
        return f"{found[0].name}, {found[1].form}" if found else name

    def product_names(self) -> list[str]:
        return [f"{c.name}, {p.form}" for c in self.crops.values() for p in c.products]
