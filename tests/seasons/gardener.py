"""A household that lives through a season: it picks what a past year's weather gives, cooks on the
evenings its plan names, writes its diary and plans again every Sunday, on the day of a session with
what is really there, and whenever an evening comes to nothing."""

from __future__ import annotations

import datetime as dt
import math
import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from harvestplan.check import Finding, check_plan
from harvestplan.disk import write_atomic
from harvestplan.forecast.lots import keeping_days, lots_from
from harvestplan.forecast.season_forecast import make_forecast
from harvestplan.inputs.load import load_season
from harvestplan.inputs.weather.daily_record import read_weather
from harvestplan.inputs.windows import keep_free
from harvestplan.kitchen.crop_library import load_library
from harvestplan.plan.file import plan_bytes
from harvestplan.plan.models import Lot, Plan, Run, Session
from harvestplan.planning.make import known_store, make_plan
from harvestplan.planning.read import read_household
from harvestplan.records.diary import append_event, read_diary
from harvestplan.records.events import KeepFree
from harvestplan.records.held_sessions import finished
from harvestplan.records.stock import stock
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import solve_season
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.build_problem import build_problem
from harvestplan.schedule.statement.fresh import fresh_grams

DAY, WEEK = dt.timedelta(days=1), dt.timedelta(days=7)


def silent(text: str) -> None:
    """No progress lines."""


def write_weather(folder: Path, rows: Sequence[str]) -> None:
    (folder / "weather.csv").write_text("\n".join(["date,tmin_c,tmax_c", *rows]) + "\n")


@dataclass
class Weather:
    """A file's rows, cut so that `held_out` is what the season's year turns out to be."""

    before: list[str]
    year: list[tuple[dt.date, str]]

    @classmethod
    def of(cls, path: Path, held_out: int, season: int) -> Weather:
        rows = path.read_text(encoding="utf-8").splitlines()[1:]
        before = [row for row in rows if int(row[:4]) < held_out]
        own = [f"{season}{row[4:]}" for row in rows if int(row[:4]) == held_out]
        own = [row for row in own if row[5:10] != "02-29"]
        return cls(before, [(dt.date.fromisoformat(row[:10]), row) for row in own])

    def until(self, day: dt.date) -> list[str]:
        return [*self.before, *(row for when, row in self.year if when <= day)]


def true_lots(folder: Path, weather: Weather, seed: int) -> tuple[Lot, ...]:
    """The food that the year brings, that of before the season too: ripe by its whole weather,
    plantings better or worse than thought by up to a sixth (own judgement)."""
    library = load_library(folder)
    write_weather(folder, weather.until(dt.date.max))
    season = load_season(folder, library).season
    frame = read_weather([folder / "weather.csv"]).daily
    forecast = make_forecast(season, library, frame, as_of=season.season.end)
    whole_year = season.season.model_copy(
        update={"start": season.season.start.replace(month=1, day=1)}
    )
    season = season.model_copy(update={"season": whole_year})
    draw = random.Random(seed)
    good = {p.planting_id: draw.uniform(0.85, 1.15) for p in forecast.plantings}
    lots = []
    for lot in lots_from(forecast, season, library):
        grams = round(lot.grams * good.get(lot.planting or "", 1.0))
        told = {"grams": grams, "low_grams": grams, "high_grams": grams}
        lots.append(lot.model_copy(update={**told, "picked": False}))
    return tuple(lots)


@dataclass
class Seen:
    """What was measured on the way."""

    findings: list[Finding] = field(default_factory=list)
    moved: list[int] = field(default_factory=list)
    """Sessions moved, by replan."""
    lost_uids: set[str] = field(default_factory=set)
    reused_uids: set[str] = field(default_factory=set)
    changed_done: list[str] = field(default_factory=list)
    wrong_store: list[str] = field(default_factory=list)
    made: Counter[str] = field(default_factory=Counter)
    """Pouches really frozen, by product."""
    grams: int = 0
    """Packed weight of them."""
    failed: int = 0
    lines: int = 0


@dataclass
class Gardener:
    """`folder` is her season, `lots` what really comes. From her evening `called_away` on, by
    number, she keeps one free the day before; from her evening `overslept` on she misses another
    and writes it down the morning after. Each time she plans again at once;
    else not within `patience` days of her last plan."""

    folder: Path
    weather: Weather
    lots: tuple[Lot, ...]
    called_away: int
    overslept: int
    effort: Effort
    patience: int = 0
    seen: Seen = field(default_factory=Seen)
    store: Counter[str] = field(default_factory=Counter)
    used: Counter[str] = field(default_factory=Counter)
    brought: dict[str, dt.date] = field(default_factory=dict)
    chilled: dict[str, int] = field(default_factory=dict)
    plan: Plan | None = None
    evenings: int = 0
    missed: list[dt.date] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.library = load_library(self.folder)
        self.season = load_season(self.folder, self.library).season
        self.store.update({stored.product: stored.portions for stored in self.season.stored})

    def live(self, first_plan: dt.date) -> None:
        """From the first plan on to the season's end; before its start she only picks."""
        self._plan(first_plan)
        day = first_plan + DAY * ((6 - first_plan.weekday()) % 7)
        while day <= self.season.season.end:
            self._morning_after(day)
            begun = day >= self.season.season.start
            if begun and self._anything_in(day - WEEK, day + WEEK) and self._plan_is_old(day):
                self._plan(day)
            self._week(day)
            self._eat(day + WEEK - DAY)
            day += WEEK
        self._count_store(day - DAY)

    def write(self, day: dt.date, verb: str, words: str, planting: str | None = None) -> None:
        append_event(self.folder, verb, words, on=day, planting=planting)
        self.seen.lines += 1

    def _anything_in(self, begin: dt.date, end: dt.date) -> bool:
        ripe = any(begin <= lot.ready < end for lot in self.lots)
        return ripe or bool(self._sessions(begin, end))

    def _sessions(self, begin: dt.date, end: dt.date) -> list[Session]:
        assert self.plan is not None
        return [
            s
            for s in self.plan.sessions
            if s.status != "cancelled" and begin <= s.start.date() < end
        ]

    def _week(self, sunday: dt.date) -> None:
        """Day by day: what the plan says is picked, the evening's session, and what is in the way
        of tomorrow's; a plan made on the way may move the next."""
        for day in (sunday + n * DAY for n in range(7)):
            self._morning_after(day)
            self._pick(day)
            tonight = any(run.lots for s in self._sessions(day, day + DAY) for run in s.runs)
            if tonight and self._plan_is_old(day):
                self._plan(day, move_firm=True)
            for session in self._sessions(day, day + DAY):
                self._evening(session)
            for session in self._sessions(day + DAY, day + 2 * DAY):
                if not self.missed and self.evenings + 1 >= self.called_away and _alone(session):
                    self._call_away(day, session)

    def _plan_is_old(self, day: dt.date) -> bool:
        return self.plan is None or (day - self.plan.as_of).days >= self.patience

    def _plan(self, day: dt.date, move_firm: bool = False) -> None:
        """Plans as of `day`, with the weather up to the day before; looks at what it gives."""
        write_weather(self.folder, self.weather.until(day - DAY))
        household = read_household(self.folder, day)
        new = make_plan(
            household, day, self.plan, effort=self.effort, say=silent, move_firm=move_firm
        )
        self.seen.findings += check_plan(new, household, in_store=known_store(new, household))
        if self.plan is not None:
            self._compare(self.plan, new)
        (self.folder / "out").mkdir(exist_ok=True)
        write_atomic(self.folder / "out" / "plan.json", plan_bytes(new))
        self.plan = new
        self._count_store(day)

    def _compare(self, old: Plan, new: Plan) -> None:
        seen, now = self.seen, {s.uid: s for s in new.sessions}
        seen.lost_uids |= {s.uid for s in old.sessions} - now.keys()
        gone = {s.uid for s in old.sessions if s.status == "cancelled"}
        seen.reused_uids |= {uid for uid in gone & now.keys() if now[uid].status != "cancelled"}
        live = [s for s in old.sessions if s.status != "cancelled" and s.uid in now]
        seen.moved.append(
            sum(
                now[s.uid].status != "cancelled" and now[s.uid].start.date() != s.start.date()
                for s in live
            )
        )
        for s in live:
            if s.status == "done" and (now[s.uid].runs, now[s.uid].start) != (s.runs, s.start):
                seen.changed_done.append(f"{s.start}: {now[s.uid].status}")

    def _count_store(self, day: dt.date) -> None:
        """The diary's store against what was really put in and taken out."""
        assert self.plan is not None
        diary = read_diary(self.folder)
        done = finished(self.plan.sessions, diary, day)
        shelves = stock(self.season, self.library, diary, today=day, done=done)
        there = {shelf.product: shelf.portions for shelf in shelves if shelf.portions}
        real = {product: count for product, count in self.store.items() if count}
        if there != real:
            self.seen.wrong_store.append(f"{day}: {there} instead of {real}")

    def _pick(self, day: dt.date) -> None:
        """Ripe food that the plan, or a session, wants that day, and what stands no longer."""
        assert self.plan is not None
        wanted = {pick.planting for pick in self.plan.picks if pick.date == day}
        crops = {run.crop for s in self._sessions(day, day + DAY) for run in s.runs if run.lots}
        for lot in self.lots:
            if lot.planting is None or lot.ready > day or lot.id in self.brought:
                continue
            if lot.planting in wanted or lot.crop in crops or self._last(lot) <= day:
                self.brought[lot.id] = day
                if lot.grams:
                    self.write(day, "picked", f'"{lot.crop}" {lot.grams} g', lot.planting)

    def _last(self, lot: Lot) -> dt.date:
        """The last day on which it stands on the plant."""
        return lot.keep_until - dt.timedelta(days=self._waits(lot))

    def _waits(self, lot: Lot) -> int:
        crop = self.library.find_crop(lot.crop)
        assert crop is not None
        return keeping_days(crop, self.season)

    def _keeps(self, lot: Lot) -> dt.date:
        if lot.id in self.brought:
            return self.brought[lot.id] + dt.timedelta(days=self._waits(lot))
        return lot.keep_until

    def _call_away(self, day: dt.date, session: Session) -> None:
        """Tomorrow's session cannot be: she keeps that evening free and plans again."""
        self.evenings += 1
        self.missed.append(session.start.date())
        self.write(day, "keep", f"free {session.start.date().isoformat()}")
        self._plan(day)

    def _evening(self, session: Session) -> None:
        self.evenings += 1
        if self.evenings >= self.overslept and len(self.missed) == 1 and _alone(session):
            self.missed.append(session.start.date())
        else:
            self._cook(session)

    def _morning_after(self, day: dt.date) -> None:
        """Where yesterday's session never was: that is written down, if it is not yet, before
        anything is planned."""
        if not self.missed or self.missed[-1] != day - DAY:
            return
        kept_free = {e.day for e in read_diary(self.folder).events if isinstance(e, KeepFree)}
        if self.missed[-1] not in kept_free:
            self.write(day, "keep", f"free {self.missed[-1].isoformat()}")
            self._plan(day)

    def _cook(self, session: Session) -> None:
        assert self.plan is not None
        day = session.start.date()
        packs = {r.second_sitting_of: r for s in self.plan.sessions for r in s.runs}
        for run in session.runs:
            last = run if run.pouches else packs.get(run.id)
            assert last is not None
            if run.second_sitting_of:
                made = self.chilled.pop(run.second_sitting_of, 0)
            else:
                made = self._take(run, last.pouches, day)
            if run.pouches:
                self._freeze(run, made, day)
            else:
                self.chilled[run.id] = made

    def _take(self, run: Run, pouches: int, day: dt.date) -> int:
        """Takes the food for so many pouches, or as many as there is food for."""
        each = math.ceil(run.grams_in / pouches)
        there = self._there(run.crop, day)
        made = min(pouches, math.floor((sum(there.values()) + pouches) / each))
        need = made * each
        for lot, grams in there.items():
            taken = min(need, grams)
            self.used[lot] += taken
            need -= taken
        return made

    def _there(self, crop: str, day: dt.date) -> dict[str, int]:
        """Food of the crop that is in the house and not meant to be eaten fresh, oldest first."""
        eaten = fresh_grams(self.lots, self.season.fresh, self.library, used=self.used)
        return {
            lot.id: lot.grams - self.used[lot.id] - bite
            for lot, bite in zip(self.lots, eaten, strict=True)
            if lot.crop == crop and lot.ready <= day <= self._keeps(lot)
        }

    def _freeze(self, run: Run, made: int, day: dt.date) -> None:
        failed = int(made >= 2 and not self.store[run.product])  # the first of each goes wrong
        words = f'"{run.product}" {made}' + (f", {failed} failed seal" if failed else "")
        self.write(day, "froze", words)
        self.seen.failed += failed
        self.seen.made[run.product] += made
        self.seen.grams += made * run.portion_grams
        self.store[run.product] += made

    def _eat(self, day: dt.date) -> None:
        """A portion a week of what there is most of; a power cut and a count in between."""
        if self.store:
            product, most = self.store.most_common(1)[0]
            if most > 2:
                self.write(day, "ate", f'"{product}" 1')
                self.store[product] -= 1
        if day.month == 8 and day.day <= 7:
            self.write(day, "power-cut", "8 h, door shut")
        if day.month == 9 and day.day <= 7 and self.store:
            product, most = self.store.most_common(1)[0]
            self.store[product] = max(0, most - 1)  # one was eaten and never written down
            for name, count in self.store.items():
                self.write(day, "count", f'"{name}" {count}')


def _alone(session: Session) -> bool:
    """Whether it neither packs what another began nor begins what another packs."""
    return all(run.pouches and not run.second_sitting_of for run in session.runs)


def best_made(
    folder: Path, gardener: Gardener, first_plan: dt.date, effort: Effort
) -> tuple[Counter[str], int]:
    """Pouches by product, and packed weight in g, that a plan would keep which knew all the food
    from the first day on, and the evenings that were not to be."""
    for name in ("diary.txt", ".diary.lock"):  # as if there had never been one
        (folder / name).unlink(missing_ok=True)
    household = read_household(folder, first_plan)
    windows = keep_free(household.windows, [(day, None) for day in gardener.missed])
    problem = build_problem(replace(household, windows=tuple(windows)), gardener.lots, first_plan)
    solved = solve_season(problem, TimedSessions(problem, 1), effort)
    made: Counter[str] = Counter()
    grams = 0
    for option, pouches in solved.choice.pouches.items():
        process = problem.demands[problem.options[option].demand].process
        made[process.name] += pouches
        grams += pouches * process.portion_grams
    return made, grams
