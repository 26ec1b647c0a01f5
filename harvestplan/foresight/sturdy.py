"""A sturdier plan: which evenings to hold so that a turn in the weather finds one free.

Each past year is played through with every free evening open; no plan is taken to do better in that
year. Evenings are ranked by how many years use them, the plain plan's before all; the first so many
are held with which enough years end no worse. Weeding out evenings one by one, or choosing them for
whole years at a time, takes fewer of them but fails elsewhere: in a small season of 37 years, 15 to
18 evenings beyond the plain plan's, so chosen by half of the years, served 59 % of the others, and
20 unweeded 70 %; the 23 that are held by rank served 84 % (the plain plan's alone none).
"""

from __future__ import annotations

import datetime as dt
import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from harvestplan.errors import NoValidPlan
from harvestplan.forecast.past_years import past_years
from harvestplan.foresight.answers import Replay
from harvestplan.foresight.crew import crew
from harvestplan.foresight.patience import Say, how_long
from harvestplan.foresight.risk import SECONDS, stated
from harvestplan.foresight.trials import Evenings, Trials, replay_with
from harvestplan.foresight.truth import weather_of
from harvestplan.household import Household
from harvestplan.plan.models import Fared, Held, Plan, PouchesFor, Sturdy
from harvestplan.plan.spans import overlap
from harvestplan.schedule.statement.problem import Problem

DOUBT = 0.2
"""Chance with which evenings that serve too small a share may pass for enough."""
LEAST_YEARS = 2
TIMES = 6
"""Replays of each year that choosing and judging took where it was measured."""
PLAIN, STURDIER, EVERY = "plain", "sturdier", "every"


@dataclass(frozen=True)
class Asked:
    """What share of past years is to be met, and what there is to choose from."""

    share: float
    seed: int
    years: tuple[int, ...]
    plain: Evenings


def years_to_try(household: Household) -> tuple[int, ...]:
    """The past years that a sturdier plan can be tried in.

    Raises FilesNeedMending where there is no weather file, NoValidPlan where too few years of it
    cover the season.
    """
    years = past_years(weather_of(household), household.season)
    if len(years) < LEAST_YEARS:
        message = "A sturdier plan needs past years that cover the season from end to end"
        raise NoValidPlan(f"{message}; the weather file has {len(years)}.")
    return years


def sturdy(
    folder: Path, plan: Plan, share: float, *, seed: int, say: Say, on: str | None = None
) -> Sturdy | None:
    """The evenings to hold beside those of `plan`, which is written in the folder; replayed by the
    cluster `on` such an address or here.

    Held by all past years, judged on halves of them chosen by the other half. Ctrl-C ends it with
    what is known by then; None where that is nothing. Raises as `years_to_try` does.
    """
    household, base = stated(folder, plan.as_of)
    asked = Asked(share, seed, years_to_try(household), plain=plain_evenings(base, plan))
    every = frozenset(window.start for window in base.evenings)
    weights = [want.priority for want in household.season.want]
    search = ReserveSearch(base, asked)
    times = f"about {TIMES * len(asked.years)} times in all"
    long = how_long(TIMES * len(asked.years), SECONDS, len(base.options))
    say(
        f"The season is replayed in {len(asked.years)} past years on various evenings, "
        f"{times}.{long}"
    )
    try:
        with crew(on) as team:

            def replayed(
                years: Sequence[int], evenings: Evenings, hear: Callable[[Replay], None]
            ) -> Any:
                tasks = [(folder, plan.as_of, year, seed, evenings) for year in years]
                return team.each(replay_with, tasks, hear)

            about_all = TIMES * len(asked.years)
            search.run(Trials(replayed, weights, every, about=about_all, say=say))
    except KeyboardInterrupt:
        say("Stopped; what follows holds for what was done by then.")
    return search.answer(plan.as_of)


def plain_evenings(base: Problem, plan: Plan) -> Evenings:
    """The windows in which the plan's sessions stand that can still move."""
    live = [session for session in plan.sessions if session.live]
    return frozenset(
        window.start for window in base.evenings if any(overlap(s, window) for s in live)
    )


def goal(years: int, share: float) -> int:
    """How many of the years must be met to trust that a `share` of all years would be.

    The least number that would be reached with a chance of at most DOUBT if exactly that share
    were met in the long run (one-sided exact binomial test); all of them where none is as rare.
    """
    chance = 0.0
    for met in range(years, -1, -1):
        chance += math.comb(years, met) * share**met * (1 - share) ** (years - met)
        if chance > DOUBT:
            return min(years, met + 1)
    return 0


class ReserveSearch:
    """Evenings chosen and judged; what is known of them after each step."""

    def __init__(self, base: Problem, asked: Asked) -> None:
        self.base, self.asked = base, asked
        self.held: Evenings | None = None
        self.replays: Sequence[Replay] = ()
        """How the past years went with the evenings held, or at first with every evening."""
        self.judged = 0
        self.met: Counter[str] = Counter()
        self.short: Counter[str] = Counter()
        """Years met and portions short in the years judged: plain, sturdier, every."""

    def run(self, trials: Trials) -> None:
        """Chooses by all years; then judges what is so chosen by one half of them on the other."""
        years, plain = self.asked.years, self.asked.plain
        self.replays = trials.of(years, trials.every)
        ranked = rank(self.replays, plain)
        self.held = plain.union(ranked)
        self.held = plain.union(ranked[: self._least(trials, years)])
        self.replays = trials.fared(years, self.held)
        trials.say(f"{len(self.held)} evenings are held; now they are judged.")
        for half, others in _crossed(years):
            ranked = rank(trials.of(half, trials.every), plain)
            held = plain.union(ranked[: self._least(trials, half)])
            self._judge(trials, others, {PLAIN: plain, STURDIER: held, EVERY: trials.every})

    def _judge(self, trials: Trials, years: Sequence[int], ways: Mapping[str, Evenings]) -> None:
        met = {way: len(trials.met(years, evenings)) for way, evenings in ways.items()}
        self.met.update(met)
        for way, evenings in ways.items():
            self.short[way] += sum(sum(each.short) for each in trials.fared(years, evenings))
        self.judged += len(years)

    def _least(self, trials: Trials, years: Sequence[int]) -> int:
        """How many evenings serve enough of the years, each tried with evenings ranked without it;
        all that any year uses where no number does.

        By halving: a year that was met is taken to be met with more evenings, and one that was not,
        not with fewer.
        """
        plain, enough = self.asked.plain, goal(len(years), self.asked.share)
        tried = [
            (others, rank(trials.of(half, trials.every), plain)) for half, others in _crossed(years)
        ]
        low, middle = -1, 0
        high = len(rank(trials.of(years, trials.every), plain))
        met: set[int] = set()
        unsure = set(years)
        while low < middle < high:
            now = {
                year
                for others, ranked in tried
                for year in trials.met(
                    [year for year in others if year in unsure], plain.union(ranked[:middle])
                )
            }
            if len(met) + len(now) >= enough:
                high, unsure = middle, now
            else:
                low, met, unsure = middle, met | now, unsure - now
            middle = (low + high) // 2
        return high

    def answer(self, on: dt.date) -> Sturdy | None:
        """What is known by now; None where no evenings are chosen yet."""
        if self.held is None:
            return None
        asked = self.asked
        return Sturdy(
            on=on,
            share=asked.share,
            seed=asked.seed,
            years=self.judged,
            plain=self._fared(PLAIN, len(asked.plain)),
            sturdier=self._fared(STURDIER, len(self.held)),
            every=self._fared(EVERY, len(self.base.evenings)),
            used=round(float(np.mean([len(each.used) for each in self.replays])), 1),
            fullest=self._fullest(),
            pouches=self._pouches(),
            held=tuple(
                Held(start=window.start, end=window.end)
                for window in self.base.evenings
                if window.start in self.held
            ),
        )

    def _fared(self, way: str, evenings: int) -> Fared:
        years = max(1, self.judged)
        return Fared(
            evenings=evenings,
            met=round(self.met[way] / years, 4),
            short=round(self.short[way] / years, 2),
        )

    def _fullest(self) -> float | None:
        shares = [each.fullest.share for each in self.replays if each.fullest is not None]
        return round(self._enough_for(shares), 4) if shares else None

    def _pouches(self) -> tuple[PouchesFor, ...]:
        """Pouches of each size that suffice in the share of the years asked for, from today on."""
        made: list[Counter[str]] = [Counter() for _ in self.replays]
        for number, want in enumerate(self.base.wants):
            if want.demand is None:
                continue
            packing = self.base.demands[want.demand].process.packing
            before = sum(
                run.pouches
                for session in self.base.history.done
                for run in session.runs
                if session.start.date() < self.base.as_of and run.product == want.product
            )
            for count, each in zip(made, self.replays, strict=True):
                count[packing.pouch.name] += each.made[number] - before
        names = sorted({name for count in made for name in count})
        return tuple(
            PouchesFor(pouch=name, count=round(self._enough_for([c[name] for c in made])))
            for name in names
        )

    def _enough_for(self, values: Sequence[float]) -> float:
        return float(np.quantile(np.array(values), self.asked.share, method="higher"))


def _crossed(years: Sequence[int]) -> tuple[tuple[Sequence[int], Sequence[int]], ...]:
    """Every other year and the rest; then the rest and every other year."""
    return (years[::2], years[1::2]), (years[1::2], years[::2])


def rank(replays: Sequence[Replay], plain: Evenings) -> list[dt.datetime]:
    """Evenings that the plain plan does not use, those used in most replays first."""
    uses = Counter(start for each in replays for start in each.used if start not in plain)
    return sorted(uses, key=lambda start: (-uses[start], start))
