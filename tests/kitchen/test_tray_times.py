"""How long loose pieces freeze on trays, beside Plank's equation of the textbooks and handbooks'
words."""

from __future__ import annotations

import pytest
from kitchen.foods import crop, fig, kitchen, product, step

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Piece, Product
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.layout import lay_out
from harvestplan.kitchen.make_process import make_process
from harvestplan.kitchen.process import Process
from harvestplan.kitchen.tray_times import OPEN_AT_MOST, tray_seconds

LIBRARY = load_library()
LOOSE = [
    (made, item)
    for made in LIBRARY.crops.values()
    for item in made.products
    if any(each.step == "tray freeze" for each in item.steps)
]


def piece(shape: str, size: str) -> Piece:
    return Piece.model_validate({"shape": shape, "size": fig(size)})


@pytest.mark.parametrize(
    ("shape", "mm", "p", "r"),
    [("slab", 15, 1 / 2, 1 / 8), ("cylinder", 15, 1 / 4, 1 / 16), ("sphere", 30, 1 / 6, 1 / 24)],
)
def test_it_takes_what_planks_equation_takes_and_the_cooling(
    shape: str, mm: float, p: float, r: float
) -> None:
    """Plank 1941, in every textbook: t = rho L / (Tf - Ta) (P d / h + R d^2 / k), the freezing
    alone of food at its freezing point. With 89 % water: 298 kJ/kg, 1000 kg/m3, 2.16 W/(m K) as in
    Earle's appendix 7, h 7.5. Cooling from 20 C and on to -10 C adds a third to two thirds."""
    d = mm / 1000
    plank = 1000 * 298_000 / (-1 + 18) * (p * d / 7.5 + r * d * d / 2.16)
    found = tray_seconds(piece(shape, f"{mm} mm"), 0.89)
    assert 1.3 * plank < found < 1.7 * plank


def test_a_handbooks_two_hours_are_those_of_small_berries() -> None:
    """Wisconsin extension gives berries about two hours until solid: the physics of a raspberry to
    within its third; a strawberry of 30 mm takes twice as long."""
    berry, strawberry = (tray_seconds(piece("sphere", f"{mm} mm"), 0.87) for mm in (16, 30))
    assert 0.65 < berry / 7200 < 1.35
    assert 3.5 < strawberry / 3600 < 5.5


@pytest.mark.parametrize(("made", "item"), LOOSE, ids=lambda x: getattr(x, "name", ""))
def test_every_product_lies_until_it_is_frozen(made: object, item: Product) -> None:
    """Chopped herbs and grated peel are frozen while the evening lasts; all else is packed another
    time."""
    from harvestplan.inputs.crops import Crop

    assert isinstance(made, Crop)
    process = make_process(kitchen(), made, item, portion_grams=200)
    (given,) = (each for each in item.steps if each.step == "tray freeze")
    assert given.piece is not None
    seconds = tray_seconds(given.piece, made.water_share.value)
    assert (seconds <= OPEN_AT_MOST) == (item.texture == "leaf" or item.form == "zest")
    assert process.wait_least == (0 if seconds <= OPEN_AT_MOST else seconds)
    assert process.packed_cold == (seconds > OPEN_AT_MOST)


def on_trays(size: str = "30 mm", limit: str = "2 days") -> Process:
    steps = (
        step("wash", per_kg="1 min per kg"),
        step(
            "tray freeze",
            fixed="3 min",
            tray_load="8 kg per m2",
            pause_limit=limit,
            piece={"shape": "sphere", "size": fig(size)},
        ),
        step("portion", per_kg="3 min per kg"),
        step("seal"),
        step("freeze", fixed="2 min"),
    )
    made = product(steps)
    return make_process(kitchen(), crop(made), made, portion_grams=340)


def test_the_evening_ends_with_the_trays_in_the_freezer() -> None:
    process = on_trays()
    first, second = (
        lay_out(process, 3400, 10, sitting=sitting, freezer="freezer")
        for sitting in ("first", "second")
    )
    assert [task.step for task in first.tasks][-1] == "tray freeze"
    assert first.tasks[-1].seconds == 180
    assert {task.step for task in second.tasks} == {"portion", "seal", "freeze"}


def test_what_is_packed_frozen_takes_no_tray_any_more() -> None:
    second = lay_out(on_trays(), 3400, 10, sitting="second", freezer="freezer")
    (put,) = (task for task in second.tasks if task.step == "freeze")
    assert (put.settings["area_cm2"], put.settings["hours"]) == (0, 0.0)


def test_small_pieces_freeze_while_the_evening_waits() -> None:
    """And nobody stands by."""
    process = on_trays("5 mm")
    assert (process.wait_least, process.pause) == (0.0, None)
    whole = lay_out(process, 3400, 10, sitting="whole", freezer="freezer")
    (waits,) = {task.seconds for task in whole.tasks if task.step == "tray freeze"}
    assert 900 < waits < OPEN_AT_MOST + 300
    assert {task.hands for task in whole.tasks if task.step == "tray freeze"} == {0}


def test_what_would_dry_out_before_it_is_frozen_is_refused() -> None:
    with pytest.raises(CannotBeMade, match="longer than it may"):
        on_trays("60 mm", "6 h")
