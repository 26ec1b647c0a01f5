"""The published plan as a choice that a new search may begin from, and stay with."""

from __future__ import annotations

from collections.abc import Set

from harvestplan.schedule.statement.choice import Choice
from harvestplan.schedule.statement.problem import Problem


def published_choice(problem: Problem) -> Choice | None:
    """The published plan's runs as options, where each can still be made of the same lots; None
    where one cannot, or there is no such plan."""
    if problem.earlier is None:
        return None
    lots = {lot.id: i for i, lot in enumerate(problem.lots)}
    starts = {window.start: w for w, window in enumerate(problem.windows)}
    options = {(o.demand, o.first, o.second, o.freezer): o for o in problem.options}
    demands = {demand.process.name: d for d, demand in enumerate(problem.demands)}
    pouches: dict[int, int] = {}
    shares: dict[int, dict[int, int]] = {}
    for run in problem.earlier.runs:
        second = None if run.second is None else starts.get(run.second, -1)
        key = (demands.get(run.product, -1), starts.get(run.first, -1), second, run.freezer)
        option = options.get(key)
        if option is None or run.pouches > option.most:
            return None
        given = {lots.get(lot, -1): grams for lot, grams in run.shares.items()}
        if not set(given) <= set(option.lots):
            return None
        pouches[option.number], shares[option.number] = run.pouches, given
    return Choice(pouches, shares)


def published_options(problem: Problem) -> Set[int]:
    """The options that the published plan's runs would be, whatever food is there for them now."""
    if problem.earlier is None:
        return frozenset()
    was, windows = problem.earlier.pouches, problem.windows
    return frozenset(
        o.number
        for o in problem.options
        if (windows[o.first].start, problem.demands[o.demand].process.name) in was
    )
