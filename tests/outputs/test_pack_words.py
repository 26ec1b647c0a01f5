"""What containers are called: by their kind, or by a name that says it itself."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from outputs.written_plans import make_season

from harvestplan.inputs.season import Season
from harvestplan.outputs.pack_words import all_packs, pack_kind, together
from harvestplan.outputs.shopping_words import buy_words
from harvestplan.plan.models import ShoppingLine
from harvestplan.words import inches, pack_name, packs, packs_called

ZIP: dict[str, Any] = {"name": "quart", "kind": "zip bag", "width": "7 in", "length": "8 in"}
BOX: dict[str, Any] = {"name": "pint box", "kind": "box", "volume": "1 pint", "mouth": "wide"}


def by_hand() -> Season:
    return make_season(sealer=None, pouch=[ZIP, BOX])


def test_kinds_are_counted() -> None:
    assert [packs(1, "box"), packs(6, "zip bag"), packs(2, "pouch"), packs(3, None)] == [
        "1 box",
        "6 zip bags",
        "2 pouches",
        "3 pouches",
    ]


@pytest.mark.parametrize(
    ("count", "kind", "name", "said"),
    [
        (6, "zip bag", "quart bag", "6 quart bags"),
        (1, "box", "pint box", "1 pint box"),
        (2, "box", "jam jar", "2 jam jars"),
        (6, "zip bag", "quart", "6 zip bags quart"),
        (50, "pouch", "8x12", "50 pouches 8x12"),
        (2, "box", "box", "2 boxes box"),
    ],
)
def test_a_name_that_says_what_it_is_is_enough(count: int, kind: str, name: str, said: str) -> None:
    assert packs_called(count, kind, name) == said
    assert f"{count} {pack_name(count, kind, name)}" == said


def test_together() -> None:
    season = by_hand()
    assert pack_kind("pint box", season) == "box" and pack_kind("gone", season) == "pouch"
    assert together(["quart"], season) == "zip bags"
    assert all_packs(season) == "zip bags and boxes"
    assert together([], season) == "pouches"


def test_what_to_buy() -> None:
    line = ShoppingLine(
        item="pint box", kind="pouch", need=9, in_stock=0, buy=9, packs=3, pack=3, price=None,
        order_by=dt.date(2027, 7, 1),
    )  # fmt: skip
    assert buy_words(line, by_hand()) == "3 packs of 3 pint boxes"
    single = line.model_copy(update={"item": "quart", "pack": None, "packs": 9})
    assert buy_words(single, by_hand()) == "9 zip bags quart"


@pytest.mark.parametrize(
    ("millimetres", "us", "metric"),
    [(12.7, "1/2 in", "13 mm"), (25, "1 in", "25 mm"), (38, "1 1/2 in", "38 mm"),
     (19, "3/4 in", "19 mm"), (76, "3 in", "76 mm"), (0, "0 in", "0 mm")],
)  # fmt: skip
def test_short_lengths(millimetres: float, us: str, metric: str) -> None:
    assert inches(millimetres, "US") == inches(millimetres, "UK") == us
    assert inches(millimetres, "metric") == metric
