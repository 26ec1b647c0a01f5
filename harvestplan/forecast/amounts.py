"""How much a planting yields in its season, and how that spreads over the picks."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from harvestplan.errors import FilesNeedMending, Flaw
from harvestplan.forecast.thermal import Floats
from harvestplan.inputs.crops import Crop
from harvestplan.inputs.figures import Figure
from harvestplan.inputs.growing import Picking
from harvestplan.inputs.season import Planting

TABLE_FACTOR = 2.0
"""P90 ÷ P50 of a yield table: tables of the same crop differ two- to fourfold (KY_AP, RUT and
others, seen); the factor of 2 is own judgement."""

OWN_FACTOR = math.exp(1.2816 * 0.3)
"""P90 ÷ P50 of a yield the household gave: years vary by 20-30 % (GINKGO, seen: 19 % for a whole
garden, one crop more)."""

WARMTH_RANGE = (0.6, 1.4)
"""How far a week's warmth may move its share of the yield; own judgement."""


@dataclass(frozen=True)
class YieldSpread:
    """Grams that are exceeded nine times in ten, every other time, one time in ten."""

    p10: float
    p50: float
    p90: float

    def scaled(self, share: float) -> YieldSpread:
        return YieldSpread(self.p10 * share, self.p50 * share, self.p90 * share)


def together(plantings: Iterable[YieldSpread]) -> YieldSpread:
    """Grams of several plantings in one stretch of time, each planting's picks summed up already.

    The picks of one planting share its good or poor year and rise and fall together; plantings
    are taken to do so each by itself, so the distances from the likely grams to either edge add
    up as root-sum-squares (as variances of independent amounts do; own judgement that they are).
    """
    parts = list(plantings)
    likely = math.fsum(part.p50 for part in parts)
    below = math.hypot(*(part.p50 - part.p10 for part in parts))
    above = math.hypot(*(part.p90 - part.p50 for part in parts))
    return YieldSpread(max(0.0, likely - below), likely, likely + above)


def season_yield(planting: Planting, crop: Crop) -> YieldSpread:
    """Yield of the whole season in grams, log-normal.

    The planting's own `yield`, else its plants, row or area times the crop file's figure, whose
    low and high are read as P10 and P90. Raises FilesNeedMending if the crop file's figures do
    not lead to the planting's measure.
    """
    if planting.yield_ is not None:
        own = planting.yield_
        return YieldSpread(own / OWN_FACTOR, own, own * OWN_FACTOR)
    figure, units = yield_basis(planting, crop)
    low = figure.value / TABLE_FACTOR if figure.low is None else figure.low
    high = figure.value * TABLE_FACTOR if figure.high is None else figure.high
    return YieldSpread(low, figure.value, high).scaled(units)


def yield_basis(planting: Planting, crop: Crop) -> tuple[Figure[float], float]:
    """The crop's yield figure that is nearest to the planting's measure, and how many of its
    units (plants, m, m²) the planting has."""
    yields = crop.grown_as(planting.habit).yields
    if yields is not None:
        apart = None if yields.spacing is None else yields.spacing.value
        rows = None if yields.row_spacing is None else yields.row_spacing.value
        units = in_units(planting, apart, rows)
        figures = {"plant": yields.per_plant, "row": yields.per_row, "area": yields.per_area}
        for measure, amount in units.items():
            figure = figures[measure]
            if figure is not None and amount is not None:
                return figure, amount
    message = f"the crop file does not say how much {crop.name} this planting yields."
    hint = 'Add yield = "..." to the planting, the weight you expect of it in a season.'
    raise FilesNeedMending(
        [Flaw("season folder", None, planting.id or crop.name, message=message, hint=hint)]
    )


def in_units(
    planting: Planting, apart: float | None, rows: float | None
) -> dict[str, float | None]:
    """The planting in plants, metres of row and m², its own measure first."""

    def times(a: float | None, b: float | None) -> float | None:
        return None if a is None or b is None else a * b

    def over(a: float | None, b: float | None) -> float | None:
        return None if a is None or b is None else a / b

    if planting.plants is not None:
        row = times(planting.plants, apart)
        return {"plant": float(planting.plants), "row": row, "area": times(row, rows)}
    if planting.row is not None:
        row = planting.row
        return {"row": row, "plant": over(row, apart), "area": times(row, rows)}
    row = over(planting.area, rows)
    return {"area": planting.area, "row": row, "plant": over(row, apart)}


def picking_days(picking: Picking) -> int:
    """Days from the first pick to the end of the picking curve."""
    return 7 * len(picking.weekly.value)


def daily_shares(picking: Picking, warmth: Floats) -> Floats:
    """The share of the season's yield that ripens each day from the first pick on.

    `warmth` is each week's warmth against normal: it moves yield between the weeks and keeps the
    season's total.
    """
    weekly = np.array(picking.weekly.value) * np.clip(warmth, *WARMTH_RANGE)
    return np.repeat(weekly / weekly.sum() / 7, 7)


def weekly_warmth(daily: Floats, normal: Floats) -> Floats:
    """Warmth of each week over its normal, from degree-days of whole weeks; 1 where it is so
    cold that the crop normally stands still."""
    sums, usual = (days.reshape(-1, 7).sum(axis=1) for days in (daily, normal))
    return np.where(usual > 7.0, sums / np.maximum(usual, 7.0), 1.0)
