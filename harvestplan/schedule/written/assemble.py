"""From the solved season to the plan people read: sessions with clock times, picks, balance."""

from __future__ import annotations

import datetime as dt
import re
from collections import defaultdict
from collections.abc import Sequence

from harvestplan.inputs.crops import Library
from harvestplan.plan.models import Balance, Lot, LotShare, Pick, Run, Session, Task, WantLine
from harvestplan.schedule.session.tasks import SessionTimes
from harvestplan.schedule.session.timed_sessions import (
    TimedSessions,
    WindowRun,
    prefix_of,
    run_prefix,
    session_tasks,
    window_runs,
)
from harvestplan.schedule.session.written_tasks import after, write_tasks
from harvestplan.schedule.statement.choice import Choice, made_by_demand
from harvestplan.schedule.statement.problem import Problem


def build_sessions(problem: Problem, choice: Choice, timed: TimedSessions) -> tuple[Session, ...]:
    """Sessions in order of time, not yet named."""
    by_window = window_runs(problem, choice)
    first_ids = {
        run.option: _run_id(problem, window, run)
        for window, runs in by_window.items()
        for run in runs
        if run.sitting == "first"
    }
    sessions = []
    for window, runs in by_window.items():
        span = problem.windows[window]
        times = timed.shortest(window, runs)
        sessions.append(
            Session(
                uid="",
                sequence=0,
                status="planned",
                start=span.start,
                end=after(span.start, times.length),
                window_start=span.start,
                window_end=span.end,
                hands=span.hands,
                kind=span.kind,
                runs=tuple(_run(problem, choice, window, run=r, first_ids=first_ids) for r in runs),
                tasks=_tasks(problem, window, runs, times=times),
            )
        )
    return tuple(sessions)


def _slug(text: str) -> str:
    return re.sub(r"\W+", "-", text.lower()).strip("-")


def _run_id(problem: Problem, window: int, run: WindowRun) -> str:
    day = problem.windows[window].start
    name = _slug(problem.demands[run.demand].process.name)
    ending = {"whole": "", "first": "-cook", "second": "-pack"}[run.sitting]
    return f"{day:%Y-%m-%d-%H%M}-{name}{ending}"


def _run(
    problem: Problem, choice: Choice, window: int, *, run: WindowRun, first_ids: dict[int, str]
) -> Run:
    process = problem.demands[run.demand].process
    shares = choice.shares[run.option]
    second, first = run.sitting == "second", run.sitting == "first"
    grams_in = run.raw
    if second:
        pause = process.pause
        assert pause is not None
        grams_in = round(run.raw * process.share_before(pause + 1))
    return Run(
        id=_run_id(problem, window, run),
        product=process.name,
        crop=process.crop.name,
        lots=()
        if second
        else tuple(LotShare(lot=problem.lots[i].id, grams=g) for i, g in sorted(shares.items())),
        grams_in=grams_in,
        grams_packed=0 if first else process.packed(run.raw, run.pouches),
        pouch=None if first else process.packing.pouch.name,
        pouches=0 if first else run.pouches,
        portion_grams=process.portion_grams,
        second_sitting_of=first_ids[run.option] if second else None,
        pace=process.pace.factor,
        step_paces=dict(process.pace.steps),
    )


def _tasks(
    problem: Problem, window: int, runs: Sequence[WindowRun], *, times: SessionTimes
) -> tuple[Task, ...]:
    start = problem.windows[window].start
    owner = {run_prefix(run): _run_id(problem, window, run) for run in runs}

    def named(key: str) -> tuple[str, str | None]:
        run = owner.get(prefix_of(key))
        return (key, None) if run is None else (f"{run}/{key.partition(':')[2]}", run)

    return write_tasks(
        session_tasks(problem, window, tuple(runs)),
        times.times,
        start,
        named=named,
        cooks=problem.season.household.cooks,
    )


def build_picks(
    problem: Problem, sessions: Sequence[Session], library: Library
) -> tuple[Pick, ...]:
    """When each lot is picked: as late as the plant allows before its session, else when ripe."""
    picked: dict[tuple[str, str, dt.date, str | None], int] = defaultdict(int)
    lots = {lot.id: lot for lot in problem.lots}
    left = {lot.id: lot.grams for lot in problem.lots if lot.planting}
    for session in sessions:
        for run in session.runs:
            for share in run.lots:
                lot = lots[share.lot]
                if lot.planting is None:
                    continue
                day = min(session.start.date(), _pick_by(library, lot))
                picked[lot.planting, lot.crop, day, session.uid] += share.grams
                left[lot.id] -= share.grams
    for lot_id, grams in left.items():
        lot = lots[lot_id]
        if grams > 0 and lot.planting is not None:
            picked[lot.planting, lot.crop, lot.ready, None] += grams
    return tuple(
        Pick(planting=planting, crop=crop, date=day, grams=grams, session=uid)
        for (planting, crop, day, uid), grams in sorted(
            picked.items(), key=lambda item: (item[0][2], item[0][0], item[0][3] or "")
        )
    )


def _pick_by(library: Library, lot: Lot) -> dt.date:
    """The last day on which the lot stands on the plant, or the day it was picked."""
    crop = library.find_crop(lot.crop)
    assert crop is not None
    return lot.ready + dt.timedelta(days=0 if lot.picked else crop.stands)


def build_balance(problem: Problem, choice: Choice) -> tuple[Balance, ...]:
    """Every gram of every crop: preserved, eaten fresh, or surplus."""
    total: dict[str, int] = defaultdict(int)
    fresh: dict[str, int] = defaultdict(int)
    preserved: dict[str, int] = defaultdict(int)
    for lot, free in zip(problem.lots, problem.free, strict=True):
        total[lot.crop] += lot.grams
        fresh[lot.crop] += lot.grams - free
    used = problem.history.used
    for lot in problem.lots:
        preserved[lot.crop] += used.get(lot.id, 0)
        fresh[lot.crop] -= used.get(lot.id, 0)
    for shares in choice.shares.values():
        for number, grams in shares.items():
            preserved[problem.lots[number].crop] += grams
    return tuple(
        Balance(
            crop=crop,
            grams=total[crop],
            preserved_grams=preserved[crop],
            fresh_grams=fresh[crop],
            surplus_grams=total[crop] - preserved[crop] - fresh[crop],
        )
        for crop in sorted(total)
    )


def build_wants(problem: Problem, choice: Choice) -> tuple[WantLine, ...]:
    """Portions wanted, planned, stored and short, for wants that can and cannot be made."""
    planned = made_by_demand(problem, choice)
    lines = []
    for want in problem.wants:
        demand = want.demand
        made = planned[demand] if demand is not None else 0
        made += problem.history.pouches.get(want.product, 0)
        lines.append(
            WantLine(
                product=want.product,
                wanted=want.wanted,
                planned=made,
                stored=want.stored,
                short=max(0, want.wanted - made - want.stored - want.corrected),
                corrected=want.corrected,
            )
        )
    return tuple(lines)
