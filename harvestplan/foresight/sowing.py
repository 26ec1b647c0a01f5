"""Next year's sowing: dates and amounts moved one planting after the other while it helps.

Every trial is judged in three possible seasons (a cool one, a middling one with poor yields, a warm
one), each played through as in `replay` but planned anew every three weeks only. The household's
evenings, wants and kitchen are those of the season file. Surplus counts a little beside the wants,
so that nothing is sown for nothing.

What was chosen by three seasons looks better in them than it will be. So both sowings are then
lived through in other past years, with yields drawn from their spread, and that is told beside.
"""

from __future__ import annotations

import datetime as dt
import functools
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from harvestplan.errors import NoValidPlan
from harvestplan.forecast.frost import KILLS
from harvestplan.forecast.past_years import by_warmth, safe_from_frost
from harvestplan.foresight.answers import Elsewhere, Replay, Sowing, SowingScore, Sown
from harvestplan.foresight.crew import crew
from harvestplan.foresight.replay import replay
from harvestplan.foresight.truth import Year, imagined, true_year, weather_of
from harvestplan.household import Household
from harvestplan.inputs.dates import anniversary
from harvestplan.inputs.season import Planting, Season
from harvestplan.planning.make import state_problem
from harvestplan.planning.read import read_household
from harvestplan.schedule.statement.problem import Problem
from harvestplan.words import time_left

Say = Callable[[str], None]
Judged = tuple[SowingScore, frozenset[str]]
FURTHEST, WEEK = 21, 7
"""Days by which a date may move, and by which it moves at once; own judgement."""
LEAST, MOST, STEP = 0.5, 1.5, 0.25
"""Shares of the amount sown now between which it may change, and by how much at once; own
judgement."""
APART = 14
"""Days between the halves of a planting that is sown twice; common practice, no source."""
POOR = -0.8416
"""A yield that eight years of ten exceed: the 20 % point of the standard normal. That one year
in five is poor is own judgement."""
SURPLUS_WEIGHT = 0.05
"""Weighted portions that a kilogram of surplus counts for; own judgement."""
SAFE = 0.8
"""Share of the years in which a tender planting must be safe from frost where it moves earlier;
own judgement."""
LEAST_GAIN = 0.3
"""Weighted portions by which a trial must be better, or the tables would change for nothing; own
judgement."""
ROUNDS = 3
"""How often each planting's turn comes; own judgement."""
MOST_SECONDS = 120
"""No trial begins later than this after the first: a command should not take longer than three
minutes."""
MINUTES = 3
"""What a search takes in all, about."""
EVERY = 3
"""Weeks between two plans of a season in a trial: many are tried; own judgement."""
OTHERS = 9
"""Years that were not searched with, in which both sowings are tried at the end; own judgement."""


@dataclass(frozen=True)
class SowingChange:
    """How a planting differs from the season file: days later, share of the amount, in two."""

    days: int = 0
    share: float = 1.0
    twice: bool = False


AS_WRITTEN = SowingChange()


def sowing(
    folder: Path, as_of: dt.date, seed: int, *, tries: int, say: Say, on: str | None = None
) -> Sowing:
    """The best sowing found with so many trials, beside that of the season file.

    Ctrl-C ends the search with the best so far, as does the end of its time. The same seed and
    number of trials done (`tries` of the answer) give the same.

    Raises
    ------
    FilesNeedMending
        Where the files cannot be used, or there is no weather file.
    NoValidPlan
        Where there is no free window, or too little weather.
    """
    household, _, years = _ground(folder, seed)
    movable = _movable(household)
    safe = _earliest(household, movable)
    best: dict[str, SowingChange] = {}
    elsewhere: Elsewhere | None = None
    done, began = 0, time.monotonic()
    say(f"This may take some {MINUTES} minutes; Ctrl-C ends it with the best found by then.")
    with crew(on) as team:
        ask = team.each
        before, short = ask(_judge, [(folder, seed, {})])[0]
        now = before
        try:
            for name, kind in _rounds(movable):
                if done >= tries or time.monotonic() > began + MOST_SECONDS:
                    break
                lacks = movable[name][1].crop in short
                trials = [
                    {**best, name: each}
                    for each in _moves(best.get(name, AS_WRITTEN), kind, lacks)
                    if movable[name][0] + dt.timedelta(days=each.days) >= safe[name]
                ]
                answers = ask(_judge, [(folder, seed, trial) for trial in trials])
                done += len(trials)
                for trial, (score, lacking) in zip(trials, answers, strict=True):
                    if _worth(score) < _worth(now) - LEAST_GAIN:
                        best, now, short = trial, score, lacking
                left = _left(done, tries, began)
                say(f"{min(done, tries)} of {tries} trials; {_told(now)}{left}.")
        except KeyboardInterrupt:
            say("Stopped; this is the best so far.")
        else:
            elsewhere = _elsewhere(folder, seed, best, ask=ask, say=say)
    first = min((date for date, _ in movable.values()), default=as_of)
    later = 0 if as_of <= first else 1
    plantings = tuple(_sown(household.season, best, later))
    return Sowing(
        years=years,
        seed=seed,
        tries=done,
        before=before,
        after=now,
        moved=tuple(name for name in best if best[name] != AS_WRITTEN),
        plantings=plantings,
        elsewhere=elsewhere,
    )


def _left(done: int, tries: int, began: float) -> str:
    """About how long the search goes on: until its trials or its time are used up."""
    passed = time.monotonic() - began
    left = time_left(min(passed * (tries - done) / done, MOST_SECONDS - passed))
    return f"; {left}" if left else ""


@functools.lru_cache(maxsize=1)
def _ground(folder: Path, seed: int) -> tuple[Household, Problem, tuple[int, int, int]]:
    """The season before anything of it happened, and the years to judge by, once a process."""
    span = _span(folder)
    household = read_household(folder, span)
    base = state_problem(household, span, None)
    if not base.windows:
        raise NoValidPlan("There is no free time to plan with.")
    years = by_warmth(weather_of(household), household.season)
    if len(years) < 3:
        raise NoValidPlan("Fewer than three past years in the weather file cover the season.")
    generator = np.random.default_rng(seed)
    thirds = np.array_split(np.array(years), 3)
    cool, middling, warm = (int(generator.choice(third)) for third in thirds)
    return household, base, (cool, middling, warm)


def _span(folder: Path) -> dt.date:
    """The day before anything of the season is sown or done."""
    from harvestplan.inputs.load import load_season
    from harvestplan.kitchen.crop_library import load_library

    season = load_season(folder, load_library(folder)).season
    dates = [d for p in season.planting if (d := p.sown or p.set_out) and _this_year(p, season)]
    return min([season.season.start, *dates]) - dt.timedelta(days=1)


def _this_year(planting: Planting, season: Season) -> bool:
    """Whether it is sown or set out for this season: what stands for years stays."""
    date = planting.set_out or planting.sown
    return date is not None and (season.season.end - date).days < 366


def _movable(household: Household) -> dict[str, tuple[dt.date, Planting]]:
    """What can be sown otherwise, with its date, by id: plantings of wanted crops."""
    library, season = household.library, household.season
    pairs = [library.find_product(want.product) for want in season.want]
    wanted = {pair[0].name for pair in pairs if pair is not None}
    return {
        p.id: (date, p)
        for p in season.planting
        if p.id is not None
        and (date := p.set_out or p.sown) is not None
        and _this_year(p, season)
        and p.first_pick is None
        and (crop := library.find_crop(p.crop)) is not None
        and crop.name in wanted
    }


def _earliest(
    household: Household, movable: dict[str, tuple[dt.date, Planting]]
) -> dict[str, dt.date]:
    """The first day for each: where frost kills it, none before the one written unless safe."""
    weather = weather_of(household)
    found = {}
    for name, (date, planting) in movable.items():
        crop = household.library.find_crop(planting.crop)
        assert crop is not None and crop.growth is not None
        kills = KILLS.get(crop.growth.frost.value)
        safe = None if kills is None else safe_from_frost(weather, kills, SAFE)
        found[name] = dt.date.min if safe is None else min(date, _nearest(date, *safe))
    return found


def _nearest(date: dt.date, month: int, day: int) -> dt.date:
    """That day of the year nearest to the date: in the south a summer has two years."""
    days = (dt.date(date.year + later, month, day) for later in (-1, 0, 1))
    return min(days, key=lambda each: abs(each - date))


def _rounds(movable: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Which planting to try next and what about it; round after round."""
    names = list(movable)
    for _ in range(ROUNDS if names else 0):
        for kind in ("share", "days", "twice"):
            for name in names:
                yield name, kind


def _moves(now: SowingChange, kind: str, lacks: bool) -> list[SowingChange]:
    """What could be tried from where it stands: more, or at other times, where the crop falls
    short somewhere (`lacks`), else less of it."""
    if kind == "share":
        steps = (STEP, 2 * STEP) if lacks else (-STEP, -2 * STEP)
        shares = (round(now.share + step, 2) for step in steps)
        return [replace(now, share=share) for share in shares if LEAST <= share <= MOST]
    if not lacks:
        return []
    if kind == "twice":
        return [replace(now, twice=not now.twice)]
    days = (now.days + step for step in (-WEEK, WEEK, 2 * WEEK))
    return [replace(now, days=each) for each in days if abs(each) <= FURTHEST]


def _judge(folder: Path, seed: int, moves: dict[str, SowingChange]) -> Judged:
    """What the sowing comes to in the three seasons, on average."""
    _, base, _ = _ground(folder, seed)
    found = [
        replay(house, base, year, every=EVERY) for house, year in _seasons(folder, seed, moves)
    ]
    short = {
        base.demands[want.demand].process.crop.name
        for each in found
        for want, missing in zip(base.wants, each.short, strict=True)
        if want.demand is not None and missing
    }
    return _score(base, found), frozenset(short)


def _score(base: Problem, found: Sequence[Replay]) -> SowingScore:
    weighted = sum(
        missing * base.demands[want.demand].priority
        for each in found
        for want, missing in zip(base.wants, each.short, strict=True)
        if want.demand is not None
    )
    return SowingScore(
        short=round(weighted / len(found), 2),
        surplus_kg=round(sum(each.given for each in found) / len(found) / 1000, 2),
        evenings=round(sum(each.evenings for each in found) / len(found), 2),
    )


def _elsewhere(
    folder: Path,
    seed: int,
    best: dict[str, SowingChange],
    *,
    ask: Callable[..., list[Any]],
    say: Say,
) -> Elsewhere | None:
    """How both sowings fare in years not searched with; None where there are none, where nothing
    was moved, or after Ctrl-C."""
    household, base, used = _ground(folder, seed)
    others = [y for y in by_warmth(weather_of(household), household.season) if y not in used]
    if not others or all(move == AS_WRITTEN for move in best.values()):
        return None
    # From the coolest to the warmest, evenly.
    places = np.linspace(0, len(others) - 1, min(OTHERS, len(others)))
    years = [others[round(place)] for place in places]
    say(f"Both sowings are tried in {len(years)} other years.")
    try:
        written = ask(_live, [(folder, seed, {}, year) for year in years])
        moved = ask(_live, [(folder, seed, best, year) for year in years])
    except KeyboardInterrupt:
        return None
    worths = [
        (_worth(_score(base, [one])), _worth(_score(base, [other])))
        for one, other in zip(written, moved, strict=True)
    ]
    return Elsewhere(
        years=tuple(years),
        before=_score(base, written),
        after=_score(base, moved),
        better=sum(other < one - LEAST_GAIN for one, other in worths),
        worse=sum(other > one + LEAST_GAIN for one, other in worths),
    )


def _live(folder: Path, seed: int, moves: dict[str, SowingChange], year: int) -> Replay:
    """The sowing in one past year, with yields and dates drawn."""
    household, base, _ = _ground(folder, seed)
    sown = _with(household, moves)
    return replay(
        sown,
        base,
        true_year(sown, weather_of(household), year, seed=seed, as_of=base.as_of),
        every=EVERY,
    )


def _with(household: Household, moves: dict[str, SowingChange]) -> Household:
    """The household with its plantings moved."""
    plantings = tuple(_changed(household.season, moves))
    return replace(household, season=household.season.model_copy(update={"planting": plantings}))


def _seasons(
    folder: Path, seed: int, moves: dict[str, SowingChange]
) -> Iterator[tuple[Household, Year]]:
    """The household with such a sowing, in each of the three seasons."""
    household, base, years = _ground(folder, seed)
    sown, weather = _with(household, moves), weather_of(household)
    for year, good in zip(years, (0.0, POOR, 0.0), strict=True):
        draws = functools.partial(_always, (0.0, good))
        yield sown, imagined(sown, weather, year, as_of=base.as_of, draws=draws)


def _always(draws: tuple[float, float], planting: str) -> tuple[float, float]:
    return draws


def _worth(score: SowingScore) -> float:
    return score.short + SURPLUS_WEIGHT * score.surplus_kg


def _told(score: SowingScore) -> str:
    return f"{score.short:.1f} weighted portions short, {score.surplus_kg:.0f} kg too much"


def _changed(season: Season, moves: dict[str, SowingChange]) -> Iterator[Planting]:
    """The plantings with the moves."""
    for planting in season.planting:
        move = moves.get(planting.id or "", AS_WRITTEN)
        if move == AS_WRITTEN:
            yield planting
        elif move.twice:
            half = replace(move, share=move.share / 2)
            yield _moved(planting, half, planting.id or "")
            yield _moved(planting, replace(half, days=half.days + APART), f"{planting.id}-again")
        else:
            yield _moved(planting, move, planting.id or "")


def _moved(planting: Planting, move: SowingChange, name: str) -> Planting:
    share = move.share
    later = dt.timedelta(days=move.days)
    update: dict[str, object] = {"id": name}
    if planting.plants is not None:
        update["plants"] = max(1, round(planting.plants * share))
        share = max(1, round(planting.plants * share)) / planting.plants
    for key in ("row", "area", "yield_"):
        amount = getattr(planting, key)
        update[key] = None if amount is None else amount * share
    for key in ("sown", "set_out"):
        date = getattr(planting, key)
        update[key] = None if date is None else date + later
    return planting.model_copy(update=update)


def _sown(season: Season, moves: dict[str, SowingChange], years: int) -> Iterator[Sown]:
    """The season's plantings as they are to be sown so many years later; what stands stays."""
    for planting in _changed(season, moves):
        later = years if _this_year(planting, season) else 0
        yield Sown(
            id=planting.id or planting.crop,
            crop=planting.crop,
            plants=planting.plants,
            row=planting.row,
            area=planting.area,
            sown=_years_later(planting.sown, later),
            set_out=_years_later(planting.set_out, later),
            days_to_maturity=planting.days_to_maturity,
            yield_g=planting.yield_,
        )


def _years_later(date: dt.date | None, years: int) -> dt.date | None:
    """The same day so many years later, where there is one."""
    return None if date is None else anniversary(date, date.year + years)
