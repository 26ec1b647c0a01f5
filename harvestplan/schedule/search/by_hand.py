"""The season planned by hand: evening by evening, what goes off first is put by first.

So a household plans on squared paper (common practice, no source). It goes through the free windows
in order and never looks ahead: of the foods that are there and still wanted it takes the one with
the earliest last day, makes as much of it as the food, the fridge in which that waited, the want,
the freezer and the evening allow, then the next. It works in every window in which something can be
made, as long as the season's limits on sessions allow.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter

from harvestplan.schedule.search.freezer_sheet import FreezerSheet
from harvestplan.schedule.session.tasks import DoesNotFit
from harvestplan.schedule.session.timed_sessions import TimedSessions, window_runs
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Option, Problem

EFFORT = 0.2
"""Deterministic seconds for one question whether an evening holds its work: more never made a plan
by hand better (20 generated households and 50 that share a kitchen)."""


def plan_by_hand(problem: Problem, book: TimedSessions) -> Choice:
    """The plan made by hand. Whether an evening holds its work is asked of the minute model."""
    sheet = _Sheet(problem, book)
    for window in range(len(problem.windows)):
        if sheet.may_work(window):
            sheet.fill(window)
    return Choice(sheet.pouches, sheet.shares)


class _Sheet:
    """What is written down so far, and what is left of food, wants and freezers."""

    def __init__(self, problem: Problem, book: TimedSessions) -> None:
        self.problem, self.book = problem, book
        self.pouches: dict[int, int] = {}
        self.shares: dict[int, dict[int, int]] = {}
        self.free = list(problem.free)
        self.wanted = [demand.portions for demand in problem.demands]
        self.waiting: Counter[dt.date] = Counter()
        """mm³ of the fridge by night."""
        kept = (session.start for session in problem.history.sessions)
        self.sessions: Counter[tuple[int, int]] = Counter(at.isocalendar()[:2] for at in kept)
        self.freezers = FreezerSheet(problem)

    def may_work(self, window: int) -> bool:
        span = self.problem.season.season
        a_week, in_all = span.max_sessions_per_week, span.max_sessions
        in_week = self.sessions[self._week(window)]
        return (a_week is None or in_week < a_week) and (
            in_all is None or self.sessions.total() < in_all
        )

    def fill(self, window: int) -> None:
        """Make what goes off first, then the next, until nothing more fits."""
        before = len(self.pouches)
        tried: set[int] = set()
        while (option := self._next(window, tried)) is not None:
            tried.add(option.demand)
            self._make(option)
        self.sessions[self._week(window)] += len(self.pouches) > before

    def _week(self, window: int) -> tuple[int, int]:
        return self.problem.windows[window].start.isocalendar()[:2]

    def _next(self, window: int, tried: set[int]) -> Option | None:
        """The untried food with the earliest last day; the dearer want where two are equal."""
        found = [
            option
            for option in self.problem.options
            if option.first == window
            and option.second is None
            and option.demand not in tried
            and self._most(option) >= self.problem.demands[option.demand].least
        ]
        return min(found, key=self._urgency, default=None)

    def _urgency(self, option: Option) -> tuple[int, float, int]:
        lots = self.problem.lots
        last = min(lots[i].keep_until.toordinal() for i in option.lots if self.free[i] > 0)
        return last, -self.problem.demands[option.demand].priority, option.number

    def _most(self, option: Option) -> int:
        """Pouches that food, want and freezer allow."""
        process = self.problem.demands[option.demand].process
        most = min(option.most, self.wanted[option.demand])
        food = self._taken(option, most * process.raw_per_portion)
        most = sum(food.values()) // process.raw_per_portion
        return self.freezers.most(option, most)

    def _make(self, option: Option) -> None:
        """As many pouches as the evening holds beside what is in it already."""
        low, high = 0, self._most(option)
        while low < high:
            middle = (low + high + 1) // 2
            low, high = (middle, high) if self._fits(option, middle) else (low, middle - 1)
        if low < self.problem.demands[option.demand].least:
            return
        self.pouches[option.number] = low
        self.shares[option.number] = self._food_of(option, low)
        for lot, grams in self.shares[option.number].items():
            self.free[lot] -= grams
            for stay in self.problem.stays(option, lot):
                stay.put(grams, self.waiting)
        self.wanted[option.demand] -= low
        self.freezers.put(option, low)

    def _fits(self, option: Option, pouches: int) -> bool:
        trial = Choice(
            {**self.pouches, option.number: pouches},
            {**self.shares, option.number: self._food_of(option, pouches)},
        )
        runs = window_runs(self.problem, trial)[option.first]
        return not isinstance(self.book.fits(option.first, runs, EFFORT), DoesNotFit)

    def _food_of(self, option: Option, pouches: int) -> dict[int, int]:
        process = self.problem.demands[option.demand].process
        return self._taken(option, pouches * process.raw_per_portion)

    def _taken(self, option: Option, need: int) -> dict[int, int]:
        """Grams of each lot, the earliest last day first, as far as the fridge had room for it."""
        taken: dict[int, int] = {}
        waiting = self.waiting.copy()
        for lot in sorted(option.lots, key=lambda i: (self.problem.lots[i].keep_until, i)):
            grams = min(need, self.free[lot], self._could_wait(option, lot, waiting))
            if grams > 0:
                taken[lot], need = grams, need - grams
                for stay in self.problem.stays(option, lot):
                    stay.put(grams, waiting)
        return taken

    def _could_wait(self, option: Option, lot: int, waiting: Counter[dt.date]) -> int:
        """Grams of the lot for which there was room in the fridge until the option's window."""
        fridge = self.problem.fridge
        rooms = (
            (fridge.left(night) - waiting[night]) // stay.volume
            for stay in self.problem.stays(option, lot)
            for night in stay.nights()
            if fridge is not None
        )
        return min(rooms, default=self.free[lot])
