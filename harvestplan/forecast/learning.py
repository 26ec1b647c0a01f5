"""What own first picks teach of a crop's need: the book's figure, moved as far as was seen.

On the logarithm of the need three things add up: the book, how this plot (variety, soil, climate)
differs from it in every year, and how its years differ from one another. The first season seen
moves the need most of the way, since plots differ more than years of one plot do.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

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

FARTHEST_RATIO = 1.8
FARTHEST = math.log(FARTHEST_RATIO)
"""No season counts as farther from the book than this, either way: beyond it something else went on
(a lost label, a sowing that failed); own judgement."""


@dataclass(frozen=True)
class PlotNeed:
    """A planting's whole need (°C·d) and the SD of its logarithm."""

    amount: ThermalTime
    spread: float = UNEXPLAINED


@dataclass(frozen=True)
class Lesson:
    """A season took `ratio` times the warmth of the book; `weight` is the share of the way to the
    first pick that was seen, 1 for a first pick."""

    ratio: float
    weight: float = 1.0


def learned(book: PlotNeed, lessons: Sequence[Lesson]) -> PlotNeed:
    """The need in the light of own seasons.

    Normal prior and normal seasons on the logarithm. The plot's prior variance is what the book's
    spread has beyond that of years; both variances are pooled with what the seasons show, as
    scaled inverse chi-squared priors are. The mean of n seasons then weighs
    n / (n + years' variance / plots'), and what is left of the plot's variance adds to a year's.
    """
    n = math.fsum(lesson.weight for lesson in lessons)
    if n <= 0:
        return book
    seen = [(min(max(math.log(each.ratio), -FARTHEST), FARTHEST), each.weight) for each in lessons]
    mean = math.fsum(log * weight for log, weight in seen) / n
    apart = math.fsum(weight * (log - mean) ** 2 for log, weight in seen)
    year = (YEAR_SURE * YEAR_SD**2 + apart) / (YEAR_SURE + max(n - 1, 0.0))
    prior = max(book.spread**2 - YEAR_SD**2, LEAST_PLOT_SD**2)
    plot = (PLOT_SURE * prior + min(n, 1.0) * mean**2) / (PLOT_SURE + min(n, 1.0))
    weight = n / (n + year / plot)
    spread = math.sqrt(plot * (1 - weight) + year)
    return PlotNeed(book.amount.scaled(math.exp(weight * mean)), spread)
