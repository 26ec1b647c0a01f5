"""What would help where something falls short: the smallest changes, each solved near where it
bites, beside the finished plan."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Literal
from zoneinfo import ZoneInfo

from harvestplan.household import Household
from harvestplan.inputs.season import Season
from harvestplan.inputs.windows import WEEKDAYS, FreeWindow, days_at_home
from harvestplan.plan.remedy import Portions, Remedy
from harvestplan.schedule.goals.part import MICRO
from harvestplan.schedule.goals.worth import worth_of_season
from harvestplan.schedule.rules.all_rules import state_rules
from harvestplan.schedule.search.effort import Effort
from harvestplan.schedule.search.solve_season import Known, Solved, solve_season
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.statement.carried_over import choice_from, runs_of
from harvestplan.schedule.statement.choice import Choice, left_over, made_by_demand, windows_used
from harvestplan.schedule.statement.history import FIRM_DAYS
from harvestplan.schedule.statement.problem import Problem
from harvestplan.words import volume

MOST_WEEKS, MOST_DAYS = 3, 2
"""Of one more evening and of longer ones, so many are tried where most is left over."""
PLACES = 2
"""Windows around which a change is looked at."""
HALF_AN_HOUR = dt.timedelta(minutes=30)
EVENING = dt.time(18), dt.time(21)
"""An evening of a household that has written none (common practice, no source)."""
LATEST = dt.time(23, 30)
"""No window is made longer that ends later."""
ROOM = 50_000.0
"""Of a freezer that is full, mL more that are tried (own judgement: a shelf)."""
LEAST_GAIN = 0.5
"""Portions of worth below which a change is no help."""
SIDE_BY_SIDE = 2
"""Trials at once, in threads: the solver computes outside of Python."""
NEARBY_ONLY = Effort(nodes=0, nearby=0.0, rounds=0)
DAY_NAMES = ("Mondays", "Tuesdays", "Wednesdays", "Thursdays", "Fridays", "Saturdays", "Sundays")
EASIEST_DAYS = ("wed", "mon", "fri", "tue", "thu", "sun", "sat")
"""Days of the week in the order in which one more evening is asked of a household (common practice,
no source)."""


@dataclass(frozen=True)
class Idea:
    """A change in words, its kind, the household with it, and the starts of the windows where it
    bites; `evening` is the window that it adds."""

    words: str
    kind: Literal["longer", "evening", "room"]
    household: Household
    near: tuple[dt.datetime, ...]
    evening: FreeWindow | None = None


def remedies(
    household: Household,
    problem: Problem,
    solved: Solved,
    *,
    timed: TimedSessions,
    state: Callable[[Household], Problem],
    say: Callable[[str], None],
) -> tuple[Remedy, ...]:
    """What each small change would bring, the most worth first; nothing where nothing is short for
    want of time or room. `state` gives the problem of a changed household. Ctrl-C ends the trials
    with what is known by then.
    """
    left = left_over(problem, solved.choice)
    short = _short_for_time(problem, solved.choice, left)
    if not short:
        return ()
    ideas = list(_ideas(household, problem, solved.choice, _by_day(problem, short, left)))
    found: list[Remedy] = []
    pool = ThreadPoolExecutor(SIDE_BY_SIDE)
    try:
        tries = [
            pool.submit(_tried, idea, problem, solved, timed=timed, state=state) for idea in ideas
        ]
        for number, (idea, trial) in enumerate(zip(ideas, tries, strict=True), start=1):
            say(f"What would help: {number} of {len(ideas)}, {idea.words}.")
            found += trial.result()
    except KeyboardInterrupt:
        say("Stopped; what was tried by then is kept.")
    finally:
        pool.shutdown(cancel_futures=True)
    return tuple(sorted(found, key=lambda each: (-each.worth, each.change)))


def _short_for_time(problem: Problem, choice: Choice, left: Sequence[int]) -> dict[int, int]:
    """By demand, the portions that are short and for which there is food left over, by lot."""
    made = made_by_demand(problem, choice)
    short = {}
    for number, demand in enumerate(problem.demands):
        crop = demand.process.crop.name
        food = sum(left[i] for i, lot in enumerate(problem.lots) if lot.crop == crop)
        missing = min(demand.portions - made[number], demand.process.pouches_of(food))
        if missing > 0:
            short[number] = missing
    return short


def _ideas(
    household: Household, problem: Problem, choice: Choice, over: Mapping[dt.date, float]
) -> Iterator[Idea]:
    """What a household may change most easily, where food of what is short is left over."""
    yield from _longer(household, problem, choice, over)
    yield from _another_evening(household, problem, over)
    yield from _more_room(household, problem, over)


def _by_day(
    problem: Problem, short: Mapping[int, int], left: Sequence[int]
) -> dict[dt.date, float]:
    """Portions, by priority, for which food is left over on each day on which it keeps."""
    over: dict[dt.date, float] = defaultdict(float)
    for number, missing in short.items():
        demand = problem.demands[number]
        for i, lot in enumerate(problem.lots):
            if lot.crop != demand.process.crop.name or left[i] <= 0:
                continue
            portions = demand.priority * min(missing, demand.process.pouches_of(left[i]))
            for days in range((lot.keep_until - lot.ready).days + 1):
                over[lot.ready + dt.timedelta(days=days)] += portions
    return over


def _longer(
    household: Household, problem: Problem, choice: Choice, over: Mapping[dt.date, float]
) -> Iterator[Idea]:
    """Half an hour more on a day of the week on which sessions are."""
    used = windows_used(problem, choice)
    starts = {problem.windows[w].start for w in used if not problem.windows[w].is_visit}
    by_day: dict[int, list[FreeWindow]] = defaultdict(list)
    for window in household.windows:
        if window.end.time() <= LATEST and over.get(window.start.date(), 0.0) > 0:
            by_day[window.start.weekday()].append(window)

    def waiting(weekday: int) -> float:
        return sum(over[w.start.date()] for w in by_day[weekday] if w.start in starts)

    best = sorted(by_day, key=lambda weekday: (-waiting(weekday), weekday))
    for weekday in [day for day in best if waiting(day) > 0][:MOST_DAYS]:
        windows = tuple(
            replace(w, end=w.end + HALF_AN_HOUR)
            if w.start.weekday() == weekday and w.end.time() <= LATEST
            else w
            for w in household.windows
        )
        most = sorted(by_day[weekday], key=lambda w: (-over[w.start.date()], w.start))
        near = tuple(w.start for w in most[:PLACES])
        words = f"30 minutes more on {DAY_NAMES[weekday]}"
        yield Idea(words, "longer", replace(household, windows=windows), near)


def _another_evening(
    household: Household, problem: Problem, over: Mapping[dt.date, float]
) -> Iterator[Idea]:
    """One more evening in a week in which most is left over, on a day that has none."""
    soon = problem.as_of + dt.timedelta(days=FIRM_DAYS)
    taken = {window.start.date() for window in household.windows}
    possible = {day for day in days_at_home(household.season) if day >= soon} - taken
    weeks: dict[dt.date, float] = defaultdict(float)
    for day, portions in over.items():
        monday = day - dt.timedelta(days=day.weekday())
        weeks[monday] = max(weeks[monday], portions)
    for monday in sorted(weeks, key=lambda week: (-weeks[week], week))[:MOST_WEEKS]:
        days = [monday + dt.timedelta(days=WEEKDAYS.index(name)) for name in EASIEST_DAYS]
        free = [day for day in days if day in possible]
        best = max(free, key=lambda day: over.get(day, 0.0), default=None)
        if best is None or over.get(best, 0.0) <= 0:
            continue
        window = _usual_evening(household, best)
        windows = sorted((*household.windows, window), key=lambda each: each.start)
        words = f"one more evening in the week of {monday.day} {monday:%B}"
        more = replace(household, windows=tuple(windows), season=_one_more_session(household))
        yield Idea(words, "evening", more, (window.start,), window)


def _usual_evening(household: Household, day: dt.date) -> FreeWindow:
    """The day's hours like those of the longest window, or in the evening where there is none; they
    count as extra ones."""
    zone, hands = ZoneInfo(household.season.household.timezone), household.season.household.hands
    begins, ends = EVENING
    if household.windows:
        like = max(household.windows, key=lambda window: (window.end - window.start, window.start))
        begins, ends, hands = like.start.time(), like.end.time(), like.hands
    start, end = (dt.datetime.combine(day, time, zone) for time in (begins, ends))
    return FreeWindow(start, end, hands=hands, extra=True)


def _one_more_session(household: Household) -> Season:
    """The season with one session more, where it has a limit of them."""
    span = household.season.season
    limits = ("max_sessions", "max_sessions_per_week")
    update = {key: getattr(span, key) + 1 for key in limits if getattr(span, key) is not None}
    return household.season.model_copy(update={"season": span.model_copy(update=update)})


def _more_room(
    household: Household, problem: Problem, over: Mapping[dt.date, float]
) -> Iterator[Idea]:
    """A shelf more in the largest freezer."""
    freezers = household.season.freezer
    if not freezers:
        return
    largest = max(freezers, key=lambda freezer: freezer.volume)
    roomier = largest.model_copy(update={"volume": largest.volume + ROOM})
    season = household.season.model_copy(
        update={"freezer": tuple(roomier if each is largest else each for each in freezers)}
    )
    amount = volume(ROOM, household.season.household.measures)
    most = sorted(problem.evenings, key=lambda w: (-over.get(w.start.date(), 0.0), w.start))
    near = tuple(w.start for w in most[:PLACES])
    words = f"{amount} more of {largest.name}"
    yield Idea(words, "room", replace(household, season=season), near)


def _tried(
    idea: Idea,
    problem: Problem,
    solved: Solved,
    *,
    timed: TimedSessions,
    state: Callable[[Household], Problem],
) -> list[Remedy]:
    """What the idea brings beside the plan; nothing where that is too little to be told."""
    changed = state(idea.household)
    begin = choice_from(changed, runs_of(problem, solved.choice))
    changed = replace(changed, earlier=None)
    near = [w for w, window in enumerate(changed.windows) if window.start in idea.near]
    known = Known(start=begin, cuts=tuple(solved.cuts), near=tuple(near))
    # Answers of their own: what one trial learns must not depend on how far another is.
    own = TimedSessions(changed, timed.seed, dict(timed.answers))
    found = solve_season(changed, own, NEARBY_ONLY, known=known)
    goal = worth_of_season(state_rules(changed))
    gain = found.worth - goal.worth(begin) / MICRO
    more = made_by_demand(changed, found.choice)
    more.subtract(made_by_demand(changed, begin))
    brings = _portions(changed, more)
    if gain < LEAST_GAIN or not any(each.portions > 0 for each in brings):
        return []
    hours = idea.evening
    remedy = Remedy(
        change=idea.words,
        brings=brings,
        worth=round(gain, 4),
        kind=idea.kind,
        start=hours.start if hours else None,
        end=hours.end if hours else None,
    )
    return [remedy]


def _portions(problem: Problem, more: Mapping[int, int]) -> tuple[Portions, ...]:
    """Portions more or fewer of each product, most first."""
    order: Sequence[int] = sorted(more, key=lambda number: (-more[number], number))
    return tuple(
        Portions(product=problem.demands[number].process.name, portions=more[number])
        for number in order
        if more[number]
    )
