"""One possible season played through, week by week, as a gardener would who plans anew on Mondays.

On the morning of a Monday she knows the weather up to the day before and what was ripe by then; the
evenings of the next five weeks are planned with `schedule/search/weekly_plan`, those after them on
later Mondays. (Two years of the example season, replayed with horizons of four, six and eight weeks
and with the whole rest of the season, came to the same portions short.) On the evenings themselves
she sees what food is really there: planned runs shrink to it or grow with it, and what cannot wait
for the next free evening is put by while there is room, earliest end of keeping first.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import time
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from harvestplan.forecast.lots import lots_from
from harvestplan.forecast.season_forecast import make_forecast
from harvestplan.foresight.answers import Fullest, Replay, SpoiledFood
from harvestplan.foresight.truth import Year, picked_so_far
from harvestplan.household import Household
from harvestplan.inputs.windows import FreeWindow
from harvestplan.plan.models import Lot
from harvestplan.records.diary import Diary
from harvestplan.records.events import Picked
from harvestplan.schedule.search.filled_up import ANOTHER, FilledSessions
from harvestplan.schedule.search.weekly_plan import Key, key_of, quick_choice
from harvestplan.schedule.statement.freezer_loads import arrivals
from harvestplan.schedule.statement.fresh import fresh_grams
from harvestplan.schedule.statement.problem import Option, Problem, build_options, max_pouches
from harvestplan.schedule.statement.visit_windows import with_visits

WEEK, DAY = dt.timedelta(days=7), dt.timedelta(days=1)
HORIZON = dt.timedelta(days=35)
"""How far ahead a Monday plans."""
NO_EVENING, TOO_LITTLE = "no free evening in time", "too little for a pouch"
SESSIONS, UNPLANNED = "number of sessions", "left for later by the plan"


def replay(household: Household, base: Problem, year: Year, *, every: int = 1) -> Replay:
    """The season from the problem's day on, as `base` states it but with that year's food.

    `base.windows` are the evenings that may be used. It is planned anew on every so many Mondays.
    """
    began = time.process_time()
    course = _Course(household, base, year)
    for begin, end in _weeks(base, every):
        course.week(begin, end)
    return course.result(time.process_time() - began)


def _weeks(base: Problem, every: int) -> Iterator[tuple[dt.date, dt.date]]:
    """From the problem's day (or the season's first) to a Monday, then so many weeks at a time."""
    span = base.season.season
    day = max(base.as_of, span.start)
    last = max([span.end, *(window.start.date() for window in base.windows)])
    while day <= last:
        end = day - dt.timedelta(days=day.weekday()) + every * WEEK
        yield day, end
        day = end


def _begun_before(end: dt.date, problem: Problem) -> Problem:
    """The problem with only those runs that are begun before a day."""
    within = [o for o in problem.options if problem.windows[o.first].start.date() < end]
    options = tuple(dataclasses.replace(o, number=n) for n, o in enumerate(within))
    return dataclasses.replace(problem, options=options)


class _Course:
    """What is there and what was done, from week to week."""

    def __init__(self, household: Household, base: Problem, year: Year) -> None:
        self.household, self.base, self.year = household, base, year
        self.lots = {lot.id: lot for lot in _food(base, year)}
        self.left = {lot.id: lot.grams for lot in self.lots.values()}
        self.made = [0] * len(base.demands)
        self.store: dict[tuple[str, str], int] = dict(base.opening.pouches)
        self.coming: list[tuple[dt.date, tuple[str, str], int]] = []
        self.evenings: set[dt.datetime] = set()
        self.begun: dict[dt.datetime, int] = {}
        """Seconds of a window that packing what was begun before takes, by its start."""
        self.before: dict[Key, int] = {}
        self.reasons: dict[str, Counter[str]] = defaultdict(Counter)
        self.lost: list[SpoiledFood] = []
        self.given = 0
        self.replans = 0
        self.fullest: Fullest | None = None
        self.promised = [a for a in arrivals(base.history.sessions) if not a.done]

    def week(self, begin: dt.date, end: dt.date) -> None:
        """Plans on `begin`, cooks on the evenings before `end`, eats, and throws away."""
        evenings = [w for w in self.base.evenings if begin <= w.start.date() < begin + HORIZON]
        if any(w.start.date() < end for w in evenings) and self._ripe(begin, end):
            expected = self._expected(begin)
            every = with_visits(
                evenings,
                self.household.visits,
                kept=self.base.history.sessions,
                processes=self.base.work.processes,
                lots=(*self.lots.values(), *expected),
            )
            windows = tuple(map(self._shortened, every))
            there = [lot for lot in self._there(begin, end) if lot.ready <= begin]
            sure = {lot.id for lot in there}
            # Food that she cannot see yet is known by its forecast alone.
            known = there + [lot for lot in expected if lot.id not in sure and lot.ready >= begin]
            problem = self._problem(begin, known, windows)
            choice = quick_choice(problem, self.before)
            self.replans += 1
            self.before = {
                key_of(problem, problem.options[o]): n for o, n in choice.pouches.items()
            }
            real = self._there(begin, end) + [lot for lot in expected if lot.ready >= end]
            self._cook(_begun_before(end, self._problem(begin, real, windows)), end)
        self._close(begin, end)

    def _shortened(self, window: FreeWindow) -> FreeWindow:
        taken = dt.timedelta(seconds=self.begun.get(window.start, 0))
        return dataclasses.replace(window, end=max(window.start, window.end - taken))

    def _ripe(self, begin: dt.date, end: dt.date) -> bool:
        """Whether there is or will be anything this week, as far as can be known or seen."""
        return any(lot.grams for lot in self._there(begin, end))

    def _there(self, begin: dt.date, end: dt.date) -> list[Lot]:
        """Food that is really there at some time of the week, with the grams left of it."""
        found = []
        for lot in self.lots.values():
            if lot.ready < end and lot.keep_until >= begin and self.left[lot.id] > 0:
                ready = max(lot.ready, begin)
                update = {"grams": self.left[lot.id], "ready": ready}
                found.append(lot.model_copy(update=update))
        return sorted(found, key=lambda lot: (lot.ready, lot.id))

    def _expected(self, begin: dt.date) -> list[Lot]:
        """Food still to come as forecast in the morning of `begin`."""
        house = self.household
        events = house.diary.events
        told = any(isinstance(event, Picked) for event in events)
        after = self.base.as_of if told else dt.date.min
        seen = picked_so_far(list(self.lots.values()), house.library, after, before=begin)
        forecast = make_forecast(
            house.season,
            house.library,
            self.year.weather,
            as_of=begin - DAY,
            diary=Diary((*events, *seen)),
            watched=True,
        )
        lots = lots_from(forecast, house.season, house.library)
        return [lot for lot in lots if lot.ready >= begin and (lot.bought or not lot.picked)]

    def _problem(
        self, begin: dt.date, lots: Sequence[Lot], windows: tuple[FreeWindow, ...]
    ) -> Problem:
        base, library = self.base, self.household.library
        eaten = fresh_grams(lots, base.season.fresh, library)
        free = tuple(lot.grams - bite for lot, bite in zip(lots, eaten, strict=True))
        demands = tuple(
            dataclasses.replace(demand, portions=demand.portions - made)
            for demand, made in zip(base.demands, self.made, strict=True)
        )
        season, most = base.season, base.season.season.max_sessions
        if most is not None:
            span = season.season.model_copy(update={"max_sessions": most - len(self.evenings)})
            season = season.model_copy(update={"season": span})
        options = build_options(
            lots, free, windows, demands=demands, kitchen=base.kitchen, work=base.work
        )
        changed: dict[str, Any] = {
            "as_of": begin,
            "lots": tuple(lots),
            "free": free,
            "windows": windows,
            "demands": demands,
            "options": options,
            "season": season,
            "opening": dataclasses.replace(base.opening, pouches=dict(self.store)),
        }
        return dataclasses.replace(base, **changed)

    def _cook(self, problem: Problem, end: dt.date) -> None:
        """The evenings of the week, with the food that is really there."""
        evenings = FilledSessions(problem)
        supply = dict(enumerate(problem.free))
        for w, window in enumerate(problem.windows):
            if window.start.date() >= end:
                break
            for option, pouches in self._wished(problem, w, supply):
                new = window.start not in self.evenings
                if new and not evenings.runs(w) and self._sessions_left(problem, window) <= 0:
                    continue
                there = evenings.pouches.get(option.number, 0)
                more = self._supplied(problem, option, supply)
                fits = evenings.most(option, min(pouches, there + more)) - there
                if fits > 0:
                    self._make(problem, evenings, option, pouches=fits, supply=supply)
            self._ask_why(problem, evenings, w, supply=supply)
        for number, pouches in evenings.pouches.items():
            option = problem.options[number]
            if option.freezer is not None:
                product = problem.demands[option.demand].process.name
                day = problem.windows[option.packs_in].start.date()
                self.coming.append((day, (product, option.freezer), pouches))

    def _wished(
        self, problem: Problem, window: int, supply: Mapping[int, int]
    ) -> Iterator[tuple[Option, int]]:
        """First what was planned, then more of it, then what cannot wait, in this order by the end
        of keeping and by priority; with the pouches to make in all."""
        here = [option for option in problem.options if option.first == window]
        planned = [o for o in here if self.before.get(key_of(problem, o))]
        later = [o for o in here if self._soon_packed(problem, o) and o not in planned]
        wait = self._next_day(problem, window)
        urgent = [
            o
            for o in later
            if any(problem.lots[lot].keep_until < wait and supply[lot] > 0 for lot in o.lots)
        ]

        def rank(option: Option) -> tuple[dt.date, float]:
            ends = [problem.lots[lot].keep_until for lot in option.lots if supply[lot] > 0]
            return min(ends, default=dt.date.max), -problem.demands[option.demand].priority

        for option in sorted(planned, key=rank):
            yield option, self.before[key_of(problem, option)]
        if problem.season.cold.ice == "make" and problem.season.freezer:
            return  # ice for more was not made the day before
        more = [o for o in planned if self._soon_packed(problem, o)]
        for option in sorted(more + urgent, key=rank):
            yield option, option.most

    def _soon_packed(self, problem: Problem, option: Option) -> bool:
        """Whether it takes no second evening: it is packed in the same, or at a visit."""
        return option.second is None or problem.windows[option.second].is_visit

    def _next_day(self, problem: Problem, window: int) -> dt.date:
        """The day of the next window, when food that ends before it must be used by now."""
        after = (each for each in problem.windows[window + 1 :] if not each.is_visit)
        following = next(after, None)
        return following.start.date() if following else dt.date.max

    def _sessions_left(self, problem: Problem, window: FreeWindow) -> int:
        span = problem.season.season
        week = window.start.isocalendar()[:2]
        kept = [s.start for s in self.base.history.evenings]
        used = sum(start.isocalendar()[:2] == week for start in (*self.evenings, *kept))
        weekly = 7 if span.max_sessions_per_week is None else span.max_sessions_per_week - used
        most = self.base.season.season.max_sessions
        return weekly if most is None else min(weekly, most - len(self.evenings) - len(kept))

    def _supplied(self, problem: Problem, option: Option, supply: Mapping[int, int]) -> int:
        """Pouches that the food still there gives, as far as they are wanted."""
        demand = problem.demands[option.demand]
        left = self.base.demands[option.demand].portions - self.made[option.demand]
        return min(left, max_pouches(demand.process, sum(supply[lot] for lot in option.lots)))

    def _make(
        self,
        problem: Problem,
        evenings: FilledSessions,
        option: Option,
        *,
        pouches: int,
        supply: dict[int, int],
    ) -> None:
        """Makes so many pouches more, of the food whose keeping ends first."""
        there = evenings.pouches.get(option.number, 0)
        evenings.add(option, there + pouches)
        process = problem.demands[option.demand].process
        need = process.raw(pouches)
        for lot in sorted(option.lots, key=lambda lot: problem.lots[lot].keep_until):
            grams = min(need, supply[lot])
            supply[lot] -= grams
            self.left[problem.lots[lot].id] -= grams
            need -= grams
        self.made[option.demand] += pouches
        for window, sitting in option.sittings():
            start = problem.windows[window].start
            if not problem.windows[window].is_visit:
                self.evenings.add(start)
            if window != option.first:
                work = problem.work_of(option, sitting, pouches)
                self.begun[start] = self.begun.get(start, 0) + work.path

    def _ask_why(
        self, problem: Problem, evenings: FilledSessions, window: int, *, supply: Mapping[int, int]
    ) -> None:
        """For each wanted food that stays over on this evening, what stood in the way."""
        span = problem.windows[window]
        used = span.start in self.evenings
        for option in problem.options:
            if option.first != window or not self._supplied(problem, option, supply):
                continue
            why = evenings.limit(option, evenings.pouches.get(option.number, 0) + 1)
            if not used and self._sessions_left(problem, span) <= 0:
                why = SESSIONS
            if why != ANOTHER:
                for lot in option.lots:
                    if supply[lot] > 0:
                        self.reasons[problem.lots[lot].id][why or UNPLANNED] += 1

    def _close(self, begin: dt.date, end: dt.date) -> None:
        """Fresh food is eaten, what no longer keeps is given away, portions are drawn."""
        there = self._there(begin, end)
        until = [
            lot.model_copy(update={"keep_until": min(lot.keep_until, end - DAY)}) for lot in there
        ]
        eaten = fresh_grams(until, self.base.season.fresh, self.household.library)
        for lot, bite in zip(there, eaten, strict=True):
            self.left[lot.id] -= bite
        for lot in there:
            if lot.keep_until < end and self.left[lot.id] > 0:
                self._throw_away(lot, begin)
        day = begin
        while day < end:
            self._pass(day)
            day += DAY

    def _throw_away(self, lot: Lot, begin: dt.date) -> None:
        grams, self.left[lot.id] = self.left[lot.id], 0
        self.given += grams
        wanted = sum(
            demand.process.raw(demand.portions - made)
            for demand, made in zip(self.base.demands, self.made, strict=True)
            if demand.process.crop.name == lot.crop
        )
        if wanted > 0:
            limit = self._why(lot)
            monday = begin - dt.timedelta(days=begin.weekday())
            lost = SpoiledFood(week=monday, crop=lot.crop, grams=min(grams, wanted), limit=limit)
            self.lost.append(lost)

    def _why(self, lot: Lot) -> str:
        """What stood in the way of the lot on most evenings while it was there."""
        if reasons := self.reasons.get(lot.id):
            return reasons.most_common(1)[0][0]
        ready = self.lots[lot.id].ready
        days = (window.start.date() for window in self.base.windows)
        return TOO_LITTLE if any(ready <= day <= lot.keep_until for day in days) else NO_EVENING

    def _pass(self, day: dt.date) -> None:
        """A day in the freezers: in, counted, out."""
        for when, key, pouches in self.coming:
            if when == day:
                self.store[key] = self.store.get(key, 0) + pouches
        self.coming = [each for each in self.coming if each[0] > day]
        self._count(day)
        for demand in self.base.demands:
            if demand.draw is None:
                continue
            due = demand.draw.target(day) - demand.draw.target(day - DAY)
            for freezer in self.base.kitchen.freezers:
                key = demand.process.name, freezer.name
                taken = min(due, self.store.get(key, 0))
                due -= taken
                if taken:
                    self.store[key] -= taken

    def _count(self, day: dt.date) -> None:
        spaces = {d.process.name: d.process.packing.space for d in self.base.demands}
        for freezer in self.base.kitchen.freezers:
            used = freezer.used + self.base.opening.other.get(freezer.name, 0)
            used += sum(
                spaces[product] * n
                for (product, name), n in self.store.items()
                if name == freezer.name and product in spaces
            )
            used += sum(
                spaces.get(a.product, 0) * a.pouches
                for a in self.promised
                if a.freezer == freezer.name and a.day <= day
            )
            share = used / freezer.volume
            if self.fullest is None or share > self.fullest.share + 1e-9:
                self.fullest = Fullest(freezer=freezer.name, date=day, share=round(share, 4))

    def result(self, seconds: float) -> Replay:
        """What the season came to; what is left at its end is surplus."""
        made, short = [], []
        for want in self.base.wants:
            now = self.made[want.demand] if want.demand is not None else 0
            before = self.base.history.pouches.get(want.product, 0)
            made.append(now + before)
            missing = want.wanted - now - before - want.stored - want.corrected
            short.append(max(0, missing))
        return Replay(
            year=self.year.year,
            made=tuple(made),
            short=tuple(short),
            given=self.given + sum(self.left.values()),
            evenings=len(self.evenings) + len(self.base.history.evenings),
            used=tuple(sorted(self.evenings)),
            fullest=self.fullest,
            lost=tuple(self.lost),
            replans=self.replans,
            seconds=round(seconds, 2),
        )


def _food(base: Problem, year: Year) -> list[Lot]:
    """What is there on the problem's day, with what is free of it, and what the year brings."""
    there = [
        lot.model_copy(update={"grams": free})
        for lot, free in zip(base.lots, base.free, strict=True)
        if lot.ready < base.as_of and free > 0
    ]
    known = {lot.id for lot in there}
    to_come = [lot for lot in year.lots if lot.ready >= base.as_of and lot.id not in known]
    return there + to_come
