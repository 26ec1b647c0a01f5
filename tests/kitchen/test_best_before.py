"""How long food keeps in what it is packed in."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from kitchen.foods import BEANS, POUCHES, product

from harvestplan.inputs.crops import Library, Product, Source
from harvestplan.inputs.season_kitchen import Pouch
from harvestplan.kitchen.best_before import keeps_for
from harvestplan.kitchen.crop_library import load_library

BAG = Pouch(name="bag", kind="zip bag", width="7 in", length="8 in")
BOX = Pouch(name="box", kind="box", volume="1 US qt", mouth="narrow")
LIBRARY = Library(
    crops={},
    sources={
        "bulletin": Source(title="Freezing", packs="ordinary"),
        "chart": Source(title="Chart"),
    },
)


def kept(source: str, **keys: Any) -> Product:
    return product(BEANS, keeps={"value": "10 months", "source": source, "seen": True} | keys)


MONTH = product(BEANS).keeps.value / 10


@pytest.mark.parametrize(
    ("pouch", "source", "low", "months"),
    [
        (POUCHES[0], "bulletin", "8 months", 10),
        (POUCHES[0], "chart", "8 months", 10),
        (None, "chart", "8 months", 10),
        (BAG, "bulletin", "8 months", 10),
        (BOX, "bulletin", "8 months", 10),
        (BAG, "chart", "8 months", 8),
        (BOX, "chart", "8 months", 8),
        (BAG, "memory", "8 months", 8),
        (BAG, "chart", None, 10),
    ],
)
def test_best_before(pouch: Pouch | None, source: str, low: str | None, months: int) -> None:
    food = kept(source) if low is None else kept(source, low=low)
    assert keeps_for(food, LIBRARY, pouch) == dt.timedelta(seconds=MONTH * months)


def test_what_the_library_s_sources_tell_of() -> None:
    """NCHFP prints 8 to 12 months for fruits and vegetables in rigid containers and plastic bags
    ("How long can I store frozen foods", which names both among good packaging): no figure of its
    own is shortened, and none of another becomes longer."""
    library = load_library()
    shorter = {}
    for crop in library.crops.values():
        for food in crop.products:
            sealed, closed = (keeps_for(food, library, pouch) for pouch in (POUCHES[0], BAG))
            assert closed <= sealed
            if closed < sealed:
                shorter[f"{crop.name}, {food.form}"] = food.keeps.source
    assert shorter and "nchfp-shelflife" not in shorter.values()
    ordinary = {key for key, source in library.sources.items() if source.packs == "ordinary"}
    assert not ordinary & set(shorter.values())
