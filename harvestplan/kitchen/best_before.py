"""How long a product keeps its quality in the container that it is packed in."""

from __future__ import annotations

import datetime as dt

from harvestplan.inputs.crops import Library, Product
from harvestplan.inputs.season_kitchen import Pouch


def keeps_for(product: Product, library: Library, pouch: Pouch | None) -> dt.timedelta:
    """The best-before time of the product; None stands for a container that nobody knows.

    Handbooks print their times for ordinary packs, bags and boxes closed by hand (`packs` in
    ``crops/sources.toml``): those hold without a vacuum as they stand, and no source seen gives
    longer ones with it. A figure whose source does not say of what pack it tells, or that is from
    memory, counts at its low end where hands close the pack: air dries the food and turns its fat.
    """
    figure = product.keeps
    source = library.sources.get(figure.source)
    ordinary = source is not None and source.packs == "ordinary"
    if pouch is None or not pouch.by_hand or ordinary or figure.low is None:
        return dt.timedelta(seconds=figure.value)
    return dt.timedelta(seconds=min(figure.low, figure.value))
