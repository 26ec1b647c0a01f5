"""Sentences on the foods of a season whose hazards the household should know before it plans."""

from __future__ import annotations

from collections.abc import Iterator

from harvestplan.inputs.crops import Library
from harvestplan.inputs.season import Season
from harvestplan.kitchen.hazards import DAY, DECLARE, raw_days
from harvestplan.words import plural


def hazard_notes(season: Season, library: Library) -> tuple[str, ...]:
    """Crops whose files declare no class, and purchases that wait shorter than they say."""
    return (*_undeclared(season, library), *_waiting(season, library))


def _undeclared(season: Season, library: Library) -> Iterator[str]:
    named = [planting.crop for planting in season.planting] + [item.item for item in season.bought]
    named += [want.product.partition(",")[0] for want in season.want]
    for name in dict.fromkeys(named):
        crop = library.find_crop(name)
        if crop is not None and crop.hazard is None:
            yield f"{crop.name}: {DECLARE}."


def _waiting(season: Season, library: Library) -> Iterator[str]:
    for item in season.bought:
        crop = library.find_crop(item.item)
        most = raw_days(crop) if crop else None
        if most is not None and item.keeps is not None and item.keeps > most * DAY:
            yield (
                f"{item.item}: raw, it waits {plural(most, 'day')} at most in the refrigerator "
                "before it is frozen, whatever the purchase says that it keeps."
            )
