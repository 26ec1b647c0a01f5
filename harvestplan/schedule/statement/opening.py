"""What lies in the freezers when a plan begins, and what it says of the wants."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from harvestplan.inputs.crops import Library, Product
from harvestplan.kitchen.pouches import BOX, GAPS, content_volume
from harvestplan.plan.models import OpeningRow
from harvestplan.records.stock import StoredBatch, StoredProduct

UNKNOWN_PORTION = 500
"""Grams of a portion whose size is written nowhere (own judgement)."""


@dataclass(frozen=True)
class Opening:
    """`pouches` by (product, freezer) of what this kitchen makes; `other` is the space in mL that
    all else takes in each freezer; `rows` say both for the plan."""

    pouches: dict[tuple[str, str], int] = field(default_factory=dict)
    other: dict[str, int] = field(default_factory=dict)
    rows: tuple[OpeningRow, ...] = ()


def open_freezers(
    store: Sequence[StoredProduct], spaces: dict[str, int], library: Library
) -> Opening:
    """The freezers as the store says. `spaces` are mL per pouch of the products that are wanted and
    made here; other pouches take what their food does."""
    portions: dict[tuple[str, str], int] = defaultdict(int)
    volumes: dict[tuple[str, str], int] = defaultdict(int)
    for shelf in store:
        found = library.find_product(shelf.product)
        for batch in shelf.batches:
            if found is None or batch.freezer is None:
                continue
            each = spaces.get(shelf.product) or bare_space(found[1], batch)
            portions[shelf.product, batch.freezer] += batch.portions
            volumes[shelf.product, batch.freezer] += batch.portions * each
    other: dict[str, int] = defaultdict(int)
    for (product, freezer), volume in volumes.items():
        if product not in spaces:
            other[freezer] += volume
    rows = (
        OpeningRow(
            product=product, freezer=freezer, portions=count, volume_ml=volumes[product, freezer]
        )
        for (product, freezer), count in sorted(portions.items())
    )
    made = {key: count for key, count in portions.items() if key[0] in spaces}
    return Opening(made, dict(other), tuple(rows))


def bare_space(product: Product, batch: StoredBatch) -> int:
    """Space in mL of a portion whose pouch is not known."""
    return round(content_volume(product, batch.grams or UNKNOWN_PORTION) / BOX * GAPS)
