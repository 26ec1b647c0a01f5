"""The season tried in every past year of the weather file, and what that says of its chances."""

from __future__ import annotations

import datetime as dt
import functools
import itertools
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from harvestplan.errors import NoValidPlan
from harvestplan.forecast.past_years import past_years
from harvestplan.foresight.answers import (
    Fullest,
    LimitCount,
    Replay,
    Risk,
    SpoiledFood,
    Spread,
    WantChance,
    WeekRisk,
)
from harvestplan.foresight.crew import crew
from harvestplan.foresight.patience import Patience, how_long
from harvestplan.foresight.replay import replay
from harvestplan.foresight.truth import true_year, weather_of
from harvestplan.household import Household
from harvestplan.plan.file import published_plan
from harvestplan.planning.make import state_problem
from harvestplan.planning.read import read_household
from harvestplan.schedule.statement.problem import Problem

KILO = 1000
TENTHS = (0.1, 0.5, 0.9)
SECONDS = 4.0
"""To replay a year of a household's season, about."""
Say = Callable[[str], None]


def risk(
    folders: Sequence[Path], as_of: dt.date, seed: int, *, say: Say, on: str | None = None
) -> list[Risk | None]:
    """The chances of each season from `as_of` on, replayed in each past year, by the cluster `on`
    such an address or by all processors here.

    Ctrl-C ends it early, with the years replayed until then; None for a season without any.

    Raises
    ------
    FilesNeedMending
        Where the files cannot be used, or there is no weather file.
    NoValidPlan
        Where no free window is left, or no past year covers the season.
    ClusterError
        Where the cluster does not answer.
    KeyboardInterrupt
        Where no year was finished yet.
    """
    bases, tasks = [], []
    for folder in folders:
        base, years = _to_replay(folder, as_of)
        bases.append((base, len(years)))
        tasks += [(folder, as_of, year, seed) for year in years]
    long = how_long(len(tasks), SECONDS, max(len(base.options) for base, _ in bases))
    what = "The season is" if len(folders) == 1 else f"{len(folders)} seasons are"
    say(f"{what} replayed in {len(tasks)} past years.{long}")
    hear = Patience(len(tasks), "{done} of {all} years are replayed", say)
    with crew(on) as team:
        answers = team.until_stopped(replay_year, tasks, hear)
    if team.stopped:
        say("Stopped; what follows holds for what was done by then.")
    found, left = [], iter(answers)
    for base, asked in bases:
        replays = [each for each in itertools.islice(left, asked) if each is not None]
        told = summed_up(base, replays, asked, as_of=as_of, seed=seed) if replays else None
        found.append(told)
    return found


def _to_replay(folder: Path, as_of: dt.date) -> tuple[Problem, Sequence[int]]:
    """The season stated, and the past years to replay it in."""
    household, base = stated(folder, as_of)
    years = past_years(weather_of(household), household.season)
    if not base.windows:
        raise NoValidPlan(f"There is no free time left to plan with in {folder}.")
    if not years:
        raise NoValidPlan(f"No past year in the weather of {folder} covers the season.")
    return base, years


@functools.lru_cache(maxsize=2)
def stated(folder: Path, as_of: dt.date) -> tuple[Household, Problem]:
    """The folder read and its season stated, once in each process."""
    household = read_household(folder, as_of)
    return household, state_problem(household, as_of, published_plan(folder))


def replay_year(folder: Path, as_of: dt.date, year: int, seed: int) -> Replay:
    """One replay, in whatever process."""
    household, base = stated(folder, as_of)
    weather = weather_of(household)
    return replay(household, base, true_year(household, weather, year, seed=seed, as_of=as_of))


def summed_up(
    base: Problem, replays: Sequence[Replay], asked: int, *, as_of: dt.date, seed: int
) -> Risk:
    """What the replays say together."""
    replays = sorted(replays, key=lambda each: each.year)
    full = [each.fullest for each in replays if each.fullest is not None]
    days = np.array([each.date.toordinal() for each in full])
    dates = [dt.date.fromordinal(round(q)) for q in np.quantile(days, TENTHS)] if full else []
    return Risk(
        as_of=as_of,
        seed=seed,
        years=tuple(each.year for each in replays),
        asked=asked,
        all_met=_share([not any(each.short) for each in replays]),
        wants=_wants(base, replays),
        short=spread([sum(each.short) for each in replays]),
        given_kg=spread([each.given / KILO for each in replays]),
        evenings=spread([each.evenings for each in replays]),
        freezer=_fullest_name(full),
        fullest_share=spread([each.share for each in full]) if full else None,
        fullest_day=(dates[0], dates[1], dates[2]) if full else None,
        weeks=_weeks(replays),
        replans=sum(each.replans for each in replays),
        cpu_seconds=round(sum(each.seconds for each in replays), 1),
    )


def spread(values: Sequence[float]) -> Spread:
    """P10, P50 and P90 of the values, to three decimals."""
    low, middle, high = (round(float(q), 3) for q in np.quantile(np.array(values), TENTHS))
    return Spread(p10=low, p50=middle, p90=high)


def _share(true: Sequence[bool]) -> float:
    return round(sum(true) / len(true), 4)


def _wants(base: Problem, replays: Sequence[Replay]) -> tuple[WantChance, ...]:
    found = []
    for number, want in enumerate(base.wants):
        short = np.array([each.short[number] for each in replays])
        found.append(
            WantChance(
                product=want.product,
                wanted=want.wanted,
                met=_share([n == 0 for n in short.tolist()]),
                short_mean=round(float(short.mean()), 2),
                short_p90=round(float(np.quantile(short, TENTHS[-1])), 1),
            )
        )
    return tuple(found)


def _fullest_name(full: Sequence[Fullest]) -> str | None:
    """The freezer that is fullest in most replays."""
    names = Counter(each.freezer for each in full).most_common(1)
    return names[0][0] if names else None


def _weeks(replays: Sequence[Replay]) -> tuple[WeekRisk, ...]:
    """The weeks in which wanted food was lost, the worst first."""
    by_week: dict[dt.date, list[tuple[int, SpoiledFood]]] = defaultdict(list)
    for each in replays:
        for lost in each.lost:
            by_week[lost.week].append((each.year, lost))
    weeks = [_week(day, lost, len(replays)) for day, lost in by_week.items()]
    return tuple(sorted(weeks, key=lambda week: (-week.kg, week.week)))


def _week(day: dt.date, lost: Sequence[tuple[int, SpoiledFood]], replays: int) -> WeekRisk:
    crops: Counter[str] = Counter()
    limits: Counter[str] = Counter()
    for _, each in lost:
        crops[each.crop] += each.grams
        limits[each.limit] += each.grams
    return WeekRisk(
        week=day,
        share=round(len({year for year, _ in lost}) / replays, 4),
        kg=_kg(sum(crops.values()), replays),
        crops=tuple(sorted(crops, key=lambda crop: (-crops[crop], crop))),
        limits=tuple(
            LimitCount(limit=limit, kg=_kg(limits[limit], replays))
            for limit in sorted(limits, key=lambda limit: (-limits[limit], limit))
        ),
    )


def _kg(grams: int, replays: int) -> float:
    return round(grams / replays / KILO, 3)
