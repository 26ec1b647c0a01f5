"""Small crops, products and kitchens for the tests; round figures, not handbook ones."""

from __future__ import annotations

from typing import Any

from harvestplan.inputs.crops import Crop, Product
from harvestplan.inputs.season_kitchen import Bath, Freezer, Oven, Pot, Pouch, Sealer
from harvestplan.kitchen.equipment import Kitchen
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.pot import Blancher
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.steps.all_steps import KNOWN_STEPS

POUND = 453.59237
OUNCE = POUND / 16


def fig(value: Any) -> dict[str, Any]:
    return {"value": value, "source": "test", "seen": True}


def step(name: str, **keys: Any) -> dict[str, Any]:
    plain = {"hands", "clock", "piece", "caution", "verb", "ingredients"}
    return {"step": name} | {k: v if k in plain else fig(v) for k, v in keys.items()}


def blanch(minutes: float = 3, water: str = "1 gal per lb", **keys: Any) -> dict[str, Any]:
    return step(
        "blanch", time=f"{minutes} min", clock="return to boil", water=water, hands=0, **keys
    )


WASH = step("wash", per_kg="4 min per kg")
TRIM = step("trim", per_kg="10 min per kg", leaves=0.9)
COOL = step("cool", ratio=1.0, hands=0)
DRAIN = step("drain", fixed="1 min", leaves=0.98)
PORTION = step("portion", per_kg="3 min per kg")
SEAL = step("seal")
FREEZE = step("freeze", fixed="2 min")
CHILL = step("chill", pause_limit="24 h", hands=0)
TO_FREEZER = (PORTION, SEAL, FREEZE)
TRAYS = step(
    "tray freeze",
    fixed="5 min",
    tray_load="8 kg per m2",
    pause_limit="2 days",
    piece={"shape": "slab", "size": fig("10 mm")},
)

BEANS = (WASH, TRIM, blanch(), COOL, DRAIN, *TO_FREEZER)
PUREE = (
    WASH,
    step("roast", time="50 min", leaves=0.8, hands=0),
    step("puree", per_kg="6 min per kg", leaves=0.8),
    CHILL,
    *TO_FREEZER,
)


def product(steps: tuple[dict[str, Any], ...], **keys: Any) -> Product:
    found: dict[str, Any] = {
        "form": "whole",
        "usual": True,
        "storage": "freezer",
        "texture": "pieces",
        "density": fig("0.51 kg/L"),
        "keeps": fig("10 months"),
        "steps": steps,
    }
    return Product.model_validate(found | keys, context={"steps": KNOWN_STEPS})


def crop(
    made: Product, name: str = "snap bean", water: float = 0.9, hazard: str | None = ""
) -> Crop:
    """Without a word of its hazard, dry food where there is little water in it, else other."""
    by_water = "dry food" if water < 0.15 else "other"
    return Crop.model_validate(
        {
            "name": name,
            "kind": "bought",
            "water_share": fig(water),
            "raw_density": fig("0.4 kg/L"),
            "hazard": by_water if hazard == "" else hazard,
            "keeping": {"fridge": fig("5 days")},
            "products": [made],
        }
    )


def pouch(name: str, width: float, length: float) -> Pouch:
    return Pouch(name=name, width=f"{width} in", length=f"{length} in", film="3 mil")


POUCHES = (pouch("pint", 6, 10), pouch("quart", 8, 12), pouch("gallon", 11, 14))


def sealer(bar: str = "12 in", **keys: Any) -> Sealer:
    return Sealer.model_validate({"kind": "chamber", "bar": bar} | keys)


def kitchen(
    pots: tuple[Pot, ...] = (Pot(name="pot", volume="16 L", power="3.5 kW"),),
    pouches: tuple[Pouch, ...] = POUCHES,
    altitude: float = 0.0,
    machine: Sealer | None = None,
) -> Kitchen:
    return Kitchen(
        altitude=altitude,
        pots=tuple(Blancher.from_pot(pot, altitude) for pot in pots),
        pot_volumes={pot.name: pot.volume for pot in pots},
        baths=(Bath(name="bath", volume="20 L"),),
        ovens=(Oven(name="oven", trays=2, tray_load="1.5 kg"),),
        sealer=machine or sealer(),
        pouches=pouches,
        freezers=(Freezer(name="freezer", volume="200 L"),),
    )


def process(
    steps: tuple[dict[str, Any], ...],
    portion: int,
    in_kitchen: Kitchen | None = None,
    water: float = 0.9,
    **keys: Any,
) -> Process:
    """The chain as that kitchen makes it; `keys` are the product's."""
    made = product(steps, **keys)
    return make_process(
        in_kitchen or kitchen(), crop(made, water=water), made, portion_grams=portion
    )
