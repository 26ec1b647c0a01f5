"""Solutions carried from one problem to another: by dates, products and lots, not by numbers."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Sequence
from dataclasses import replace

from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import EarlierRun, Problem


def runs_of(problem: Problem, choice: Choice) -> tuple[EarlierRun, ...]:
    """The choice's runs in words that other problems of the season understand."""
    runs = []
    for number, pouches in sorted(choice.pouches.items()):
        option = problem.options[number]
        second = None if option.second is None else problem.windows[option.second].start
        shares = {problem.lots[lot].id: g for lot, g in sorted(choice.shares[number].items())}
        name = problem.demands[option.demand].process.name
        first = problem.windows[option.first].start
        runs.append(
            EarlierRun(name, first, second, freezer=option.freezer, pouches=pouches, shares=shares)
        )
    return tuple(runs)


def choice_from(problem: Problem, runs: Sequence[EarlierRun]) -> Choice:
    """Those of the runs that the problem still has, as a choice; it may yet break a rule."""
    lots = {lot.id: i for i, lot in enumerate(problem.lots)}
    starts = {window.start: w for w, window in enumerate(problem.windows)}
    options = {(o.demand, o.first, o.second, o.freezer): o for o in problem.options}
    demands = {demand.process.name: d for d, demand in enumerate(problem.demands)}
    left = dict(enumerate(problem.free))
    wanted = {d: demand.portions for d, demand in enumerate(problem.demands)}
    choice = Choice({}, {})
    for run in runs:
        second = None if run.second is None else starts.get(run.second, -1)
        demand = demands.get(run.product, -1)
        option = options.get((demand, starts.get(run.first, -1), second, run.freezer))
        shares = {lots.get(lot, -1): grams for lot, grams in run.shares.items()}
        if option is None or run.pouches > min(option.most, wanted[demand]):
            continue
        if not all(lot in option.lots and left[lot] >= g for lot, g in shares.items()):
            continue
        wanted[demand] -= run.pouches
        for lot, grams in shares.items():
            left[lot] -= grams
        choice.pouches[option.number], choice.shares[option.number] = run.pouches, shares
    return choice


def without_windows(problem: Problem, windows: Collection[int]) -> Problem:
    """The problem with these windows barred; all windows keep their numbers."""
    kept = [o for o in problem.options if not any(w in windows for w, _ in o.sittings())]
    options = tuple(replace(o, number=n) for n, o in enumerate(kept))
    return replace(problem, options=options)


def without_runs_in(problem: Problem, choice: Choice, window: int) -> Choice:
    """The choice without what has a sitting in the window."""
    kept = {
        o for o in choice.pouches if not any(w == window for w, _ in problem.options[o].sittings())
    }
    return Choice(
        {o: n for o, n in choice.pouches.items() if o in kept},
        {o: shares for o, shares in choice.shares.items() if o in kept},
    )


def with_most_sessions(problem: Problem, most: int) -> Problem:
    """The problem with at most so many sessions beside those kept from before."""
    whole = most + len(problem.history.evenings)
    span = problem.season.season.model_copy(update={"max_sessions": whole})
    season = problem.season.model_copy(update={"season": span})
    return replace(problem, season=season)


def used_evenings(problem: Problem, choice: Choice) -> list[int]:
    """Numbers of the windows for sessions in which something happens, in order."""
    used = {w for o in choice.pouches for w, _ in problem.options[o].sittings()}
    return sorted(w for w in used if not problem.windows[w].is_visit)


def ways(problem: Problem) -> str:
    """A digest of how each want is made, freezers aside.

    Where two seasons agree on it, what did not fit into an evening of the one does not of the
    other.
    """
    told = [
        repr(replace(d.process, kitchen=replace(d.process.kitchen, freezers=())))
        for d in problem.demands
    ]
    return hashlib.sha256("\n".join(told).encode("utf-8", "backslashreplace")).hexdigest()
