"""What lies in the freezers when a plan begins."""

from __future__ import annotations

from schedule.kept_sessions import BEANS, PUREE, day
from schedule.small_problems import LIBRARY

from harvestplan.kitchen.pouches import BOX, EVACUATED, GAPS
from harvestplan.records.stock import StoredBatch, StoredProduct
from harvestplan.schedule.statement.opening import UNKNOWN_PORTION, open_freezers


def stored(
    product: str,
    portions: int,
    grams: int | None = 340,
    freezer: str | None = "chest",
) -> StoredProduct:
    batch = StoredBatch(day(-100), portions, day(200), freezer=freezer, grams=grams)
    return StoredProduct(product=product, batches=(batch,), eaten=0, due=None)


def test_what_lies_there_by_its_pouch_or_by_its_food() -> None:
    """Beans: 1 portion of a pouch of 900 mL; purée of 400 g, not made here, takes what its food
    does in a pack that fills its box to 93 %, with gaps of 15 % between packs."""
    opening = open_freezers(
        [stored(BEANS, 2), stored(PUREE, 3, 400), stored("dry bean, sealed", 4, freezer=None)],
        {BEANS: 900},
        LIBRARY,
    )
    found = LIBRARY.find_product(PUREE)
    assert found is not None and found[1].texture == "puree"
    each = round(400 / found[1].density.value / BOX * GAPS)
    assert opening.pouches == {(BEANS, "chest"): 2}
    assert opening.other == {"chest": 3 * each}
    assert [(r.product, r.portions, r.volume_ml) for r in opening.rows] == [
        (BEANS, 2, 1800),
        (PUREE, 3, 3 * each),
    ]


def test_a_portion_of_unknown_size() -> None:
    """Loose pieces settle in an evacuated pouch."""
    found = LIBRARY.find_product(BEANS)
    assert found is not None
    each = round(UNKNOWN_PORTION / found[1].density.value * EVACUATED / BOX * GAPS)
    assert open_freezers([stored(BEANS, 1, None)], {}, LIBRARY).other == {"chest": each}
