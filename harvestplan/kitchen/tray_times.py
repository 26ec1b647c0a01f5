"""How long loose pieces lie on trays until they are frozen, and what that makes of a chain."""

from __future__ import annotations

from harvestplan.errors import CannotBeMade
from harvestplan.inputs.crops import Crop, Piece, Product, Step
from harvestplan.inputs.figures import Figure
from harvestplan.kitchen.freezing_time import STILL_AIR, FreezingFood, pham_seconds
from harvestplan.kitchen.steps.tray_freeze import TrayFreeze

FREEZER_AIR = -18.0
"""°C, what a freezer is set to (0 °F, NCHFP)."""
LAID_IN_AT = 20.0
"""°C of pieces that were washed, trimmed and drained in the room (common practice, no source)."""
OPEN_AT_MOST = 3600.0
"""Seconds for which an evening waits for its trays; what takes longer lies there until it is packed
another time (own judgement)."""


def tray_seconds(piece: Piece, water_share: float) -> float:
    """Seconds until the centre of a piece alone in still air is frozen; +/- 35 %.

    Pham's formula; see `kitchen.freezing_time`. In one layer, hardly touching, a piece has air on
    all sides but where it lies.
    """
    food = FreezingFood.from_water(water_share)
    return pham_seconds(
        piece.shape,
        piece.size.value,
        food,
        air=FREEZER_AIR,
        surface=STILL_AIR,
        start=LAID_IN_AT,
    )


def with_tray_times(crop: Crop, product: Product) -> Product:
    """The product with the least time that physics asks of its trays.

    What is frozen within `OPEN_AT_MOST` is packed in the same sitting: its step lasts until then,
    and needs nobody. All else takes two sittings.

    Raises CannotBeMade where it would have to be packed before it is frozen.
    """
    steps = tuple(
        _timed(step, crop.water_share.value) if step.step == TrayFreeze.name else step
        for step in product.steps
    )
    return product.model_copy(update={"steps": steps})


def _timed(step: Step, water_share: float) -> Step:
    if step.piece is None:
        raise CannotBeMade("nobody says how large its pieces are that freeze on trays")
    seconds = tray_seconds(step.piece, water_share)
    if seconds <= OPEN_AT_MOST:
        laying = step.fixed.value if step.fixed else 0.0
        until = {"fixed": _computed(laying + seconds), "pause_limit": None, "pause_least": None}
        return step.model_copy(update=until | {"hands": 0})
    asked = step.pause_least.value if step.pause_least else 0.0
    least = max(seconds, asked)
    if step.pause_limit is None or step.pause_limit.value <= least:
        raise CannotBeMade(f"it freezes on its trays for {least / 3600:.0f} h, longer than it may")
    return step.model_copy(update={"pause_least": _computed(least)})


def _computed(seconds: float) -> Figure[float]:
    return Figure[float](value=seconds, source="computed", seen=False)
