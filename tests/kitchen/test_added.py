"""What tasks add to their food: in step with the food, once to the water of a pot."""

from __future__ import annotations

import datetime as dt

import pytest
from kitchen.foods import COOL, DRAIN, TO_FREEZER, WASH, blanch, fig, process, step

from harvestplan.kitchen.added import added_items, once_a_filling, whole_grams
from harvestplan.kitchen.crop_library import load_library
from harvestplan.kitchen.layout import Layout, TaskSpec, lay_out
from harvestplan.kitchen.steps.settings import Settings
from harvestplan.plan.models import AddedItem, Task

LIBRARY = load_library()
NOON = dt.datetime(2027, 7, 1, 12, tzinfo=dt.UTC)


def added(item: str, amount: str, **keys: object) -> dict[str, object]:
    return {"item": item, "amount": fig(amount)} | keys


SALTED = [added("salt", "5 g per L")]
SOURED = [added("sugar", "100 g per kg"), added("vinegar", "60 mL per kg", density=fig("1 kg/L"))]
CHAIN = (
    WASH,
    step("trim", per_kg="10 min per kg", leaves=0.8),
    blanch(ingredients=SALTED),
    COOL,
    DRAIN,
    step("portion", per_kg="3 min per kg", leaves=1.16, ingredients=SOURED),
    *TO_FREEZER[1:],
)


def laid_out() -> Layout:
    return lay_out(process(CHAIN, 340), 6000, 12, sitting="whole", freezer="chest")


def tasks_of(layout: Layout, name: str) -> list[TaskSpec]:
    return [task for task in layout.tasks if task.step == name]


def test_what_is_packed_gets_its_share_by_what_enters_the_pouches() -> None:
    """6 kg, 0.8 of it trimmed and 0.98 drained: 4704 g get a tenth of sugar and 6 % of vinegar."""
    portions = tasks_of(laid_out(), "portion")
    packed = sum(task.grams for task in portions)
    drained = packed / 1.16
    for item, share in (("sugar", 0.1), ("vinegar", 0.06)):
        got = sum(x.grams for task in portions for x in task.ingredients if x.item == item)
        assert got == pytest.approx(share * drained, abs=len(portions))
    assert packed - drained == pytest.approx(
        sum(x.grams for task in portions for x in task.ingredients), abs=2 * len(portions)
    )


def test_the_water_of_a_pot_is_salted_for_all_of_it() -> None:
    for task in tasks_of(laid_out(), "blanch"):
        water = task.settings["water_ml"]
        assert task.ingredients == (AddedItem(item="salt", grams=round(0.005 * water)),)


def test_a_trace_is_a_gram_at_the_least() -> None:
    assert [whole_grams(g) for g in (0.01, 0.6, 1.4, 1.6)] == [1, 1, 1, 2]


def test_nothing_goes_into_water_that_is_not_there() -> None:
    found = process(CHAIN, 340).product.steps[2]
    assert added_items(found, 1000, Settings()) == ()


def potful(name: str, minute: int, pot: str, *, item: str = "salt") -> Task:
    start = NOON + dt.timedelta(minutes=minute)
    return Task(
        id=name,
        run="r",
        step="blanch",
        batch=1,
        equipment=(pot,),
        hands=1,
        start=start,
        end=start + dt.timedelta(minutes=5),
        grams=1000,
        ingredients=(AddedItem(item=item, grams=60),),
    )


def test_what_is_in_the_water_is_not_added_again_until_it_is_filled_afresh() -> None:
    first, later = potful("first", 10, "kettle"), potful("later", 20, "kettle")
    other_pot = potful("other pot", 30, "stockpot")
    other_item = potful("other item", 40, "kettle", item="lemon juice")
    filled = later.model_copy(
        update={
            "id": "fill",
            "run": None,
            "step": "fill",
            "start": NOON + dt.timedelta(minutes=50),
            "end": NOON + dt.timedelta(minutes=55),
            "ingredients": (),
        }
    )
    again = potful("again", 60, "kettle")
    tasks = [again, filled, other_item, other_pot, later, first]
    told = {task.id: len(task.ingredients) for task in once_a_filling(tasks)}
    assert told == {
        "first": 1, "later": 0, "other pot": 1, "other item": 1, "fill": 0, "again": 1,
    }  # fmt: skip
    assert once_a_filling(once_a_filling(tasks)) == once_a_filling(tasks)


def test_what_cooks_in_a_pot_gets_its_own_each_time() -> None:
    """Stock goes with the food, not with the pot."""
    one = potful("one", 0, "kettle").model_copy(update={"step": "simmer"})
    two = potful("two", 60, "kettle").model_copy(update={"step": "simmer"})
    assert [len(task.ingredients) for task in once_a_filling([one, two])] == [1, 1]


@pytest.mark.parametrize(
    ("name", "made_in", "item", "food", "water", "grams", "source"),
    [
        # Half a cup of lemon juice (122 g) to a gallon; 4 tsp of salt at 6 g.
        ("eggplant, sliced", "blanch", "lemon juice", 454, 3785, 122, "NCHFP, freezing eggplant"),
        ("cauliflower, florets", "blanch", "salt", 454, 3785, 24, "So Easy to Preserve, 5th ed."),
        ("broccoli, florets", "soak", "salt", 1815, 3785, 24, "Michigan State, HNI12"),
        # 1/4 tsp, 750 mg, to a quart of 1 1/3 lb of slices: ten times it, for whole grams.
        ("peach, sliced", "trim", "ascorbic acid", 7940, 0, 7.5, "peach growers' page"),
        ("peach crate, sliced", "trim", "ascorbic acid", 7940, 0, 7.5, "Michigan State, 1997"),
        # A tablespoon of lemon juice (15.25 g) to the quart; 3 g of ascorbic acid to the gallon.
        ("mushroom, sliced", "blanch", "lemon juice", 454, 946.35, 15.25, "a cooking magazine"),
        ("apricot, halves", "blanch", "ascorbic acid", 454, 3785, 3, "Michigan State, 01600943"),
    ],
)
def test_amounts_are_those_of_the_handbooks(
    name: str, made_in: str, item: str, food: float, water: float, grams: float, source: str
) -> None:
    found = LIBRARY.find_product(name)
    assert found is not None
    steps = (each for each in found[1].steps if each.step == made_in)
    (ingredient,) = (x for x in next(steps).ingredients if x.item == item)
    assert ingredient.grams(food, water) == pytest.approx(grams, rel=0.02), source
