"""Rigid boxes and zip bags: head space by the published table, what they hold, how they freeze."""

from __future__ import annotations

from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from kitchen.foods import BEANS, OUNCE, fig, product, sealer

from harvestplan.inputs.crops import Product
from harvestplan.inputs.season_kitchen import Mouth, Pouch
from harvestplan.kitchen import boxes, pouches
from harvestplan.kitchen.freezing_time import STILL_AIR, FreezingFood, pack_seconds, pham_seconds

Texture = Literal["pieces", "leaf", "puree", "liquid", "meat", "dry"]
PINT, QUART = 473.176473, 946.352946
"""mL (NIST Handbook 44)."""
SIZES = {"pint": PINT, "quart": QUART}


def food(texture: Texture, storage: str = "freezer") -> Product:
    return product(BEANS, texture=texture, storage=storage, density=fig("1 kg/L"))


def box(volume: float = QUART, mouth: Mouth = "wide", **keys: str) -> Pouch:
    said = {"name": "b", "kind": "box", "volume": f"{volume} mL", "mouth": mouth} | keys
    return Pouch.model_validate(said)


def zip_bag(width: float = 7, length: float = 7.5) -> Pouch:
    return Pouch(name="z", kind="zip bag", width=f"{width} in", length=f"{length} in")


# NCHFP, "Headspace to allow between packed food and closure" (So Easy to Preserve, 5th ed. 2006),
# read at nchfp.uga.edu/how/freeze/headspace.html: inches for pint and quart, wide and narrow top.
# Its liquid pack is crushed or puréed fruit as well; its dry pack is without added liquid.
PUBLISHED: tuple[tuple[Texture, Mouth, str, float], ...] = (
    ("puree", "wide", "pint", 0.5), ("puree", "wide", "quart", 1.0),
    ("puree", "narrow", "pint", 0.75), ("puree", "narrow", "quart", 1.5),
    ("pieces", "wide", "pint", 0.5), ("pieces", "wide", "quart", 0.5),
    ("pieces", "narrow", "pint", 0.5), ("pieces", "narrow", "quart", 0.5),
    ("leaf", "wide", "pint", 0.5), ("meat", "wide", "quart", 0.5),
    ("liquid", "wide", "pint", 0.5), ("liquid", "wide", "quart", 1.0),
    ("liquid", "narrow", "pint", 1.5), ("liquid", "narrow", "quart", 1.5),
)  # fmt: skip


@pytest.mark.parametrize(("texture", "mouth", "size", "inches"), PUBLISHED)
def test_head_space_is_the_published_one(
    texture: Texture, mouth: Mouth, size: str, inches: float
) -> None:
    found = boxes.head_space(box(SIZES[size], mouth), food(texture))
    assert found == pytest.approx(inches * 0.0254)


def test_head_space_between_the_sizes_of_the_table() -> None:
    """Half a litre is as good as a pint, a UK pint (568 mL) as well; what is larger, as a quart."""
    soup = food("puree")
    heads = {v: boxes.head_space(box(v), soup) / 0.0254 for v in (250, 500, 568, 700, 1000)}
    assert heads == pytest.approx({250: 0.5, 500: 0.5, 568: 0.5, 700: 1.0, 1000: 1.0})


def test_what_does_not_freeze_needs_no_head_space() -> None:
    assert boxes.head_space(box(), food("dry", "shelf")) == 0
    assert boxes.room(box(), food("dry", "shelf")) == pytest.approx(QUART, rel=1e-6)


def test_a_box_of_known_height_by_hand() -> None:
    """A quart 4 in high has 236.6 mL to the inch: less 1 in for soup, 1/2 in for pieces."""
    quart = box(QUART, height="4 in")
    assert boxes.room(quart, food("liquid")) == pytest.approx(QUART * 3 / 4, rel=1e-6)
    assert boxes.room(quart, food("pieces")) == pytest.approx(QUART * 3.5 / 4, rel=1e-6)


@given(
    st.floats(100, 1890),
    st.sampled_from(("wide", "narrow")),
    st.sampled_from(("liquid", "puree")),
    st.one_of(st.none(), st.floats(2, 23)),
)
def test_what_flows_has_room_to_swell(
    volume: float, mouth: Mouth, texture: Texture, inches: float | None
) -> None:
    """Ice takes up 1.09 times the volume of its water (CRC Handbook, from memory)."""
    height = {} if inches is None else {"height": f"{inches} in"}
    found = box(volume, mouth, **height)
    assert 0 <= boxes.room(found, food(texture)) * 1.09 <= volume * (1 + 1e-6)


def test_nothing_freezes_in_more_than_half_a_gallon() -> None:
    """NCHFP, containers for freezing: not over one-half gallon, it freezes too slowly."""
    half_gallon = 2 * QUART
    assert boxes.room(box(half_gallon), food("pieces")) > 0
    assert boxes.room(box(half_gallon * 1.05), food("pieces")) == 0
    assert boxes.room(box(half_gallon * 1.05), food("dry", "shelf")) > half_gallon


def test_a_box_takes_its_whole_outside_however_full_it_is() -> None:
    """A litre 10 cm high with walls of 2 mm is 10.4 cm each way; gaps are 1.15 for every pack."""
    litre = box(1000, height="10 cm")
    assert boxes.outside(litre) == pytest.approx(10.4**3, rel=1e-4)
    for grams in (100, 800):
        assert pouches.space(litre, food("pieces"), grams) == pytest.approx(10.4**3 * 1.15, abs=1)
    assert pouches.footprint(litre, 500) == pytest.approx(104**2, abs=1)


def test_a_box_freezes_from_all_its_sides() -> None:
    """A cube as a sphere as wide, a tall jar as a cylinder as wide, by the shape factors of Pham's
    formula; a low tray like a slab."""
    water = FreezingFood.from_water(0.9)

    def seconds(found: Pouch) -> float:
        volume = found.volume or 0.0
        thick = boxes.least_width(found, volume)
        return pack_seconds(thick, water) / boxes.sides(found, volume)

    cube, tall = box(1000, height="10 cm"), box(1000, height="4000 cm")
    for found, shape in ((cube, "sphere"), (tall, "cylinder")):
        wide = boxes.inside(found)[0]
        freezing = pham_seconds(shape, wide, water, air=-18, surface=STILL_AIR, start=5)  # type: ignore[arg-type]
        assert seconds(found) == pytest.approx(freezing, rel=0.01)
    low = box(1000, height="1 cm")
    assert boxes.sides(low, 1000) == pytest.approx(1, abs=0.07)
    assert boxes.least_width(low, 1000) == pytest.approx(0.01)


def test_a_quart_of_soup_is_hard_within_a_day() -> None:
    """Only as much is put in as freezes solid in 24 hours (University of Minnesota Extension)."""
    soup, quart = food("liquid"), box(QUART)
    volume = boxes.room(quart, soup)
    thick = boxes.least_width(quart, volume)
    hours = pack_seconds(thick, FreezingFood.from_water(0.9)) / boxes.sides(quart, volume) / 3600
    assert 6 < hours < 24


# Zip bags.


def test_a_zip_bag_is_filled_to_three_inches_below_its_top() -> None:
    """Handbooks fill freezer bags to within 3 in of the top: a quart bag of 7 by 7 1/2 in holds
    less than its nominal quart, and more than a third of it."""
    beans = food("pieces")
    held = pouches.capacity(zip_bag(), beans)
    assert QUART / 3 < held < QUART * 2 / 3
    assert pouches.capacity(zip_bag(7, 3), beans) == 0
    assert pouches.capacity(zip_bag(), food("liquid")) <= 0.5 * pouches.largest_volume(zip_bag())


def test_without_a_vacuum_pieces_stay_loose() -> None:
    beans, soup = food("pieces"), food("liquid")
    assert pouches.content_volume(beans, 300, zip_bag()) == pytest.approx(300)
    assert pouches.content_volume(beans, 300, box()) == pytest.approx(300)
    assert pouches.content_volume(beans, 300) < 300
    assert pouches.content_volume(soup, 300) == pouches.content_volume(soup, 300, box())


POUCH = Pouch(name="quart", width="8 in", length="12 in", film="3 mil")


@pytest.mark.parametrize(
    ("texture", "machine", "chosen"),
    [
        ("pieces", "chamber", "pouch"),
        ("pieces", None, "zip bag"),
        ("puree", "chamber", "pouch"),
        ("puree", "external", "box"),
        ("puree", None, "box"),
        ("liquid", "chamber", "box"),
        ("liquid", None, "box"),
        ("meat", None, "zip bag"),
    ],
)
def test_what_is_chosen(texture: Texture, machine: str | None, chosen: str) -> None:
    """What flows stands in boxes, but purée where a chamber machine takes it; all else lies flat
    (common practice, no source)."""
    sealing = None if machine is None else sealer(kind=machine)
    listed = (box(), zip_bag(10.5, 10), POUCH)
    packing = pouches.choose_packing(food(texture), round(12 * OUNCE), listed, sealer=sealing)
    assert packing is not None and packing.pouch.kind == chosen


def test_a_pouch_needs_a_machine() -> None:
    assert pouches.choose_packing(food("pieces"), 300, (POUCH,), sealer=None) is None
    assert not pouches.fits_machine(POUCH, None)
    assert pouches.fits_machine(box(), None) and pouches.fits_machine(zip_bag(), None)


@given(st.integers(20, 1500), st.sampled_from(("pieces", "puree", "liquid", "leaf")))
def test_the_chosen_container_holds_the_portion(grams: int, texture: Texture) -> None:
    listed = (box(PINT), box(QUART, "narrow"), zip_bag(), zip_bag(10.5, 10))
    made = food(texture)
    packing = pouches.choose_packing(made, grams, listed, sealer=None)
    holds = {p.name for p in listed if _holds(p, made, grams)}
    assert (packing.pouch.name if packing else None) in (holds or {None})


def _holds(pouch: Pouch, made: Product, grams: int) -> bool:
    return pouches.content_volume(made, grams, pouch) <= pouches.capacity(pouch, made)
