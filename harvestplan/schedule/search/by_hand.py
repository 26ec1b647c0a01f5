"""The season planned by hand: evening by evening, what goes off first is put by first.

So a household plans on squared paper (common practice, no source). It goes through the free windows
in order and never looks ahead: of the foods that are there and still wanted it takes the one with
the earliest last day, makes as much of it as the season's rules and the evening allow, then the
next. It works in every window in which something can be made; what has to lie on trays or in a
dryer first it packs at the first time that comes.
"""

from __future__ import annotations

from collections import defaultdict

from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.rules.slack import Slack
from harvestplan.schedule.session.tasks import DoesNotFit
from harvestplan.schedule.session.timed_sessions import TimedSessions, window_runs
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Option

EFFORT = 0.2
"""Deterministic seconds for one question whether an evening holds its work: more never made a plan
by hand better (20 generated households and 50 that share a kitchen)."""


def plan_by_hand(season: SeasonRows, timed: TimedSessions) -> Choice:
    """The plan made by hand, within the season's rows. Whether an evening holds its work is asked
    of the minute model."""
    sheet = _Sheet(season, timed)
    for window in range(len(season.problem.windows)):
        sheet.fill(window)
    return Choice(sheet.slack.pouches, sheet.shares)


class _Sheet:
    """What is written down so far, and what it leaves."""

    def __init__(self, season: SeasonRows, timed: TimedSessions) -> None:
        self.problem, self.season, self.timed = season.problem, season, timed
        self.slack = Slack(season)
        self.shares: dict[int, dict[int, int]] = {}
        self.free = list(self.problem.free)
        self.here: dict[int, list[Option]] = defaultdict(list)
        """What could be made in each window, in one sitting where that can be."""
        for option in self.problem.options:
            if option.second is None or self.season.process_of(option).wait_least:
                self.here[option.first].append(option)

    def fill(self, window: int) -> None:
        """Make what goes off first, then the next, until nothing more fits."""
        tried: set[int] = set()
        while (option := self._next(window, tried)) is not None:
            tried.add(option.demand)
            self._make(option)

    def _next(self, window: int, tried: set[int]) -> Option | None:
        """The untried food with the earliest last day; the dearer want where two are equal."""
        found = [
            option
            for option in self.here[window]
            if option.demand not in tried
            and self._most(option) >= self.problem.demands[option.demand].least
        ]
        return min(found, key=self._urgency, default=None)

    def _urgency(self, option: Option) -> tuple[int, float, int]:
        lots = self.problem.lots
        last = min(lots[i].keep_until.toordinal() for i in option.lots if self.free[i] > 0)
        return last, -self.problem.demands[option.demand].priority, option.number

    def _most(self, option: Option) -> int:
        """Pouches that the food and every row allow."""
        process = self.problem.demands[option.demand].process
        food = sum(self._food_of(option, option.most).values())
        return self.slack.most(option, process.pouches_of(food))

    def _make(self, option: Option) -> None:
        """As many pouches as the evening holds beside what is in it already."""
        low, high = 0, self._most(option)
        while low < high:
            middle = (low + high + 1) // 2
            low, high = (middle, high) if self._fits(option, middle) else (low, middle - 1)
        if low < self.problem.demands[option.demand].least:
            return
        food = self.shares[option.number] = self._food_of(option, low)
        for lot, grams in food.items():
            self.free[lot] -= grams
        taken = {self._share(option, lot): grams for lot, grams in food.items()}
        self.slack.put(option, low, taken)

    def _fits(self, option: Option, pouches: int) -> bool:
        made = self.slack.pouches | {option.number: pouches}
        shares = self.shares | {option.number: self._food_of(option, pouches)}
        runs = window_runs(self.problem, Choice(made, shares))
        return not any(
            isinstance(self.timed.fits(window, runs[window], EFFORT), DoesNotFit)
            for window, _ in option.sittings()
        )

    def _food_of(self, option: Option, pouches: int) -> dict[int, int]:
        """Grams of each lot for so many pouches, the earliest last day first, as far as they go and
        the fridge had room for them."""
        need = self.problem.demands[option.demand].process.raw(pouches)
        food: dict[int, int] = {}
        taken: dict[int, int] = {}
        for lot in sorted(option.lots, key=lambda i: (self.problem.lots[i].keep_until, i)):
            share = self._share(option, lot)
            left = self.slack.food_left(share, taken)
            grams = need if left is None else min(need, left)
            if grams > 0:
                food[lot] = taken[share] = grams
                need -= grams
        return food

    def _share(self, option: Option, lot: int) -> int:
        """The variable of what the option takes of the lot."""
        head = self.season.groups[option.demand, option.first, option.second][0]
        return self.season.share[head.number, lot]
