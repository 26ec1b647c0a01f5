"""Trays of the freezers: packs lie flat, in a single layer, until they are frozen."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Sequence

from harvestplan.kitchen.steps.settings import freezer_of, tray_area_of
from harvestplan.plan.models import Session
from harvestplan.schedule.rules.season_rows import SeasonRows
from harvestplan.schedule.statement.problem import Problem

RULE = REASON = "freezing trays"


def limit_trays(season: SeasonRows) -> None:
    """What lies at any time within windows near each other is taken to lie at once: packs that
    freeze flat, and loose pieces from the tray on which they freeze until they are packed."""
    for freezer in season.problem.kitchen.freezers:
        if freezer.tray_area is None:
            continue
        for near in season.problem.near_sets():
            inside = set(near)
            lying: Counter[int] = Counter()
            for option in season.problem.options:
                if option.freezer != freezer.name:
                    continue
                process, pouches = season.process_of(option), season.pouches[option.number]
                if option.packs_in in inside and not process.loose_area:
                    lying[pouches] += process.packing.footprint
                if option.first <= near[-1] and option.packs_in >= near[0]:
                    lying[pouches] += process.loose_area
            if lying:
                most = _area_left(season.problem, near, freezer.name)
                season.add(RULE, freezer.name, lying, most=most, reason=REASON)


def _area_left(problem: Problem, near: Sequence[int], name: str) -> int:
    """Area of the freezer's trays in mm² that kept sessions leave to windows near each other."""
    area = problem.kitchen.freezer(name).tray_area or 0
    lying = {session.uid: session for session in problem.kept_near(near)}
    lying |= {s.uid: s for s in _not_yet_packed(problem, problem.windows[near[0]].start)}
    taken: int = 100 * sum(
        tray_area_of(task)
        for session in lying.values()
        for task in session.tasks
        if freezer_of(task) == name
    )
    return max(0, int(area * 1e6) - taken)


def _not_yet_packed(problem: Problem, start: dt.datetime) -> Iterator[Session]:
    """Kept sessions before `start` of which something lies on trays until later."""
    packed = {
        run.second_sitting_of
        for session in problem.history.sessions
        for run in session.runs
        if session.start >= start
    }
    for session in problem.history.sessions:
        if session.start < start and any(run.id in packed for run in session.runs):
            yield session
