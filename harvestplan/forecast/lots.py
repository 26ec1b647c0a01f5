"""Lots: the food of each pick and purchase, and how long it waits."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections import Counter
from collections.abc import Iterator

from harvestplan.forecast.clock import DAY
from harvestplan.forecast.season_forecast import Forecast
from harvestplan.inputs.crops import Crop, Library
from harvestplan.inputs.figures import Figure
from harvestplan.inputs.season import Season
from harvestplan.kitchen.hazards import raw_days
from harvestplan.plan.models import Lot


def lots_from(forecast: Forecast, season: Season, library: Library) -> tuple[Lot, ...]:
    """Every pick and purchase between the season's start and end as a lot, by day and id.

    A pick's lot is called after its planting and the pick's number in the forecast. One that is
    still to come stands on the plant for some days before it waits in the house. Raises
    FilesNeedMending for a crop or good that the library does not have.
    """
    span = season.season
    lots = [*_picked(forecast, season, library), *_bought(season, library)]
    inside = [lot for lot in lots if span.start <= lot.ready <= span.end and lot.grams > 0]
    return tuple(sorted(inside, key=lambda lot: (lot.ready, lot.id)))


def pick_by(lot_ready: dt.date, crop: Crop) -> dt.date:
    """The last date on which a pick that is ripe on `lot_ready` can be brought in."""
    return lot_ready + dt.timedelta(days=crop.stands)


def keeping_days(crop: Crop, season: Season) -> int:
    """Whole days the raw food keeps in the best place the household has.

    A food whose file knows the cellar alone is taken to keep half as long without one (own
    judgement).
    """
    place = crop.keeping.best_place(season.cold.cellar)
    figure: Figure[float] | None = getattr(crop.keeping, place)
    if figure is not None:
        return math.floor(figure.value / DAY)
    assert crop.keeping.cellar is not None  # the crop file's rule: at least one place
    return math.floor(crop.keeping.cellar.value / 2 / DAY)


def _picked(forecast: Forecast, season: Season, library: Library) -> Iterator[Lot]:
    for planting in forecast.plantings:
        crop = library.crop(planting.crop)
        waits = dt.timedelta(days=keeping_days(crop, season))
        for n, pick in enumerate(planting.picks, start=1):
            yield Lot(
                id=f"{planting.planting_id}-{n:02d}",
                crop=crop.name,
                planting=planting.planting_id,
                bought=None,
                ready=pick.date,
                keep_until=(pick.date if pick.made else pick_by(pick.date, crop)) + waits,
                grams=round(pick.likely_g),
                low_grams=round(pick.low_g),
                high_grams=round(pick.high_g),
                picked=pick.made,
            )


def _bought(season: Season, library: Library) -> Iterator[Lot]:
    count: Counter[str] = Counter()
    for item in season.bought:
        crop = library.crop(item.item)
        count[crop.name] += 1
        keeps = keeping_days(crop, season) if item.keeps is None else math.floor(item.keeps / DAY)
        most = raw_days(crop)
        keeps = keeps if most is None else min(keeps, most)
        grams = round(item.amount.grams(crop.raw_density.value))
        yield Lot(
            id=f"lot-{re.sub(r'[^a-z0-9]+', '-', crop.name)}-{count[crop.name]}",
            crop=crop.name,
            planting=None,
            bought=crop.name,
            ready=item.on,
            keep_until=item.on + dt.timedelta(days=keeps),
            grams=grams,
            low_grams=grams,
            high_grams=grams,
            picked=item.made,
        )
