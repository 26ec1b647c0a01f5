"""Past years played through with some evenings open, and whether the wants were met in them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from harvestplan.foresight.answers import Replay
from harvestplan.foresight.patience import Patience, Say
from harvestplan.foresight.replay import replay
from harvestplan.foresight.risk import stated
from harvestplan.foresight.truth import true_year, weather_of

Evenings = frozenset[dt.datetime]
"""Starts of the windows that may be used."""
TOLD_EVERY = 10
"""Replays from one line of progress to the next."""


def replay_with(folder: Path, as_of: dt.date, year: int, seed: int, evenings: Evenings) -> Replay:
    """One replay on these evenings alone, in whatever process."""
    household, base = stated(folder, as_of)
    weather = weather_of(household)
    windows = tuple(window for window in base.windows if window.start in evenings)
    year_to_come = true_year(household, weather, year, seed=seed, as_of=as_of)
    return replay(household, replace(base, windows=windows), year_to_come)


class Trials:
    """Replays by year and evenings, each made once; `weights` are the wants' priorities.

    `every` is every evening there is: what is put by with it is as far as any plan could go.
    `about` so many replays it takes in all (0 where nobody knows).
    """

    def __init__(
        self,
        replayed: Callable[[Sequence[int], Evenings, Callable[[Replay], None]], Any],
        weights: Sequence[float],
        every: Evenings,
        *,
        about: int = 0,
        say: Say,
    ) -> None:
        self.replayed, self.weights, self.every, self.say = replayed, weights, every, say
        self.tell = Patience(about, "{done} replays are done", say, TOLD_EVERY)
        self.known: dict[tuple[int, Evenings], Replay] = {}

    def of(self, years: Sequence[int], evenings: Evenings) -> list[Replay]:
        """The replays of the years, in their order; those not known yet are made now."""
        new = [year for year in years if (year, evenings) not in self.known]

        def hear(found: Replay) -> None:
            self.known[found.year, evenings] = found
            self.tell()

        if new:
            self.replayed(new, evenings, hear)
        return [self.known[year, evenings] for year in years]

    def fared(self, years: Sequence[int], evenings: Evenings) -> list[Replay]:
        """How the years go on these evenings: as on every evening where none but these were used
        then, else replayed. (Each Monday's search is short; searching anew what can go as it went
        would only add its luck: on the demo, three portions more or fewer of a hundred.)
        """
        best = dict(zip(years, self.of(years, self.every), strict=True))
        others = [year for year in years if not evenings.issuperset(best[year].used)]
        found = best | dict(zip(others, self.of(others, evenings), strict=True))
        return [found[year] for year in years]

    def met(self, years: Sequence[int], evenings: Evenings) -> list[int]:
        """Those of the years in which the evenings do as well as every evening would."""
        best = map(self.short, self.of(years, self.every))
        found = map(self.short, self.fared(years, evenings))
        return [y for y, a, b in zip(years, best, found, strict=True) if b <= a + 1e-9]

    def short(self, found: Replay) -> float:
        """Portions short, weighted by priority."""
        return sum(w * n for w, n in zip(self.weights, found.short, strict=True))
