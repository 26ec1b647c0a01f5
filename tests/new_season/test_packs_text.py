"""What a new kitchen packs in: sizes that the loader takes and that hold usual portions."""

from __future__ import annotations

import tomllib

import pytest

from harvestplan.inputs.season_kitchen import Pouch, Sealer
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.pouches import choose_packing
from harvestplan.new_season.packs_text import packs_text

LIBRARY = load_library()


def read(kind: str, bar: str | None, litres: bool) -> tuple[Sealer, list[Pouch]]:
    told = tomllib.loads(packs_text(kind, bar, 12.0, litres=litres))
    return Sealer.model_validate(told["sealer"]), [Pouch.model_validate(p) for p in told["pouch"]]


@pytest.mark.parametrize("litres", [False, True])
@pytest.mark.parametrize(
    ("kind", "bar"), [("chamber", "12 in"), ("external", "30 cm"), ("none", None)]
)
def test_every_usual_portion_finds_its_container(kind: str, bar: str | None, litres: bool) -> None:
    sealer, listed = read(kind, bar, litres)
    machine = sealer if bar else None
    assert len({pouch.name for pouch in listed}) == len(listed) >= 4
    assert all(pouch.by_hand == (bar is None) for pouch in listed)
    for name, grams in (("snap bean, cut", 340), ("tomato, purée", 470), ("strawberry", 340)):
        found = LIBRARY.find_product(name)
        assert found is not None
        assert choose_packing(found[1], grams, listed, sealer=machine) is not None, name


def test_measures_of_the_household() -> None:
    metric, pints = (packs_text("none", None, 0.0, litres=litres) for litres in (True, False))
    sizes = [line for line in metric.splitlines() if line.startswith(("width", "length", "volume"))]
    assert sizes and not any(" in" in line or "pint" in line for line in sizes)
    assert "1 US pint" in pints


def test_a_short_bar_still_gets_a_pouch() -> None:
    told = tomllib.loads(packs_text("chamber", "5 in", 5.0, litres=False))
    assert [pouch["width"] for pouch in told["pouch"]] == ["5 in"]
