"""Sessions that the household moved: held where it put them, or a computed reason why not.

The published plan is first read as if it had them there already. So their runs keep their
windows like all others, and a near change costs what it always costs. What cannot be held is
planned freely.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

from ortools.sat.python import cp_model

from harvestplan.inputs.dates import say
from harvestplan.plan.models import Advice, Plan, Session, Wish
from harvestplan.plan.spans import overlap
from harvestplan.records.moved_sessions import BEGUN, end_of, places
from harvestplan.schedule.rules.row import Sum
from harvestplan.schedule.search.cp_sat import SeasonModel
from harvestplan.schedule.session.timed_sessions import TimedSessions
from harvestplan.schedule.solver_call import one_worker, solve
from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import (
    EarlierRun,
    Pinned,
    Problem,
    in_the_kitchen,
    real_seconds,
)

EFFORT = 2.0
"""Deterministic seconds for finding a plan that holds what was moved."""
TRIALS = 8
MANY = 10**6
PAST = "That time is past."
OFF = "The session is done, or off since."
NOT_WANTED = "Nothing of it is wanted any more."
TOGETHER = "It does not go together with the other sessions that you moved."
NO_TIME = "Its work does not fit into the time there."
NO_ROOM = "The food, the fridge or the freezers do not allow it there, next to what is promised."


def as_wished(published: Plan, moves: Sequence[Wish], as_of: dt.date) -> Plan:
    """The published plan with each moved session where the household put it."""
    put = places(moves, as_of)
    sessions = tuple(_put(s, put.get(s.uid, s.start), as_of) for s in published.sessions)
    return published.model_copy(update={"sessions": sessions})


def _put(session: Session, start: dt.datetime, as_of: dt.date) -> Session:
    gone = not session.live or session.start.date() < as_of
    if gone or session.start == start:
        return session
    later = start.timestamp() - session.start.timestamp()

    def at(moment: dt.datetime) -> dt.datetime:
        moved = moment.astimezone(dt.UTC) + dt.timedelta(seconds=later)
        return moved.astimezone(start.tzinfo)

    tasks = tuple(
        task.model_copy(update={"start": at(task.start), "end": at(task.end)})
        for task in session.tasks
    )
    end = at(session.end)
    window = {"start": start, "end": end, "window_start": start, "window_end": end}
    return session.model_copy(update=window | {"status": "planned", "tasks": tasks})


def pin(problem: Problem, moves: Sequence[Wish], most: int = MANY) -> Problem:
    """The problem with the runs of the moved sessions held in the windows they were put to, each
    with its pouches or `most` of them."""
    starts = {window.start: w for w, window in enumerate(problem.windows)}
    demands = {demand.process.name: d for d, demand in enumerate(problem.demands)}
    pouches: dict[tuple[int, int, bool], int] = defaultdict(int)
    for wish in moves:
        window = starts.get(wish.moved_to)
        if wish.why or window is None:
            continue
        for run, second in _runs_of(problem, wish):
            if run.product in demands:
                pouches[window, demands[run.product], second] += run.pouches
    pinned = [_capped(problem, Pinned(*key, min(most, n))) for key, n in pouches.items()]
    return replace(problem, pinned=tuple(each for each in pinned if each.pouches))


def _runs_of(problem: Problem, wish: Wish) -> Iterator[tuple[EarlierRun, bool]]:
    """The runs of the session that it may still move, and whether in their second sitting."""
    for run in problem.earlier.runs if problem.earlier else ():
        if (wish.session, wish.moved_to) == (run.sessions[0], run.first):
            yield run, False
        if (wish.session, wish.moved_to) == (run.sessions[1], run.second):
            yield run, True


def _capped(problem: Problem, pinned: Pinned) -> Pinned:
    most = max((option.most for option in pinned.among(problem.options)), default=0)
    return replace(pinned, pouches=min(pinned.pouches, most))


def settle(
    problem: Problem, moves: Sequence[Wish], timed: TimedSessions
) -> tuple[Problem, Choice | None] | tuple[Wish, str]:
    """The problem with the moved sessions held, and a choice to begin from; or one that cannot be
    held, and why.

    A session is held with all its pouches; where that cannot be, with as many as can.
    """
    refused = next(_refused(problem, moves), None)
    if refused is not None:
        return refused
    for pouches in (MANY, 1):
        stated = pin(problem, moves, pouches)
        start = begin(stated, timed)
        if isinstance(start, Choice):
            return stated, start
        if not stated.pinned:
            return stated, None
    return _blamed(problem, moves, timed)


def _blamed(problem: Problem, moves: Sequence[Wish], timed: TimedSessions) -> tuple[Wish, str]:
    """The first moved session that cannot be held with those before it."""
    live = [wish for wish in moves if not wish.why]
    for number, wish in enumerate(live):
        why = begin(pin(problem, live[: number + 1], 1), timed)
        if isinstance(why, str):
            alone = begin(pin(problem, [wish], 1), timed)
            return wish, alone if isinstance(alone, str) else TOGETHER
    return live[-1], TOGETHER


def begin(problem: Problem, timed: TimedSessions) -> Choice | str:
    """As much of the published plan as can be made with what is held, or why that cannot be."""
    model = SeasonModel(problem, [])
    most = _published(problem)
    pinned = {o.number for each in problem.pinned for o in each.among(problem.options)}
    for option in problem.options:
        if option.number not in pinned:
            pouches = Sum({model.season.pouches[option.number]: 1})
            model.limit("published", pouches, most=most.get(option.number, 0))
    model.minimize(Sum(dict.fromkeys(model.season.pouches, -1)))
    why = NO_ROOM
    for _ in range(TRIALS):
        solver = one_worker(EFFORT)
        copy = model.copy(None, model.heedful())
        if solve(solver, copy) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return why
        choice = model.choice(list(solver.response_proto.solution))
        cuts = timed.cuts_for(choice)
        if not cuts:
            return choice
        why = NO_TIME
        for cut in cuts:
            model.add_cut(cut)
    return why


def _published(problem: Problem) -> dict[int, int]:
    """Pouches of the published plan by option, where the option is still there."""
    starts = {window.start: w for w, window in enumerate(problem.windows)}
    demands = {demand.process.name: d for d, demand in enumerate(problem.demands)}
    options = {(o.demand, o.first, o.second, o.freezer): o.number for o in problem.options}
    found: dict[int, int] = defaultdict(int)
    for run in problem.earlier.runs if problem.earlier else ():
        second = None if run.second is None else starts.get(run.second, -1)
        key = (demands.get(run.product, -1), starts.get(run.first, -1), second, run.freezer)
        if key in options:
            found[options[key]] += run.pouches
    return found


def _refused(problem: Problem, moves: Sequence[Wish]) -> Iterator[tuple[Wish, str]]:
    """Moved sessions that cannot be where they were put by dates, food and time alone."""
    standing = {s.uid: s for s in problem.history.sessions}
    starts = {window.start: w for w, window in enumerate(problem.windows)}
    taken: set[dt.datetime] = set()
    for wish in (each for each in moves if not each.why):
        there = standing.get(wish.session)
        if there is not None and there.start == wish.moved_to:
            if why := _packed_badly(problem, there):
                yield wish, why
            continue
        if wish.moved_to.date() < problem.as_of:
            yield wish, PAST
        elif there is not None or not list(_runs_of(problem, wish)):
            yield wish, OFF
        elif wish.moved_to in taken:
            yield wish, TOGETHER
        elif wish.moved_to not in starts:
            yield wish, _taken(problem, wish, moves)
        elif why := _full_week(problem, wish) or _no_run(problem, wish, starts[wish.moved_to]):
            yield wish, why
        taken.add(wish.moved_to)


def bound_to_stay(
    problem: Problem, moves: Sequence[Wish], published: Plan
) -> Iterator[tuple[Wish, str]]:
    """Moved sessions that pack what a promised one puts to chill or to dry, and so stand where they
    are promised with all that is in them. (A visit may pack at another time: `settle` looks.)"""
    promised = {s.uid for s in problem.history.sessions if not s.is_visit}
    starts = {s.uid: s.start for s in published.sessions}
    for wish in moves:
        if not wish.why and wish.session in promised and starts[wish.session] != wish.moved_to:
            yield wish, BEGUN


def _packed_badly(problem: Problem, visit: Session) -> str:
    """Why what lies on trays already cannot be packed where the household put the visit, or
    nothing."""
    firsts = {run.id: s for s in problem.history.sessions for run in s.runs}
    processes = {demand.process.name: demand.process for demand in problem.demands}
    for run in visit.runs if visit.is_visit else ():
        first, process = firsts.get(run.second_sitting_of or ""), processes.get(run.product)
        if first is None or process is None or process.pause is None:
            continue
        limit = process.product.steps[process.pause].pause_limit
        if visit.start.timestamp() - first.end.timestamp() < process.wait_least:
            return f"The {run.product} is not frozen by then."
        if limit and visit.end.timestamp() - first.start.timestamp() > limit.value:
            return f"The {run.product} has dried out on its trays by then."
    others = (s for s in problem.history.sessions if s.uid != visit.uid)
    if any(overlap(visit, other) for other in others):
        return "Another session is promised for that time."
    return ""


def _taken(problem: Problem, wish: Wish, moves: Sequence[Wish]) -> str:
    for session in problem.history.sessions:
        if session.window_start < end_of(wish) and session.window_end > wish.moved_to:
            return f"The session of {session.start:%H:%M} on that day is promised already."
    others = (each for each in moves if each is not wish and not each.why)
    if any(o.moved_to < end_of(wish) and end_of(o) > wish.moved_to for o in others):
        return TOGETHER
    return "That time is not free."


def _full_week(problem: Problem, wish: Wish) -> str:
    """That the week has as many sessions promised as the household wants in one, or nothing."""
    limit = problem.season.season.max_sessions_per_week
    week = wish.moved_to.isocalendar()[:2]
    kept = [s for s in problem.history.evenings if s.start.isocalendar()[:2] == week]
    if limit is None or wish.kind == "visit" or len(kept) < limit:
        return ""
    return f"{len(kept)} sessions of that week are promised; your season allows {limit} a week."


def _no_run(problem: Problem, wish: Wish, window: int) -> str:
    """Why some run of the session cannot be made in the window, or nothing."""
    demands = {d.process.name: i for i, d in enumerate(problem.demands) if d.portions}
    runs = [(r, s) for r, s in _runs_of(problem, wish) if r.product in demands]
    if not runs:
        return NOT_WANTED
    for run, second in runs:
        number = demands[run.product]
        if Pinned(window, number, second, pouches=1).among(problem.options):
            continue
        crop = problem.demands[number].process.crop.name
        begin = wish.moved_to
        lots = [lot for lot in problem.lots if lot.id in run.shares]
        if second or any(in_the_kitchen(lot, begin) for lot in lots):
            batch = "your smallest batch of " if problem.demands[number].least > 1 else ""
            return f"There is no time for {batch}{run.product} in {_minutes(problem, window)}."
        ready = min((lot.ready for lot in lots), default=None)
        keeps = max((lot.keep_until for lot in lots), default=None)
        if ready is None or keeps is None:
            return f"No {crop} is expected for that day."
        if ready == begin.date():
            return f"The {crop} for it is bought that day, and there by noon."
        return f"The {crop} for it is there from {say(ready)} to {say(keeps)}."
    return ""


def refused_moves(moves: Sequence[Wish], as_of: dt.date) -> list[Advice]:
    """A warning for each session still ahead that is not where the household put it."""
    return [
        Advice(
            code="moved-session",
            message=f"The {wish.kind} of {_moment(wish.moved_from)} cannot be on "
            f"{_moment(wish.moved_to)}, where you put it. {wish.why} "
            + ("It is planned as it was." if wish.kind == "visit" else "It is planned anew."),
        )
        for wish in moves
        if wish.why and not wish.given_up
        if max(wish.moved_from, wish.moved_to).date() >= as_of
    ]


def _minutes(problem: Problem, window: int) -> str:
    """Like "120 minutes: setting up and cleaning up leave 80 of them"."""
    whole = real_seconds(problem.windows[window]) // 60
    left = max(0, problem.length(window)) // 60
    return f"{whole} minutes: setting up and cleaning up leave {left} of them"


def _moment(moment: dt.datetime) -> str:
    return f"{moment:%A} {say(moment.date())}, {moment:%H:%M}"
