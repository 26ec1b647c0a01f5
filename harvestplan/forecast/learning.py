"""What own first picks teach of a crop's need: the book's figure, moved as far as was seen.

On the logarithm of the need three things add up: the book, how this plot (variety, soil, climate)
differs from it in every year, and how its years differ from one another. The first season seen
moves the need most of the way, since plots differ more than years of one plot do.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from harvestplan.forecast.ensemble import UNEXPLAINED
from harvestplan.forecast.thermal import ThermalTime

YEAR_SD = 0.08
"""SD of the logarithm of the need from sowing to sowing of one variety in one plot: 3 to 12 % in
trials (DSSAT_EX, seen); the middle of them is own judgement."""

LEAST_PLOT_SD = 0.05
"""However narrow a book's range is, plots differ by this much; own judgement."""

PLOT_SURE, YEAR_SURE = 3.0, 4.0
"""Seasons' worth of belief in how much plots, and years, differ; own judgement. A plot far from the
book is then taken for what it is (as with a prior of heavy tails), not for a freak year."""

FARTHEST = math.log(1.8)
"""No season counts as farther from the book than this, either way: beyond it something else went on
(a lost label, a sowing that failed); own judgement."""


@dataclass(frozen=True)
class PlotNeed:
    """A planting's whole need and the SD of its logarithm, with the seasons behind it."""

    amount: ThermalTime
    spread: float
    seasons: int = 0

    @classmethod
    def of_book(cls, amount: ThermalTime, spread: float = UNEXPLAINED) -> PlotNeed:
        return cls(amount, spread)


def learned(book: PlotNeed, ratios: Sequence[float]) -> PlotNeed:
    """The need in the light of seasons that took `ratios` times the book's warmth.

    Normal prior and normal seasons on the logarithm. The plot's prior variance is what the book's
    spread has beyond that of years; both variances are pooled with what the seasons show, as
    scaled inverse chi-squared priors are. The mean of n seasons then weighs
    n / (n + years' variance / plots'), and what is left of the plot's variance adds to a year's.
    """
    if not ratios:
        return book
    logs = [min(max(math.log(ratio), -FARTHEST), FARTHEST) for ratio in ratios]
    n, mean = len(logs), math.fsum(logs) / len(logs)
    apart = math.fsum((each - mean) ** 2 for each in logs)
    year = (YEAR_SURE * YEAR_SD**2 + apart) / (YEAR_SURE + n - 1)
    prior = max(book.spread**2 - YEAR_SD**2, LEAST_PLOT_SD**2)
    plot = (PLOT_SURE * prior + mean**2) / (PLOT_SURE + 1)
    weight = n / (n + year / plot)
    spread = math.sqrt(plot * (1 - weight) + year)
    return replace(
        book, amount=book.amount.scaled(math.exp(weight * mean)), spread=spread, seasons=n
    )
