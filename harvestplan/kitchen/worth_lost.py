"""How much of its worth raw food loses while it waits to be put by."""

from __future__ import annotations

from harvestplan.inputs.crops import Crop
from harvestplan.inputs.figures import Figure

LOST_IN_ALL = 0.3
"""Of its worth a food has lost so much on the last day that it keeps, where its crop file says
nothing of its days (own judgement: still good, no longer the best)."""
HOLDS = 14
"""Days from which on a ripe crop that can stand on its plant is taken to lose nothing there: it
holds in the garden, as roots, leeks and kale do (own judgement)."""


def share_lost(crop: Crop, *, cellar: bool, standing: int, waiting: int, keeps: int) -> float:
    """The share of its worth (0 to 1) that is gone after days `standing` on the plant and then
    `waiting` where it keeps best; it `keeps` so many days there. `cellar` says whether there is
    one."""
    place = crop.keeping.best_place(cellar)
    stood = standing * _a_day(crop.freshness.standing, _standing(crop))
    waited = waiting * _a_day(getattr(crop.freshness, place), LOST_IN_ALL / max(1, keeps))
    return min(1.0, stood + waited)


def _standing(crop: Crop) -> float:
    return 0.0 if crop.stands >= HOLDS else LOST_IN_ALL / max(1, 2 * crop.stands)


def _a_day(told: Figure[float] | None, otherwise: float) -> float:
    return otherwise if told is None else told.value
