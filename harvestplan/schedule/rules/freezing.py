"""Rules of the season model for what freezers have to freeze in any 24 hours, own ice included.

All of it is linear in the runs' pouches, and never less than their tasks will state.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from typing import TYPE_CHECKING

from ortools.sat.python import cp_model

from harvestplan.kitchen.ice import freezing_load, ice_space
from harvestplan.kitchen.layout import Sitting
from harvestplan.schedule.statement.freezer_burden import (
    DAY,
    ice_freezer,
    ice_made,
    load_per_pouch,
    loose_in_first,
)
from harvestplan.schedule.statement.freezer_loads import loads
from harvestplan.schedule.statement.problem import Option, Problem

if TYPE_CHECKING:
    from harvestplan.schedule.search.cp_sat import SeasonModel

SLACK = 2
"""Grams of ice per pouch for batches that are rounded up on their own."""
Terms = list[cp_model.LinearExpr]


class Ice:
    """The ice that windows need, by window number; nothing where it is bought."""

    def __init__(self, season: SeasonModel) -> None:
        problem = season.problem
        self.problem = problem
        self.freezer = ice_freezer(problem.season)
        self.needs: dict[int, list[tuple[int, cp_model.IntVar]]] = {}
        self.kept = ice_made(problem.history.sessions, problem.as_of) if self.freezer else []
        if self.freezer is None:
            return
        for window, runs in season.by_window.items():
            if problem.windows[window].start.date() <= problem.as_of:
                continue  # today's is made already
            needs = [(ice_per_pouch(problem, *run), season.pouches[run[0].number]) for run in runs]
            self.needs[window] = [(grams, pouches) for grams, pouches in needs if grams]

    def made_at(self, window: int) -> dt.datetime:
        """When it begins to freeze."""
        return self.problem.windows[window].start - DAY

    def load(self, window: int) -> Terms:
        """Grams of fresh food that burden the freezer as much as the window's ice."""
        return [(math.ceil(freezing_load(g)) + 1) * n for g, n in self.needs.get(window, ())]

    def days(self, freezer: str) -> set[dt.date]:
        """Days on which ice lies in the freezer."""
        if freezer != self.freezer:
            return set()
        coming = {self.made_at(window).date() for window, needs in self.needs.items() if needs}
        return coming | {each.day for each in self.kept}

    def space(self, freezer: str, day: dt.date) -> Terms:
        """Space in mL of the ice that lies in the freezer on a day."""
        if freezer != self.freezer:
            return []
        kept = sum(each.space for each in self.kept if each.day == day)
        coming = [
            ice_space(grams) * pouches
            for window, needs in self.needs.items()
            if self.made_at(window).date() == day
            for grams, pouches in needs
        ]
        return [cp_model.LinearExpr.constant(kept), *coming]


def ice_per_pouch(problem: Problem, option: Option, sitting: Sitting) -> int:
    """The most grams of ice per pouch that such a run asks for, whatever its size."""
    most = 0.0
    for pouches in range(1, option.most + 1):
        raw = problem.work.raw(option.demand, pouches)
        layout = problem.work.layout(option.demand, sitting, raw, pouches, None)
        grams = sum(int(task.settings.get("ice_g", 0)) for task in layout.tasks)
        most = max(most, grams / pouches)
    return math.ceil(most) + SLACK if most else 0


class Freezing:
    """What each freezer has to freeze: by windows, and for kept sessions."""

    def __init__(self, season: SeasonModel) -> None:
        self.problem = season.problem
        self.kept = loads(season.problem.history.sessions)
        self.runs: dict[tuple[int, str | None], Terms] = defaultdict(list)
        for option in season.problem.options:
            process = season.process_of(option)
            begins = option.first if loose_in_first(process) else option.packs_in
            grams = load_per_pouch(process) * season.pouches[option.number]
            self.runs[begins, option.freezer].append(grams)

    def spoken_for(self, freezer: str, start: dt.datetime, end: dt.datetime) -> int:
        """Grams that kept sessions begin to freeze after start and before end."""
        return sum(e.grams for e in self.kept if e.freezer == freezer and start < e.start < end)


def add_loads(season: SeasonModel) -> None:
    """No freezer takes more than its limit in any 24 hours."""
    problem, freezing, ice = season.problem, Freezing(season), Ice(season)
    for freezer in problem.kitchen.freezers:
        limit = problem.kitchen.freezing_limit(freezer.name)
        if freezer.name == ice.freezer:
            _add_stretches(season, freezing, ice, limit)
            continue
        for near in problem.near_sets():
            load = [grams for w in near for grams in freezing.runs[w, freezer.name]]
            first, last = problem.windows[near[0]], problem.windows[near[-1]]
            if load:
                spoken_for = freezing.spoken_for(freezer.name, first.start - DAY, last.end + DAY)
                alone = season.used[near[0]] if len(near) == 1 else 1
                season.model.add(sum(load) <= max(0, limit - spoken_for) * alone)


def _add_stretches(season: SeasonModel, freezing: Freezing, ice: Ice, limit: int) -> None:
    """The same where ice is made: from any freezing in a window on, and from its ice on."""
    for i, window in enumerate(season.problem.windows):
        _add_stretch(season, freezing, ice, limit, window.start, window.end + DAY)
        if ice.needs.get(i):
            _add_stretch(season, freezing, ice, limit, ice.made_at(i), window.start)


def _add_stretch(
    season: SeasonModel,
    freezing: Freezing,
    ice: Ice,
    limit: int,
    start: dt.datetime,
    end: dt.datetime,
) -> None:
    """What may begin to freeze from start to before end, together with what kept sessions freeze
    within 24 hours of it, stays within the limit; cautious where that is longer than a day."""
    assert ice.freezer is not None
    load: Terms = []
    for j, window in enumerate(season.problem.windows):
        if window.start < end and window.end >= start:
            load += freezing.runs[j, ice.freezer]
        if start <= ice.made_at(j) < end:
            load += ice.load(j)
    if load:
        kept = freezing.spoken_for(ice.freezer, start - DAY, end)
        kept += sum(each.load for each in ice.kept if start - DAY < each.start < end)
        season.model.add(sum(load) <= max(0, limit - kept))
